"""What the pages of debris show, as plain data: punctures per 1,000 acres by field, and whether a walk is worth it."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.desk.debris_worth import FieldWalk, Origin, WalkInputs, field_walk, field_walks
from farmops.farms.models import Farm, Field
from farmops.pages import incident_words, words
from farmops.pages.debris_map import chance_said, map_facts
from farmops.pages.kept_parts import PASSING
from farmops.pages.parts import part_of
from farmops.pages.plots.rate_strip import RateScale, rate_scale
from farmops.pages.walks import believed, rate_said, rate_why, walked_says
from ledger.costing.money import usd_from
from scheduling.debris.worth import Answer, Worth
from scheduling.models import FieldPass
from scheduling.selectors.debris import FarmDebris, FieldDebris, debris_numbers, keep_ends
from scheduling.selectors.passes import OPEN_STATES, pass_key, spoken_key


def farm_facts(*, farm: Farm, now: dt.datetime, page: int = 1) -> dict[str, Any]:
    """Return each field's punctures and what a walk is worth there, the most worthwhile first; a part of a long list."""
    found, walks, inputs = field_walks(farm=farm, now=now)
    ordered = sorted(
        walks, key=lambda one: (-(one.worth.gain_cents if one.worth else -(10**9)), one.debris.field.code)
    )
    part = part_of(len(ordered), page=page, query={})
    shown = part.of(ordered)
    keep_ends([one.rate for one in shown if one.rate is not None])
    scale = _scale(shown)
    return {
        PASSING: part.page != page,
        "headline": _headline(found, ordered),
        "rows": [_row(one, scale) for one in shown],
        "part": part,
        "ticks": scale.ticks if scale is not None else (),
        "covered_ac": f"{found.covered_ac:,.0f}",
        "punctures": incident_words.counted("puncture", found.punctures),
        "nowhere": found.nowhere,
        "stubs": sum(one.by_stubs for one in found.fields),
        **number_facts(farm=farm, inputs=inputs),
    }


def field_facts(*, farm: Farm, field: Field, now: dt.datetime) -> dict[str, Any]:
    """Return one field's punctures on its map, its rate, and the reckoning of a walk line by line."""
    walk = field_walk(farm=farm, field=field, now=now)
    scale = _scale([walk])
    return {
        "field": field,
        "headline": field_headline(walk),
        "strip": _strip(walk, scale),
        "ticks": scale.ticks if scale is not None else (),
        "rate_says": _rate_says(walk.debris),
        "walked_says": walked_says(walk),
        "before": walk.before,
        "before_says": _pass_said(walk.before) if walk.before is not None else "",
        "walk_state": words.named(walk.walk.get_state_display()) if walk.walk is not None else "",
        "lines": _reckoning(walk) if walk.worth is not None else [],
        "can_propose": walk.before is not None and walk.walk is None and walk.may_anybody_walk,
        "is_nobody_to_walk": walk.before is not None and walk.walk is None and not walk.may_anybody_walk,
        "can_call_off": walk.walk is not None and walk.walk.state in OPEN_STATES,
        "is_yes": walk.worth is not None and walk.worth.answer != Answer.NO,
        "stubs": walk.debris.by_stubs,
        **map_facts(walk.debris),
        **number_facts(farm=farm, inputs=walk.inputs),
    }


def number_facts(*, farm: Farm, inputs: WalkInputs) -> dict[str, Any]:
    """Return the boxes of the walk's numbers: what stands in each, and where it comes from."""
    own, walk, origins = debris_numbers(farm=farm), inputs.walk, inputs.origins
    return {
        "numbers": [
            _box(
                "found_share_pct",
                _("A walk finds, % of the debris"),
                f"{own.found_share_pct.normalize():f}",
                "",
                origins,
            ),
            _box("swath_ft", _("One person looks over, ft"), f"{own.swath_ft.normalize():f}", "", origins),
            _box("walk_mph", _("and walks, mph"), f"{own.walk_mph.normalize():f}", "", origins),
            _box(
                "wage_usd_per_h",
                _("Wage of an hour, $"),
                _usd(own.wage_cents_per_h),
                _usd(walk.wage_cents_per_h),
                origins,
            ),
            _box(
                "puncture_usd",
                _("Bill of a puncture, $"),
                _usd(own.puncture_cents),
                _usd(walk.puncture_cents),
                origins,
            ),
            _box(
                "lost_h",
                _("Hours that a puncture takes"),
                "" if own.lost_h is None else f"{own.lost_h.normalize():f}",
                f"{walk.lost_h.normalize():f}",
                origins,
            ),
            _box(
                "lost_usd_per_h",
                _("An hour lost, $"),
                _usd(own.lost_cents_per_h),
                _usd(walk.lost_cents_per_h),
                origins,
            ),
        ]
    }


