"""What the page of waiting reports shows: each with its reason, what was sent, and boxes to correct it in."""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, FuelTank, Implement, Machine
from farmops.pages import words
from scheduling.models import FieldPass, FieldReport, ParkedReport, PassState, ReportKind
from scheduling.selectors.reports import (
    KEPT_ALL_THE_SAME,
    LOOKS_LIKE_A_REPEAT,
    settled_reports,
    waiting_reports,
)
from scheduling.services.spray_details import NoValidLicense

MOST_SETTLED = 20
WORDS_JOINED = re.compile(r"[a-z]+(_[a-z]+)+")
"""A choice of a form as it is sent, such as `new_tire`."""
PASS = "pass_id"
VALUE = "value-"
"""Boxes that hold a value of the report begin with this."""
LABELS = {
    PASS: "Pass",
    "break_minutes": "Minutes of the break",
    "check_key": "Check",
    "crop": "Crop",
    "done_ac": "Acres done",
    "done_at": "Done at",
    "ended_at": "Ended at",
    "ends": "Stop",
    "field": "Field",
    "filled_at": "Filled at",
    "fine": "Fine",
    "finished": "All done",
    "fuel": "Fuel",
    "gallons": "Gallons",
    "happened_at": "Happened at",
    "hours": "Hours",
    "implement": "Implement",
    "kind": "What happened",
    "latitude_deg": "Latitude",
    "longitude_deg": "Longitude",
    "look": "How it looked",
    "lost_minutes": "Minutes lost",
    "machine": "Machine",
    "machine_hours": "Hours of the engine",
    "mending": "Mended",
    "met": "What it hit",
    "meter": "Hour meter",
    "minutes": "Minutes",
    "not_done": "Not done, why",
    "note": "Note",
    "offered_hours": "Hours offered",
    "operation": "Work",
    "parts": "Parts",
    "parts_dollars": "Parts, $",
    "passes": "Passes",
    "placed_by": "Place from",
    "plant_back_days": "Days until the next crop",
    "products": "Products",
    "puncture": "Flat tire",
    "read_at": "Read at",
    "reading": "Hour meter",
    "rate": "Rate",
    "reentry_h": "Stay out, hours",
    "registration_no": "Registration number",
    "restricted": "Restricted-use",
    "rule": "Service",
    "settings": "What was set",
    "started_at": "Started at",
    "starts": "Start",
    "stop_id": "Planned stop",
    "stops": "Stops",
    "tank": "Tank",
    "temp_f": "Warmth, °F",
    "too_wet": "Too wet",
    "treated_ac": "Acres treated",
    "wheel": "Tire",
    "why_fewer": "Why fewer",
    "wind_from": "Wind from",
    "wind_mph": "Wind, mph",
    "work_on": "Day",
    "worked_hours": "Hours worked",
}
MAIN = {
    ReportKind.WORK: (PASS, "work_on", "hours", "starts", "machine_hours", "meter", "done_ac"),
    ReportKind.DAY: ("work_on", "starts", "ends", "break_minutes", "worked_hours", "offered_hours"),
    ReportKind.METER: ("machine", "reading", "read_at"),
}
"""What has a box on the page even where nothing was sent."""


@dataclass(frozen=True)
class Box:
    """A value of a report in a box: `options` where it is chosen from a list."""

    name: str
    label: str
    value: str
    options: list[tuple[str, str]]


@dataclass(frozen=True)
class Waiting:
    """A report that waits."""

    pk: int
    who: str
    what: str
    came: str
    why: str
    is_kept: bool
    is_repeat: bool
    needs_applicator: bool
    boxes: list[Box]
    told: list[tuple[str, str]]
    photos: list[int]
    note: str
    wrong: str


@dataclass(frozen=True)
class Settled:
    """A report that was taken over or set aside."""

    who: str
    what: str
    how: str
    note: str


@dataclass(frozen=True)
class Refused:
    """A form that was refused: of which report, what was typed, and the sentence."""

    pk: int = 0
    typed: Mapping[str, str] = field(default_factory=dict)
    says: str = ""


def waiting_facts(*, farm: Farm, refused: Refused | None = None) -> dict[str, Any]:
    """Return what waits for the manager and what was settled of late."""
    rows = list(waiting_reports(farm=farm))
    settled = list(settled_reports(farm=farm)[:MOST_SETTLED])
    passes = _passes(farm, [row.report for row in (*rows, *settled)])
    codes = _codes(farm)
    return {
        "headline": _headline(len(rows)),
        "rows": [_waiting(row, passes, codes, farm, refused or Refused()) for row in rows],
        "settled": [_settled(row, passes, farm) for row in settled],
        "prefix": VALUE,
    }


def changes_of(report: FieldReport, posted: Mapping[str, str]) -> dict[str, Any]:
    """Return the values that differ from those that were sent; None for one that was taken out."""
    changed: dict[str, Any] = {}
    for name in _boxed(report):
        if VALUE + name not in posted:
            continue
        typed = posted[VALUE + name].strip()
        if typed != _plain(report.body.get(name)):
            changed[name] = typed or None
    return changed


def _headline(count: int) -> str:
    if not count:
        return "No report waits for you."
    reports = "one report waits" if count == 1 else f"{words.count_word(count)} reports wait"
    return f"{words.capital(reports)} for you. Nothing in them is lost."


def _passes(farm: Farm, reports: list[FieldReport]) -> dict[str, FieldPass]:
    """Return the passes that work may be put on, and those that the reports name, by id."""
    rows = FieldPass.objects.filter(farm=farm).select_related("season__field")
    named = {text for report in reports if (text := _plain(report.body.get(PASS))).isdecimal()}
    return {
        str(row.pk): row
        for row in rows.order_by("season__field__name", "id")
        if row.state != PassState.CALLED_OFF or str(row.pk) in named
    }


