"""What the page of machines and hands shows: what works, what is down, who is away."""

import datetime as dt
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.desk.days import first_instant
from farmops.farms.models import WORKING_KINDS, Farm, Hand, HandAway, Implement, Machine, Pivot
from farmops.pages import words
from farmops.pages.many_links import Address, addresses
from farmops.pages.trade_words import tool, work
from farmops.science.exposure import noise_minutes
from scheduling.slips.words import span_words

MUFFS_FROM_DBA = 85
"""The level from which NIOSH asks for ear protection."""
BACK_AT = dt.time(12)
"""Farm judgement: the box offers noon of the next day as the hour at which something is back."""


@dataclass(frozen=True)
class Tool:
    """A machine or an implement: its state, and the boxes of its form."""

    name: str
    what: str
    down: str
    boxes: str
    wrong: Mapping[str, str]
    noise: str = ""
    page_at: str = ""
    down_at: str = ""
    works_at: str = ""


@dataclass(frozen=True)
class Person:
    """A hand, with the days away that are not over, and the boxes of the form for more of them."""

    name: str
    away: list[tuple[int, str]]
    boxes: str
    wrong: Mapping[str, str]
    page_at: str
    away_at: str


@dataclass(frozen=True)
class Refused:
    """A form that was refused: of which row, what was typed and what is wrong."""

    key: str = ""
    typed: Mapping[str, Any] = field(default_factory=dict)
    wrong: Mapping[str, str] = field(default_factory=dict)


class _Boxes:
    """The boxes of forms, written once where the same stands in them: in those of most machines and hands."""

    def __init__(self) -> None:
        self._written: dict[Hashable, str] = {}

    def written(self, template: str, typed: Mapping[str, str], wrong: Mapping[str, str]) -> str:
        """Return the boxes of a form, with what stands in them and what is wrong with it."""
        key = (template, *typed.values(), *wrong.items())
        if key not in self._written:
            self._written[key] = render_to_string(template, {"boxes": {**typed, "wrong": wrong}})
        return self._written[key]


