"""What the page of waiting reports shows: each with its reason, what was sent, and boxes to correct it in."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm, Field, FuelTank, Implement, Machine
from farmops.farms.operations import Operation
from farmops.pages import trade_words, words
from farmops.pages.waiting_words import chosen_said, label_of
from scheduling.models import (
    FieldPass,
    FieldReport,
    ParkedReport,
    ParkedState,
    PassState,
    ReportKind,
    WorkRecord,
)
from scheduling.selectors.kept_words import kept_said
from scheduling.selectors.passes import OPEN_STATES, part_said
from scheduling.selectors.reports import (
    KEPT_ALL_THE_SAME,
    LOOKS_LIKE_A_REPEAT,
    settled_reports,
    waiting_reports,
)
from scheduling.services.spray_details import NoValidLicense

MOST_SETTLED = 20
PASS = "pass_id"
TOOLS = ("machine", "implement")
VALUE = "value-"
"""Boxes that hold a value of the report begin with this."""
MOST_PASSES = 600
"""Farm judgement: of more passes than this, those of the week and of the fields that reports name are offered."""
AT_WORK = (PassState.PLANNED, PassState.SENT, PassState.UNDER_WAY)
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
    is_wrong: bool = False


@dataclass(frozen=True)
class Waiting:
    """A report that waits."""

    pk: int
    who: str
    what: str
    came: str
    why: str
    done_before: str
    is_kept: bool
    is_repeat: bool
    needs_applicator: bool
    boxes: list[Box]
    told: list[tuple[str, str]]
    photos: list[int]
    note: str
    wrong: str
    is_note_wrong: bool


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
    names: frozenset[str] = frozenset()  # of the values that were not understood


def waiting_facts(*, farm: Farm, refused: Refused | None = None) -> dict[str, Any]:
    """Return what waits for the manager and what was settled of late."""
    rows = list(waiting_reports(farm=farm))
    settled = list(settled_reports(farm=farm)[:MOST_SETTLED])
    passes = _passes(farm, [row.report for row in (*rows, *settled)])
    codes = _codes(farm)
    done = _done_before(farm, rows)
    return {
        "headline": _headline(len(rows)),
        "rows": [_waiting(row, passes, codes, farm, refused or Refused(), done) for row in rows],
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
        return _("No report waits for you.")
    told = ngettext(
        "{count} report waits for you. Nothing in them is lost.",
        "{count} reports wait for you. Nothing in them is lost.",
        count,
    )
    return told.format(count=words.capital(words.count_word(count)))


def _passes(farm: Farm, reports: list[FieldReport]) -> dict[str, FieldPass]:
    """Return the passes that work may be put on, and those that the reports name, by id."""
    if not reports:
        return {}
    named = {text for report in reports if (text := _plain(report.body.get(PASS))).isdecimal()}
    known = [int(text) for text in named if len(text) < 19]
    rows = FieldPass.objects.filter(farm=farm)
    if rows.count() > MOST_PASSES:
        fields = rows.filter(pk__in=known).values("season__field")
        rows = rows.filter(
            Q(pk__in=known) | Q(state__in=AT_WORK) | Q(season__field__in=fields, state__in=OPEN_STATES)
        )
    return {
        str(row.pk): row
        for row in rows.select_related("season__field").order_by("season__field__name", "id")
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
    named: dict[str, dict[str, str]] = {}
    for name, table in tables.items():
        rows = table.objects.filter(farm=farm).order_by("name")
        named[name] = (
            {row.code: trade_words.tool(row) for row in rows}
            if name in TOOLS
            else dict(rows.values_list("code", "name"))
        )
    return named


def _options(
    name: str, value: str, passes: Mapping[str, FieldPass], codes: Mapping[str, Mapping[str, str]]
) -> list[tuple[str, str]]:
    """Return what a box may hold where that is chosen from a list; what was sent stays a choice even if it is none."""
    if name == PASS:
        said = {pk: _pass_said(one) for pk, one in passes.items()}
        often = Counter(said.values())
        acres = _("{work}, {acres} acres")
        return [
            (
                pk,
                told
                if often[told] == 1
                else acres.format(work=told, acres=f"{passes[pk].area_ac.normalize():f}"),
            )
            for pk, told in said.items()
        ]
    known = codes.get(name, {})
    unknown = (
        [(value, _("{code}, not known").format(code=value))] if known and value and value not in known else []
    )
    return [*known.items(), *unknown]


def _waiting(
    row: ParkedReport,
    passes: Mapping[str, FieldPass],
    codes: Mapping[str, Mapping[str, str]],
    farm: Farm,
    refused: Refused,
    done: Mapping[str, str],
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
        came=words.one_stop(_("Came {at}.").format(at=_at(report.received_at, farm))),
        why=words.dates_said(kept_said(row.why)),
        done_before="" if is_kept else done.get(_plain(report.body.get(PASS)), ""),
        is_kept=is_kept,
        is_repeat=row.code == LOOKS_LIKE_A_REPEAT,
        needs_applicator=row.code == NoValidLicense.code,
        boxes=[
            Box(
                name=name,
                label=label_of(name),
                value=typed.get(VALUE + name, _plain(report.body.get(name))),
                options=_options(name, _plain(report.body.get(name)), passes, codes),
                is_wrong=is_refused and name in refused.names,
            )
            for name in boxed
        ],
        told=[
            (label_of(name), _said(name, value, passes))
            for name, value in report.body.items()
            if name not in boxed and value not in (None, "", False, [], {})
        ],
        photos=[photo.pk for photo in report.photos.all()],
        note=typed.get("note", ""),
        wrong=words.dates_said(refused.says) if is_refused else "",
        is_note_wrong=is_refused and not refused.names.intersection(boxed),
    )


def _done_before(farm: Farm, rows: list[ParkedReport]) -> dict[str, str]:
    """Return for each pass that waiting reports of work name who reported it done before, as a question."""
    named = {_plain(row.report.body.get(PASS)) for row in rows if row.report.kind == ReportKind.WORK}
    known = [int(text) for text in named if text.isdecimal() and len(text) < 19]
    done = WorkRecord.objects.filter(
        farm=farm, field_pass__in=known, is_finished=True, superseded_by__isnull=True
    )
    asks = _("{who} reported this work done on {day}: is this another?")
    return {
        str(one.field_pass_id): asks.format(who=one.hand.name, day=words.full_date(one.work_on))
        for one in (done.select_related("hand").order_by("work_on", "id") if known else ())
    }


def _settled(row: ParkedReport, passes: Mapping[str, FieldPass], farm: Farm) -> Settled:
    assert row.settled_at is not None
    return Settled(
        who=row.report.hand.name,
        what=_what(row.report, passes),
        how=_how(row, _at(row.settled_at, farm)),
        note=" ".join(filter(None, (row.settled_note, _changed(row, passes)))),
    )


def _how(row: ParkedReport, at: str) -> str:
    by = row.settled_by
    is_taken = row.state == ParkedState.TAKEN
    if by is None:
        return (_("taken over, {at}") if is_taken else _("set aside, {at}")).format(at=at)
    told = _("taken over by {name}, {at}") if is_taken else _("set aside by {name}, {at}")
    return told.format(name=by.get_full_name() or by.get_username(), at=at)


def _changed(row: ParkedReport, passes: Mapping[str, FieldPass]) -> str:
    """Return what the manager put in the place of what was sent."""
    nothing = _("nothing")
    rows = [
        f"{label_of(name)}: {_said(name, row.report.body.get(name), passes) or nothing} → {_said(name, value, passes)}"
        for name, value in row.changes.items()
    ]
    return "; ".join(rows)


def _what(report: FieldReport, passes: Mapping[str, FieldPass]) -> str:
    ground = passes.get(_plain(report.body.get(PASS)))
    said = words.named(report.get_kind_display()) if ground is None else _pass_said(ground)
    day = _plain(report.body.get("work_on"))
    return words.dates_said(f"{said}, {day}" if day else said)


def _pass_said(one: FieldPass) -> str:
    turn = f" {one.turn}" if one.turn > 1 else ""
    turn += f" ({part_said(one.part, words.speaking())})" if one.part else ""
    season = one.season
    told = _("{field} {work}, {crop} {year}").format(
        field=season.field.name,
        work=f"{trade_words.work(one.operation)}{turn}",
        crop=words.named(season.crop),
        year=season.crop_year,
    )
    if one.state == PassState.CALLED_OFF:
        return _("{work}, called off").format(work=told)
    return told


def _said(name: str, value: Any, passes: Mapping[str, FieldPass]) -> str:
    if name in (PASS, "passes"):
        listed = value if isinstance(value, list) else [value]
        return "; ".join(
            _pass_said(passes[str(pk)]) if str(pk) in passes else _("no. {number}").format(number=pk)
            for pk in listed
        )
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, Mapping):
        return ", ".join(
            f"{label_of(key).lower()} {_said(key, one, passes)}"
            for key, one in sorted(value.items(), key=_name_first)
            if one not in (None, "")
        )
    if isinstance(value, list):
        return "; ".join(_said(name, one, passes) for one in value)
    text = _plain(value)
    if name == "operation" and text in set(Operation):
        return trade_words.work(text)
    return chosen_said(text)


def _name_first(pair: tuple[str, Any]) -> tuple[bool, str]:
    """Order what a report tells of one thing: PostgreSQL keeps it in an order of its own."""
    return pair[0] != "name", pair[0]


def _is_plain(value: Any) -> bool:
    return isinstance(value, str | int) and not isinstance(value, bool)


def _plain(value: Any) -> str:
    return str(value) if _is_plain(value) else ""


def _at(instant: dt.datetime, farm: Farm) -> str:
    local = instant.astimezone(ZoneInfo(farm.zone))
    return f"{words.long_date(local.date())}, {words.clock(local)}"