def _boxed(report: FieldReport) -> list[str]:
    """Return the names of the values that have a box: the main ones of the kind, and every plain one that was sent."""
    main = MAIN.get(ReportKind(report.kind), ())
    sent = [name for name, value in report.body.items() if _is_plain(value)]
    return list(dict.fromkeys([*main, *sent]))


def _codes(farm: Farm) -> dict[str, dict[str, str]]:
    """Return what reports name by a code, by the name of the value: the codes of the farm and what people call them."""
    tables: dict[str, Any] = {"field": Field, "machine": Machine, "implement": Implement, "tank": FuelTank}
    return {
        name: dict(table.objects.filter(farm=farm).order_by("name").values_list("code", "name"))
        for name, table in tables.items()
    }


def _options(
    name: str, value: str, passes: Mapping[str, FieldPass], codes: Mapping[str, Mapping[str, str]]
) -> list[tuple[str, str]]:
    """Return what a box may hold where that is chosen from a list; what was sent stays a choice even if it is none."""
    if name == PASS:
        return [(pk, _pass_said(one)) for pk, one in passes.items()]
    known = codes.get(name, {})
    unknown = [(value, f"{value}, not known")] if known and value and value not in known else []
    return [*known.items(), *unknown]


def _waiting(
    row: ParkedReport,
    passes: Mapping[str, FieldPass],
    codes: Mapping[str, Mapping[str, str]],
    farm: Farm,
    refused: Refused,
) -> Waiting:
    report = row.report
    is_refused = refused.pk == row.pk
    typed = refused.typed if is_refused else {}
    is_kept = row.code in KEPT_ALL_THE_SAME
    boxed = [] if is_kept else _boxed(report)
    return Waiting(
        pk=row.pk,
        who=report.hand.name,
        what=_what(report, passes),
        came=_at(report.received_at, farm),
        why=words.dates_said(row.why),
        is_kept=is_kept,
        is_repeat=row.code == LOOKS_LIKE_A_REPEAT,
        needs_applicator=row.code == NoValidLicense.code,
        boxes=[
            Box(
                name=name,
                label=_label(name),
                value=typed.get(VALUE + name, _plain(report.body.get(name))),
                options=_options(name, _plain(report.body.get(name)), passes, codes),
            )
            for name in boxed
        ],
        told=[
            (_label(name), _said(name, value, passes))
            for name, value in report.body.items()
            if name not in boxed and value not in (None, "", False, [], {})
        ],
        photos=[photo.pk for photo in report.photos.all()],
        note=typed.get("note", ""),
        wrong=words.dates_said(refused.says) if is_refused else "",
    )


def _settled(row: ParkedReport, passes: Mapping[str, FieldPass], farm: Farm) -> Settled:
    by = row.settled_by
    name = "" if by is None else f" by {by.get_full_name() or by.get_username()}"
    assert row.settled_at is not None
    return Settled(
        who=row.report.hand.name,
        what=_what(row.report, passes),
        how=f"{row.get_state_display().partition(',')[0]}{name}, {_at(row.settled_at, farm)}",
        note=" ".join(filter(None, (row.settled_note, _changed(row, passes)))),
    )


def _changed(row: ParkedReport, passes: Mapping[str, FieldPass]) -> str:
    """Return what the manager put in the place of what was sent."""
    rows = [
        f"{_label(name)}: {_said(name, row.report.body.get(name), passes) or 'nothing'} → {_said(name, value, passes)}"
        for name, value in row.changes.items()
    ]
    return "; ".join(rows)


def _what(report: FieldReport, passes: Mapping[str, FieldPass]) -> str:
    ground = passes.get(_plain(report.body.get(PASS)))
    said = report.get_kind_display() if ground is None else _pass_said(ground)
    day = _plain(report.body.get("work_on"))
    return words.dates_said(f"{said}, {day}" if day else said)


def _pass_said(one: FieldPass) -> str:
    turn = f" {one.turn}" if one.turn > 1 else ""
    called_off = ", called off" if one.state == PassState.CALLED_OFF else ""
    return f"{one}{turn}, {one.season.crop} {one.season.crop_year}{called_off}"


def _said(name: str, value: Any, passes: Mapping[str, FieldPass]) -> str:
    if name in (PASS, "passes"):
        listed = value if isinstance(value, list) else [value]
        return "; ".join(_pass_said(passes[str(pk)]) if str(pk) in passes else f"no. {pk}" for pk in listed)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(
            f"{_label(key).lower()} {_said(key, one, passes)}"
            for key, one in sorted(value.items(), key=_name_first)
            if one not in (None, "")
        )
    if isinstance(value, list):
        return "; ".join(_said(name, one, passes) for one in value)
    text = _plain(value)
    return words.dates_said(text.replace("_", " ") if WORDS_JOINED.fullmatch(text) else text)


def _name_first(pair: tuple[str, Any]) -> tuple[bool, str]:
    """Order what a report tells of one thing: PostgreSQL keeps it in an order of its own."""
    return pair[0] != "name", pair[0]


def _label(name: str) -> str:
    return LABELS.get(name, words.capital(name.replace("_", " ")))


def _is_plain(value: Any) -> bool:
    return isinstance(value, str | int) and not isinstance(value, bool)


def _plain(value: Any) -> str:
    return str(value) if _is_plain(value) else ""


def _at(instant: dt.datetime, farm: Farm) -> str:
    local = instant.astimezone(ZoneInfo(farm.zone))
    return f"{words.long_date(local.date())}, {words.clock(local)}"
