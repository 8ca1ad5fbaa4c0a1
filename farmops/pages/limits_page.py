"""The limits that hold on a farm or one of its fields, and its zones' own limits, as plain data."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isclose
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import BooleanField, ExpressionWrapper, Q
from django.http import Http404
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Season
from farmops.farms.operations import Operation
from farmops.pages import trade_words, words
from farmops.pages.kept_parts import KeptParts
from farmops.pages.limit_lines import (
    box_unit,
    limit_line,
    number_from,
    number_said,
    per_cent_refused,
    span_of,
    typed_number,
)
from farmops.pages.limit_words import limit_words
from farmops.pages.zone_limits import zone_facts
from scheduling.selectors.kept_words import kept_said
from scheduling.selectors.limits import FarmLimits, limits_of
from scheduling.selectors.passes import operations_of
from scheduling.windows import Limit, load_limits
from scheduling.windows.limits import OF_THE_CLOCK, Choice, Effect, Land, LimitKind, Quantity

WHERE_IN_CODE = re.compile(r"[,;]? ?(?:see|as in) farmops(?:\.\w+)+")  # not said
SHOWN = 1e-9
"""A number that was left as its box showed it is the limit's own, however many digits that has."""
WORDLESS = {*OF_THE_CLOCK, Quantity.MEMBER_SHARE, Quantity.RAIN_HOUR}
"""Of these the line says all that the words do."""


@dataclass(frozen=True)
class Asked:
    """What of a limit was asked for in the form; None stays as it is without this choice."""

    number: float | None
    is_used: bool | None
    effect: str

    def refused(self, key: str, sentence: str) -> str:
        """Return the sentence that refuses the number, in the unit in which it was typed."""
        limit = next((one for one in load_limits() if one.key == key), None)
        return (
            sentence
            if limit is None or self.number is None
            else per_cent_refused(limit, self.number, sentence)
        )


@dataclass(frozen=True)
class Grown:
    """The crops of a farm or a field, and whether there is ground under a pivot and ground without one."""

    crops: frozenset[str]
    lands: frozenset[Land]

    @classmethod
    def on(cls, farm: Farm, field: Field | None) -> "Grown":
        """Return what grows on a farm or one of its fields."""
        of_field = {} if field is None else {"field": field}
        crops = (
            Season.objects.filter(farm=farm, **of_field).order_by().values_list("crop", flat=True).distinct()
        )
        fields = Field.objects.filter(farm=farm, **({} if field is None else {"pk": field.pk})).order_by()
        is_dry = fields.values_list(ExpressionWrapper(Q(pivot=None), BooleanField()), flat=True).distinct()
        lands = {Land.DRY if one else Land.PIVOT for one in is_dry}
        return cls(frozenset(crops) | {""}, frozenset(lands) | {Land.ANY})

    def has(self, limit: Limit) -> bool:
        """Return whether a limit is about any of it."""
        is_of_pivots = limit.kind is LimitKind.PIVOT
        return (
            limit.crop in self.crops
            and limit.land in self.lands
            and (not is_of_pivots or Land.PIVOT in self.lands)
        )


def limits_facts(
    *, farm: Farm, field: Field | None, key: str, typed: Mapping[str, str], now: dt.datetime, page: int = 1
) -> dict[str, Any]:
    """Return every limit by kind of work as it holds on a field, or on fields without a choice of their own.

    `page` is the part of the farm's zones that is shown.

    `key` is the limit whose form is open, if any; `typed` is what stands in its boxes after a refusal. Raises Http404
    for a key that no limit has.
    """
    found = limits_of(farm=farm)
    standing = found.everywhere if field is None else found.of(field.pk)
    shipped = {limit.key: limit for limit in load_limits()}
    if key and key not in shipped:
        raise Http404
    names = dict(Field.objects.filter(farm=farm).order_by("name").values_list("code", "name"))
    operations = operations_of(farm=farm, field=field)
    grown = Grown.on(farm, field)

    def rows() -> dict[str, dict[str, Any]]:
        short = limit_words(standing)
        return {
            limit.key: _row(limit, shipped[limit.key], found, field, short, names, farm.zone)
            for limit in standing
        }

    def made() -> tuple[str, str]:
        said = rows()
        groups = _groups(standing, said, operations, grown)
        mine = [one for one in groups if one["is_mine"]]
        others = [one for one in groups if not one["is_mine"]]
        return _headline(mine, said.values(), field), _drawn(farm, field, mine, others)

    mark = _mark(farm, field, found, names, operations, grown)
    kept = KeptParts(lambda: mark, of=(farm.pk, None if field is None else field.pk))
    headline, groups = kept.values("limits", asked="", make=made)
    return {
        "field": field,
        "fields": list(names.items()),
        "headline": headline,
        "groups": groups,
        "notes": [words.dates_said(kept_said(note)) for note in found.notes],
        "form": _form(standing, shipped, found, field, key, typed, rows()) if key else None,
        "zones": _zones(farm, field, now, found, page),
    }