NOTHING_COVERED = gettext_noop("No acres are recorded as worked yet, so nothing can be said of punctures.")
FACT_OF_BOX = {
    "wage_usd_per_h": "wage_cents_per_h",
    "puncture_usd": "puncture_cents",
    "lost_usd_per_h": "lost_cents_per_h",
}
"""The fact that a box of dollars is about."""
MAY_BE_EMPTY = {*FACT_OF_BOX, "lost_h"}
"""Boxes that rates, bills and reports fill where the farm leaves them empty."""


def field_headline(walk: FieldWalk) -> str:
    """Return the answer for one field in a sentence."""
    name = walk.debris.field.name
    if walk.before is None:
        return _("No work with tires waits on {field}, so there is nothing to walk it for.").format(
            field=name
        )
    before = _pass_said(walk.before)
    if walk.walk is not None:
        return _walk_headline(walk, name, before)
    if walk.debris.rate is None:
        return words.named(NOTHING_COVERED)
    if walk.worth is None:
        return _("No wage is set, so a walk on {field} has no price: put one in below.").format(field=name)
    reckoned = _("It costs {cost} and is expected to save {saves}.").format(
        cost=words.whole_dollars(walk.worth.walk_cents), saves=_saves(walk.worth)
    )
    return f"{_answer(walk.worth, name, before)} {reckoned}"


def _walk_headline(walk: FieldWalk, name: str, before: str) -> str:
    if not walk.is_walked:
        return _("A debris walk on {field} comes before “{before}”.").format(field=name, before=before)
    told = _("{field} was walked for debris before “{before}”.").format(field=name, before=before)
    if walk.worth is None:
        return told
    cost = _("Punctures in it are expected to cost {cost}.").format(
        cost=words.whole_dollars(walk.worth.pass_cents)
    )
    return f"{told} {cost}"


def _answer(worth: Worth, name: str, before: str) -> str:
    match worth.answer:
        case Answer.YES:
            told = _("Yes: walk {field} before “{before}”.")
        case Answer.LATER:
            told = _("Yes, over all that waits there: walk {field} before “{before}”.")
        case _other:
            told = _("No: walking {field} before “{before}” is not worth it.")
    return told.format(field=name, before=before)


def _saves(worth: Worth) -> str:
    if worth.answer == Answer.LATER:
        return _("{saved} in {passes}").format(
            saved=words.whole_dollars(worth.saved_all_cents), passes=words.passes(worth.passes)
        )
    return words.whole_dollars(worth.saved_next_cents)


def _headline(found: FarmDebris, walks: Sequence[FieldWalk]) -> str:
    if not found.covered_ac:
        return words.named(NOTHING_COVERED)
    open_walks = [one for one in walks if one.worth is not None and one.walk is None]
    worthy = [
        one.debris.field.name for one in open_walks if one.worth is not None and one.worth.answer != Answer.NO
    ]
    if not open_walks and any(one.before is not None and one.walk is None for one in walks):
        return _("No wage is set, so a debris walk has no price: put one in below.")
    if not open_walks:
        return _("No field waits for work that a debris walk would come before.")
    if not worthy:
        return _("No field is worth a debris walk before its next pass.")
    if len(worthy) > 3:
        return _("{count} fields are worth a debris walk before their next pass.").format(
            count=words.capital(words.count_word(len(worthy)))
        )
    told = ngettext(
        "{fields} is worth a debris walk before the next pass.",
        "{fields} are worth a debris walk before the next pass.",
        len(worthy),
    )
    return told.format(fields=words.listed(worthy))


def _scale(walks: Sequence[FieldWalk]) -> RateScale | None:
    rates = [one.rate for one in walks if one.rate is not None]
    return rate_scale([rate.ends[1] for rate in rates]) if rates else None


def _strip(one: FieldWalk, scale: RateScale | None) -> Any:
    if one.rate is None or scale is None:
        return None
    low, high = one.rate.ends
    return scale.strip(
        low=low, mean=one.rate.mean, high=high, raw=one.debris.raw_per_1000_ac, says=believed(one.rate)
    )


def _rate_says(debris: FieldDebris) -> str:
    if debris.rate is None:
        return ""
    raw = debris.raw_per_1000_ac
    counted = (
        _("{punctures} by debris in {acres} acres covered here, {rate} per 1,000 acres as counted.")
        if raw
        else _("{punctures} by debris in {acres} acres covered here.")
    ).format(
        punctures=words.capital(incident_words.counted("puncture", len(debris.punctures))),
        acres=f"{debris.covered_ac:,.0f}",
        rate=rate_said(raw or 0.0),
    )
    leans = (
        _("No acre was covered here yet, so it is taken to be like the farm.")
        if raw is None
        else _("Of the estimate, {share} % is this field's own record and the rest the farm's.").format(
            share=round(debris.rate.own_share * 100)
        )
    )
    return f"{counted} {leans}"


