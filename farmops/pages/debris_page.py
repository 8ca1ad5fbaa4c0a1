"""What the pages of debris show, as plain data: punctures per 1,000 acres by field, and whether a walk is worth it."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN
from typing import Any

from farmops.desk.debris_worth import FieldWalk, Origin, WalkInputs, farm_inputs, field_walk, field_walks
from farmops.farms.models import Farm, Field
from farmops.pages import incident_words, words
from farmops.pages.debris_map import chance_said, map_facts
from farmops.pages.plots.rate_strip import RateScale, rate_scale
from farmops.pages.walks import believed, rate_said, rate_why, walked_says
from ledger.costing.money import usd_from
from scheduling.debris.rates import EIGHT_OF_TEN
from scheduling.debris.worth import Answer, Worth
from scheduling.models import FieldPass
from scheduling.selectors.debris import FarmDebris, FieldDebris, debris_numbers
from scheduling.selectors.passes import OPEN_STATES, pass_key, spoken_key


def farm_facts(*, farm: Farm, now: dt.datetime) -> dict[str, Any]:
    """Return each field's punctures and what a walk is worth there, the most worthwhile first."""
    found, walks = field_walks(farm=farm, now=now)
    scale = _scale(walks)
    ordered = sorted(
        walks, key=lambda one: (-(one.worth.gain_cents if one.worth else -(10**9)), one.debris.field.code)
    )
    return {
        "headline": _headline(found, ordered),
        "rows": [_row(one, scale) for one in ordered],
        "ticks": scale.ticks if scale is not None else (),
        "covered_ac": f"{found.covered_ac:,.0f}",
        "punctures": incident_words.counted("puncture", found.punctures),
        "nowhere": found.nowhere,
        "stubs": sum(one.by_stubs for one in found.fields),
        **number_facts(farm=farm, inputs=farm_inputs(farm=farm, now=now)),
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
        "walk_state": walk.walk.get_state_display() if walk.walk is not None else "",
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
                "A walk finds, % of the debris",
                f"{own.found_share_pct.normalize():f}",
                "",
                origins,
            ),
            _box("swath_ft", "One person looks over, ft", f"{own.swath_ft.normalize():f}", "", origins),
            _box("walk_mph", "and walks, mph", f"{own.walk_mph.normalize():f}", "", origins),
            _box(
                "wage_usd_per_h",
                "Wage of an hour, $",
                _usd(own.wage_cents_per_h),
                _usd(walk.wage_cents_per_h),
                origins,
            ),
            _box(
                "puncture_usd",
                "Bill of a puncture, $",
                _usd(own.puncture_cents),
                _usd(walk.puncture_cents),
                origins,
            ),
            _box(
                "lost_h",
                "Hours that a puncture takes",
                "" if own.lost_h is None else f"{own.lost_h.normalize():f}",
                f"{walk.lost_h.normalize():f}",
                origins,
            ),
            _box(
                "lost_usd_per_h",
                "An hour lost, $",
                _usd(own.lost_cents_per_h),
                _usd(walk.lost_cents_per_h),
                origins,
            ),
        ]
    }


NOTHING_COVERED = "No acres are recorded as worked yet, so nothing can be said of punctures."
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
        return f"No work with tires waits on {name}, so there is nothing to walk it for."
    before = _pass_said(walk.before)
    if walk.walk is not None:
        if walk.is_walked:
            cost = (
                ""
                if walk.worth is None
                else f" Punctures in it are expected to cost {words.whole_dollars(walk.worth.pass_cents)}."
            )
            return f"{name} was walked for debris before “{before}”.{cost}"
        return f"A debris walk on {name} comes before “{before}”."
    if walk.debris.rate is None:
        return NOTHING_COVERED
    if walk.worth is None:
        return f"No wage is set, so a walk on {name} has no price: put one in below."
    return f"{_answer(walk.worth, name, before)} It costs {words.whole_dollars(walk.worth.walk_cents)} and is expected to save {_saves(walk.worth)}."


def _answer(worth: Worth, name: str, before: str) -> str:
    match worth.answer:
        case Answer.YES:
            return f"Yes: walk {name} before “{before}”."
        case Answer.LATER:
            return f"Yes, over all that waits there: walk {name} before “{before}”."
        case _:
            return f"No: walking {name} before “{before}” is not worth it."


def _saves(worth: Worth) -> str:
    if worth.answer == Answer.LATER:
        return f"{words.whole_dollars(worth.saved_all_cents)} in {words.passes(worth.passes)}"
    return words.whole_dollars(worth.saved_next_cents)