def _mark(
    farm: Farm,
    field: Field | None,
    found: FarmLimits,
    names: Mapping[str, str],
    operations: set[str],
    grown: Grown,
) -> str:
    """Return all that the headline and the groups are made of, beside the limits that ship, which are the release's."""
    chosen_on = {one.field: names.get(one.field) for one in found.choices}
    of_field = None if field is None else (field.pk, field.code, field.name)
    grows = (sorted(grown.crops), sorted(grown.lands))
    return repr((farm.code, farm.zone, of_field, found.choices, chosen_on, sorted(operations), grows))


def _drawn(
    farm: Farm, field: Field | None, groups: Sequence[Mapping[str, Any]], others: Sequence[Mapping[str, Any]]
) -> str:
    here = reverse("pages:limits", args=[farm.code])
    drawn = (row for group in (*groups, *others) for row in (*group["on"], *group["off"]))
    for row in {row["key"]: row for row in drawn}.values():
        row["written"] = render_to_string("pages/limit_row.html", {"row": row, "here": here, "field": field})
    head = render_to_string("pages/limit_head.html")
    told = {"field": field, "groups": groups, "others": others, "head": head}
    return render_to_string("pages/limit_groups.html", told)


def ruling_choices(*, farm: Farm, field: Field, found: FarmLimits) -> list[dict[str, Any]]:
    """Return the choices that rule on a field: its own, and the farm's where it has none of its own about a limit."""
    limits = {limit.key: limit for limit in found.of(field.pk)}
    ruling = {one.key: one for one in found.choices if one.field in ("", field.code)}
    return [
        {
            "key": key,
            "line": limit_line(limits[key]),
            "is_used": limits[key].is_used,
            "advises": limits[key].effect is Effect.ADVICE,
            "says": _choice_said(one, farm.zone),
            "source": words.dates_said(one.source),
        }
        for key, one in ruling.items()
    ]


def asked_for(
    *, farm: Farm, field: Field | None, key: str, number: Any, is_used: bool, effect: str
) -> Asked | None:
    """Return what a form asks for beyond what holds without the choice that it makes; None for a key of no limit.

    What is as it would be anyway is left out, so that it follows the farm, or what ships, when that changes later.
    """
    below = limits_of(farm=farm).everywhere if field is not None else load_limits()
    limit = next((one for one in below if one.key == key), None)
    if limit is None:
        return None
    wanted = limit.number if number is None else number_from(limit, number)
    return Asked(
        number=None if isclose(wanted, limit.number, rel_tol=SHOWN) else wanted,
        is_used=None if is_used == limit.is_used else is_used,
        effect="" if effect == limit.effect else effect,
    )


def _row(
    limit: Limit,
    shipped: Limit,
    found: FarmLimits,
    field: Field | None,
    short: Mapping[str, str],
    names: Mapping[str, str],
    zone: str,
) -> dict[str, Any]:
    code = field.code if field is not None else ""
    ruling = [one for one in found.choices if one.key == limit.key and one.field in {"", code}]
    elsewhere = [one.field for one in found.choices if one.key == limit.key and one.field not in {"", code}]
    return {
        "key": limit.key,
        "short": "" if limit.quantity in WORDLESS else short[limit.key],
        "line": limit_line(limit),
        "is_used": limit.is_used,
        "effect": _effect(limit),
        "source": _source_said(limit.source),
        "whose": [_choice_said(one, zone) for one in ruling],
        "ships": _ships(limit, shipped),
        "elsewhere": [names.get(one, one) for one in elsewhere],
    }


def _effect(limit: Limit) -> str:
    if not limit.is_used:
        return _on_or_off(is_used=False)
    return pgettext("a limit", "shuts") if limit.effect is Effect.SHUTS else pgettext("a limit", "advises")


def _on_or_off(*, is_used: bool) -> str:
    return pgettext("a limit", "on") if is_used else pgettext("a limit", "off")


def _source_said(source: str) -> str:
    """Return where a limit comes from, without where in the program it is worked out."""
    return words.dates_said(WHERE_IN_CODE.sub("", words.named(source))).strip(" ,;")