def fleet_facts(*, farm: Farm, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return every machine, implement and hand with what keeps it from work."""
    refused = refused or Refused()
    zone = ZoneInfo(farm.zone)
    first = first_instant(farm=farm, now=now)
    today = first.astimezone(zone).date()
    machines = Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS)
    implements = Implement.objects.filter(farm=farm).prefetch_related("operations")
    kinds = [(one, words.named(one.get_kind_display())) for one in machines]
    boxes = _Boxes()
    works = [(one, ", ".join(work(row.operation) for row in one.operations.all())) for one in implements]
    tools = [
        _tool(kind, one, what, zone, first, refused, pages, boxes)
        for kind, rows in (("machine", kinds), ("implement", works))
        for pages in [_tool_pages(farm, kind)]
        for one, what in rows
    ]
    away: dict[int, list[HandAway]] = {}
    for row in HandAway.objects.filter(farm=farm, last_on__gte=today).order_by("first_on"):
        away.setdefault(row.hand_id, []).append(row)
    hands = list(Hand.objects.filter(farm=farm, works=True))
    page_at, away_at = addresses("pages:hand", farm.code), addresses("pages:away", farm.code)
    pivot_at = addresses("pages:machine", farm.code, "pivot")
    pivots = Pivot.objects.filter(farm=farm).values_list("pk", "name")
    people = [
        _person(one, away.get(one.pk, []), today, refused, (page_at(one.pk), away_at(one.pk)), boxes)
        for one in hands
    ]
    return {
        "headline": _headline(tools, hands, away, today),
        "tools": tools,
        "people": people,
        "pivots": [{"at": pivot_at(pk), "name": name} for pk, name in pivots],
        "refused_key": refused.key,
    }


def _headline(
    tools: list[Tool], hands: list[Hand], away: Mapping[int, list[HandAway]], today: dt.date
) -> str:
    told = [
        _("{tool} is down until about {back}").format(tool=one.name, back=one.down)
        for one in tools
        if one.down
    ]
    for hand in hands:
        told += [
            _("{hand} is away {days}").format(hand=hand.name, days=days_away(row, today))
            for row in away.get(hand.pk, ())[:1]
        ]
    if not told:
        return _("Everything works, and every hand is there.")
    if len(told) > 3:
        return ngettext(
            "{count} of the machines and hands is not at work.",
            "{count} of the machines and hands are not at work.",
            len(told),
        ).format(count=words.capital(words.count_word(len(told))))
    return words.ended(words.capital("; ".join(told)))


def _tool(
    kind: str,
    row: Machine | Implement,
    what: str,
    zone: ZoneInfo,
    first: dt.datetime,
    refused: Refused,
    pages: Mapping[str, Address],
    boxes: "_Boxes",
) -> Tool:
    down_until = row.down_until if row.down_until is not None and row.down_until > first else None
    local = (down_until or first + dt.timedelta(days=1)).astimezone(zone)
    is_refused = refused.key == f"{kind}-{row.pk}"
    wrong = refused.wrong if is_refused else {}
    if is_refused:
        back_at = {name: str(refused.typed.get(name, "")) for name in ("day", "hour")}
    else:
        hour = local.time() if down_until else BACK_AT
        back_at = {"day": local.date().isoformat(), "hour": f"{hour:%H:%M}"}
    return Tool(
        name=tool(row),
        what=what,
        down=f"{words.long_date(local.date())}, {words.clock(local)}" if down_until else "",
        boxes=boxes.written("pages/fleet_tool_boxes.html", back_at, wrong),
        wrong=wrong,
        noise=noise_words(row.noise_dba) if isinstance(row, Machine) else "",
        **{name: at(row.pk) for name, at in pages.items()},
    )


def noise_words(noise_dba: Decimal | None) -> str:
    """Return what NIOSH (98-126) counts of a noise at the driver's ear; empty where nobody measured it.

    The minutes are why muffs go on, not an allowance to use up.
    """
    if noise_dba is None:
        return ""
    noise = f"{noise_dba.normalize():f}"
    if noise_dba < MUFFS_FROM_DBA:
        return _("{noise} dBA at the driver's ear, under NIOSH's {limit}.").format(
            noise=noise, limit=MUFFS_FROM_DBA
        )
    minutes = float(noise_minutes(level_dba=float(noise_dba)))
    return _(
        "{noise} dBA at the driver's ear: muffs on. NIOSH counts harm to bare ears from {span} a day on."
    ).format(noise=noise, span=span_words(max(1, int(minutes))))


def _tool_pages(farm: Farm, kind: str) -> dict[str, Address]:
    """Return what gives the addresses of machines or implements: the page, and where the forms go."""
    names = {"page_at": "pages:machine", "down_at": "pages:down", "works_at": "pages:works"}
    return {name: addresses(page, farm.code, kind) for name, page in names.items()}


def _person(
    hand: Hand,
    away: list[HandAway],
    today: dt.date,
    refused: Refused,
    pages: tuple[str, str],
    boxes: "_Boxes",
) -> Person:
    is_refused = refused.key == f"hand-{hand.pk}"
    typed, wrong = (refused.typed, refused.wrong) if is_refused else ({}, {})
    days = {name: str(typed.get(name, today.isoformat())) for name in ("first", "last")}
    return Person(
        name=hand.name,
        away=[(row.pk, days_away(row, today) + (f": {row.why}" if row.why else "")) for row in away],
        boxes=boxes.written("pages/fleet_away_boxes.html", days | {"why": str(typed.get("why", ""))}, wrong),
        wrong=wrong,
        page_at=pages[0],
        away_at=pages[1],
    )


def days_away(row: HandAway, today: dt.date) -> str:
    """Return the days of an absence in words: today, to Friday, from one day to another."""
    if row.first_on == row.last_on:
        if row.first_on == today:
            return _("today")
        return _("on {day}").format(day=words.long_date(row.first_on))
    if row.first_on <= today:
        return pgettext("away", "to {day}").format(day=words.long_date(row.last_on))
    return _("from {first} to {last}").format(
        first=words.long_date(row.first_on), last=words.long_date(row.last_on)
    )