def _row(one: FieldWalk, scale: RateScale | None) -> dict[str, Any]:
    debris, worth = one.debris, one.worth
    raw = debris.raw_per_1000_ac if debris.rate is not None else None
    return {
        "code": debris.field.code,
        "name": debris.field.name,
        "covered_ac": f"{debris.covered_ac:,.0f}",
        "punctures": len(debris.punctures),
        "raw": rate_said(raw) if raw is not None else "–",
        "strip": _strip(one, scale),
        "believed": believed(one.rate),
        "before": _pass_said(one.before) if one.before is not None else "",
        "pass_cost": words.whole_dollars(worth.pass_cents) if worth is not None else "",
        "walk": _walk_said(one),
        "is_yes": worth is not None and one.walk is None and worth.answer != Answer.NO,
    }


def _walk_said(one: FieldWalk) -> str:
    if one.before is None:
        return _("nothing waits")
    if one.walk is not None:
        if one.is_walked:
            return _("walked")
        return _("proposed, {state}").format(state=words.named(one.walk.get_state_display()))
    if one.worth is None:
        return _("not known")
    gain = words.whole_dollars(abs(one.worth.gain_cents))
    match one.worth.answer:
        case Answer.YES:
            return _("yes, gains {amount}").format(amount=gain)
        case Answer.LATER:
            passes = words.passes(one.worth.passes)
            return _("yes over {passes}, gains {amount}").format(passes=passes, amount=gain)
        case _other:
            return _("no, loses {amount}").format(amount=gain)


def _reckoning(one: FieldWalk) -> list[dict[str, str]]:
    worth, walk, origins = one.worth, one.inputs.walk, one.inputs.origins
    assert worth is not None
    assert one.before is not None
    assert one.rate is not None
    is_first = one.left >= 1
    each = words.dollars(int(walk.each_cents.to_integral_value(ROUND_HALF_EVEN)))
    lines = [
        _line(_("Punctures per 1,000 acres"), believed(one.rate), rate_why(one)),
        _line(
            _("Expected in this pass"),
            f"{worth.punctures_a_pass:.2f}",
            _("on {acres} acres").format(acres=f"{worth.area_ac:,.1f}"),
        ),
        _line(
            _("One puncture costs"),
            each,
            _(
                "bill {bill} ({bill_from}) and {hours} h ({hours_from}) at {hour_cost} ({hour_cost_from})"
            ).format(
                bill=words.dollars(walk.puncture_cents),
                bill_from=origins["puncture_cents"].says,
                hours=f"{walk.lost_h.normalize():f}",
                hours_from=origins["lost_h"].says,
                hour_cost=words.dollars(walk.lost_cents_per_h),
                hour_cost_from=origins["lost_cents_per_h"].says,
            ),
        ),
        _line(_("The pass is expected to cost in punctures"), words.dollars(worth.pass_cents), ""),
        _line(
            _("A walk saves of it") if is_first else _("Another walk saves of it"),
            words.dollars(worth.saved_next_cents),
            _("it finds {share} % ({share_from})").format(
                share=f"{walk.found_share * 100:.0f}", share_from=origins["found_share_pct"].says
            ),
        ),
        _line(
            _("A walk costs") if is_first else _("Another walk costs"),
            words.dollars(worth.walk_cents),
            _("{hours} h at {pace} ac/h and {wage} an hour ({wage_from})").format(
                hours=f"{worth.walk_h:.1f}",
                pace=f"{walk.ac_per_h:.1f}",
                wage=words.dollars(walk.wage_cents_per_h),
                wage_from=origins["wage_cents_per_h"].says,
            ),
        ),
    ]
    if worth.passes > 1:
        lines.append(
            _line(
                _("Over the {passes} that wait here it saves").format(passes=words.passes(worth.passes)),
                words.dollars(worth.saved_all_cents),
                _("what is picked up is gone for the later ones too"),
            )
        )
    if worth.break_even_per_1000_ac is not None and one.chance_it_pays is not None:
        lines.append(
            _line(
                _("For this pass alone it pays from"),
                _("{rate} per 1,000 acres").format(rate=rate_said(float(worth.break_even_per_1000_ac))),
                _("the chance that the field is that bad is {chance}").format(
                    chance=chance_said(one.chance_it_pays)
                ),
            )
        )
    return lines


def _line(what: str, value: str, why: str) -> dict[str, str]:
    return {"what": what, "value": value, "why": why}


def _pass_said(one: FieldPass) -> str:
    return spoken_key(pass_key(one), names={}, language=words.speaking())[1]


def _usd(cents: int | None) -> str:
    return "" if cents is None else f"{usd_from(cents):f}"


def _box(name: str, label: str, value: str, otherwise: str, origins: dict[str, Origin]) -> dict[str, Any]:
    origin = origins[FACT_OF_BOX.get(name, name)]
    return {
        "name": name,
        "label": label,
        "value": value,
        "placeholder": "" if origin.is_missing else otherwise,
        "says": origin.says,
        "is_needed": name not in MAY_BE_EMPTY,
    }