def _ships(limit: Limit, shipped: Limit) -> str:
    """Return what the limit is as it ships, where it is another now."""
    told = []
    if limit.number != shipped.number:
        told.append(number_said(shipped))
    if limit.is_used != shipped.is_used:
        told.append(_on_or_off(is_used=shipped.is_used))
    if limit.effect != shipped.effect:
        is_shut = shipped.effect is Effect.SHUTS
        told.append(pgettext("a limit", "shuts") if is_shut else pgettext("a limit", "only advises"))
    return ", ".join(told)


def _choice_said(choice: Choice, zone: str) -> str:
    """Return whose choice it is and of which day: "this field's, marlene, April 23, 2026"."""
    told = [_("this field's") if choice.field else _("the farm's")]
    if choice.set_by:
        told.append(choice.set_by)
    if choice.set_at:
        at = dt.datetime.fromisoformat(choice.set_at).astimezone(ZoneInfo(zone))
        told.append(words.full_date(at.date()))
    return ", ".join(told)


def _groups(
    limits: Sequence[Limit], said: Mapping[str, dict[str, Any]], operations: set[str], grown: Grown
) -> list[dict[str, Any]]:
    """Return the limits by kind of work; kinds with just the same limits share a group."""
    everywhere = [limit for limit in limits if limit.operations == frozenset(Operation)]
    by_keys: dict[tuple[str, ...], list[Operation]] = {}
    for operation in Operation:
        keys = tuple(
            limit.key
            for limit in limits
            if limit not in everywhere
            and limit.applies_to(operation, limit.crop, is_watered=limit.land == "pivot")
        )
        by_keys.setdefault(keys, []).append(operation)
    groups = [_group(_("All work"), everywhere, said, grown, is_mine=True)] if everywhere else []
    by_key = {limit.key: limit for limit in limits}
    for keys, of_group in by_keys.items():
        mine = [one for one in of_group if one in operations]
        for some, is_mine in ((mine, True), ([one for one in of_group if one not in operations], False)):
            if some:
                name = ", ".join(trade_words.work(one) for one in some)
                groups.append(_group(name, [by_key[key] for key in keys], said, grown, is_mine=is_mine))
    return groups


def _group(
    name: str,
    limits: Sequence[Limit],
    said: Mapping[str, dict[str, Any]],
    grown: Grown,
    *,
    is_mine: bool,
) -> dict[str, Any]:
    rows = [said[limit.key] for limit in limits if grown.has(limit)]
    return {
        "name": name,
        "is_mine": is_mine,
        "on": [row for row in rows if row["is_used"]],
        "off": [row for row in rows if not row["is_used"]],
    }


def _headline(groups: Sequence[Mapping[str, Any]], rows: Any, field: Field | None) -> str:
    keys = {row["key"] for group in groups for row in group["on"]}
    chosen = sum(1 for row in rows if row["whose"])
    count = len(keys)
    held = ngettext("{count} limit holds on {ground}", "{count} limits hold on {ground}", count).format(
        count=words.capital(words.count_word(count)),
        ground=_("this farm") if field is None else field.name,
    )
    if not chosen:
        return _("{limits_hold}, all as they ship.").format(limits_hold=held)
    return ngettext(
        "{limits_hold}; {count} is by your own choice.",
        "{limits_hold}; {count} are by your own choice.",
        chosen,
    ).format(limits_hold=held, count=words.count_word(chosen))


def _form(
    standing: Sequence[Limit],
    shipped: Mapping[str, Limit],
    found: FarmLimits,
    field: Field | None,
    key: str,
    typed: Mapping[str, str],
    said: Mapping[str, Mapping[str, Any]],
) -> dict[str, Any]:
    limit = next(one for one in standing if one.key == key)
    code = field.code if field is not None else ""
    has_own = any(one.key == key and one.field == code for one in found.choices)
    return {
        **said[key],
        "unit": box_unit(limit),
        "span": span_of(limit),
        "ships_line": limit_line(shipped[key]),
        "has_own": has_own,
        "uses": (("on", _on_or_off(is_used=True)), ("off", _on_or_off(is_used=False))),
        "effects": (
            (Effect.SHUTS.value, pgettext("a limit", "shuts the hour")),
            (Effect.ADVICE.value, pgettext("a limit", "only advises")),
        ),
        "boxes": {
            "field": code,
            "number": typed_number(limit),
            "is_used": "on" if limit.is_used else "off",
            "effect": limit.effect.value,
            "source": "",
            **typed,
        },
    }


def _zones(farm: Farm, field: Field | None, now: dt.datetime, found: FarmLimits, page: int) -> dict[str, Any]:
    try:
        return zone_facts(farm=farm, field=field, now=now, limits=found.everywhere, page=page)
    except DomainError as error:
        return {"trouble": words.dates_said(error.says), "rows": [], "fits": []}