def _headline(found: FarmDebris, walks: Sequence[FieldWalk]) -> str:
    if not found.covered_ac:
        return NOTHING_COVERED
    open_walks = [one for one in walks if one.worth is not None and one.walk is None]
    worthy = [
        one.debris.field.name for one in open_walks if one.worth is not None and one.worth.answer != Answer.NO
    ]
    if not open_walks and any(one.before is not None and one.walk is None for one in walks):
        return "No wage is set, so a debris walk has no price: put one in below."
    if not open_walks:
        return "No field waits for work that a debris walk would come before."
    if not worthy:
        return "No field is worth a debris walk before its next pass."
    if len(worthy) > 3:
        return f"{words.capital(words.count_word(len(worthy)))} fields are worth a debris walk before their next pass."
    listed = worthy[0] if len(worthy) == 1 else f"{', '.join(worthy[:-1])} and {worthy[-1]}"
    return f"{listed} {'is' if len(worthy) == 1 else 'are'} worth a debris walk before the next pass."


def _scale(walks: Sequence[FieldWalk]) -> RateScale | None:
    rates = [one.rate for one in walks if one.rate is not None]
    return rate_scale([rate.quantile(EIGHT_OF_TEN[1]) for rate in rates]) if rates else None


def _strip(one: FieldWalk, scale: RateScale | None) -> Any:
    if one.rate is None or scale is None:
        return None
    low, high = (one.rate.quantile(share) for share in EIGHT_OF_TEN)
    return scale.strip(
        low=low, mean=one.rate.mean, high=high, raw=one.debris.raw_per_1000_ac, says=believed(one.rate)
    )


def _rate_says(debris: FieldDebris) -> str:
    if debris.rate is None:
        return ""
    counted = f"{words.capital(incident_words.counted('puncture', len(debris.punctures)))} by debris in {debris.covered_ac:,.0f} acres covered here"
    raw = debris.raw_per_1000_ac
    as_counted = "" if not raw else f", {rate_said(raw)} per 1,000 acres as counted"
    share = round(debris.rate.own_share * 100)
    leans = (
        "No acre was covered here yet, so it is taken to be like the farm."
        if raw is None
        else f"Of the estimate, {share} % is this field's own record and the rest the farm's."
    )
    return f"{counted}{as_counted}. {leans}"


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
        return "nothing waits"
    if one.walk is not None:
        return "walked" if one.is_walked else f"proposed, {one.walk.get_state_display()}"
    if one.worth is None:
        return "not known"
    gain = words.whole_dollars(abs(one.worth.gain_cents))
    match one.worth.answer:
        case Answer.YES:
            return f"yes, gains {gain}"
        case Answer.LATER:
            return f"yes over {words.passes(one.worth.passes)}, gains {gain}"
        case _:
            return f"no, loses {gain}"


def _reckoning(one: FieldWalk) -> list[dict[str, str]]:
    worth, walk, origins = one.worth, one.inputs.walk, one.inputs.origins
    assert worth is not None
    assert one.before is not None
    assert one.rate is not None
    a_walk = "Another walk" if one.left < 1 else "A walk"
    each = words.dollars(int(walk.each_cents.to_integral_value(ROUND_HALF_EVEN)))
    lines = [
        _line("Punctures per 1,000 acres", believed(one.rate), rate_why(one)),
        _line("Expected in this pass", f"{worth.punctures_a_pass:.2f}", f"on {worth.area_ac:,.1f} acres"),
        _line(
            "One puncture costs",
            each,
            f"bill {words.dollars(walk.puncture_cents)} ({origins['puncture_cents'].says}) and "
            f"{walk.lost_h.normalize():f} h ({origins['lost_h'].says}) at {words.dollars(walk.lost_cents_per_h)} ({origins['lost_cents_per_h'].says})",
        ),
        _line("The pass is expected to cost in punctures", words.dollars(worth.pass_cents), ""),
        _line(
            f"{a_walk} saves of it",
            words.dollars(worth.saved_next_cents),
            f"it finds {walk.found_share * 100:.0f} % ({origins['found_share_pct'].says})",
        ),
        _line(
            f"{a_walk} costs",
            words.dollars(worth.walk_cents),
            f"{worth.walk_h:.1f} h at {walk.ac_per_h:.1f} ac/h and {words.dollars(walk.wage_cents_per_h)} an hour ({origins['wage_cents_per_h'].says})",
        ),
    ]
    if worth.passes > 1:
        lines.append(
            _line(
                f"Over the {words.passes(worth.passes)} that wait here it saves",
                words.dollars(worth.saved_all_cents),
                "what is picked up is gone for the later ones too",
            )
        )
    if worth.break_even_per_1000_ac is not None and one.chance_it_pays is not None:
        lines.append(
            _line(
                "For this pass alone it pays from",
                f"{rate_said(float(worth.break_even_per_1000_ac))} per 1,000 acres",
                f"the chance that the field is that bad is {chance_said(one.chance_it_pays)}",
            )
        )
    return lines


def _line(what: str, value: str, why: str) -> dict[str, str]:
    return {"what": what, "value": value, "why": why}


def _pass_said(one: FieldPass) -> str:
    return spoken_key(pass_key(one), names={})[1]


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
