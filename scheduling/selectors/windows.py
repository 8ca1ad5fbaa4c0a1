"""The windows of a farm's passes: a constant number of queries, then pure judging."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Pivot
from farmops.farms.operations import Operation
from scheduling.models import FieldPass, PivotPlace, SaySo
from scheduling.selectors.field_facts import pivot_places_of
from scheduling.selectors.ground import FarmGround, NoSoil, farm_ground
from scheduling.selectors.limits import FarmLimits, limits_of
from scheduling.selectors.passes import pass_key
from scheduling.selectors.sprayed import (
    LONGEST_REENTRY_DAYS,
    Reported,
    reported_without_a_label,
    sprayed_fields,
)
from scheduling.windows import Horizon, Judge, WindowsReport, WorkAsked, horizon_min
from scheduling.windows.power import PowerCut
from scheduling.windows.sayings import Saying, Word
from scheduling.windows.stops import FieldRecords, PivotSeen, Sprayed

LONGEST_LABEL_DAYS = 1460 + 730
"""No label's plant-back time that is kept is longer, with the most days that a farm may add to it."""
LATELY_DAYS = 7
"""Farm judgement: few labels keep people out for longer."""


@dataclass(frozen=True)
class Judged:
    """The windows of some passes, and what they were judged with: ground, limits, and the judge of further work."""

    report: WindowsReport
    ground: FarmGround
    limits: FarmLimits
    judge: Judge


def pass_windows(
    *,
    farm: Farm,
    passes: Sequence[FieldPass],
    starts_at: dt.datetime,
    days: int,
    as_of: dt.date,
    fields: Collection[Field] | None = None,
) -> WindowsReport:
    """Judge every pass from `starts_at` until the farm's clock shows the same hour `days` days later.

    Weather counts as it was known at the end of `as_of`. The report holds the ground of all fields, or of `fields`
    (which must then hold the passes' fields).
    """
    return judged_passes(
        farm=farm, passes=passes, starts_at=starts_at, days=days, as_of=as_of, fields=fields
    ).report


def judged_passes(
    *,
    farm: Farm,
    passes: Sequence[FieldPass],
    starts_at: dt.datetime,
    days: int,
    as_of: dt.date,
    fields: Collection[Field] | None = None,
) -> Judged:
    """Judge passes as `pass_windows` does, and return the report with what it was judged with."""
    if days < 1:
        raise ValueError(f"days is {days}; it must be 1 or more")
    clock = ZoneInfo(farm.zone)
    horizon = Horizon(starts_at, horizon_min(starts_at=starts_at, days=days, zone=farm.zone))
    first = starts_at.astimezone(clock).date()
    ends = starts_at.astimezone(dt.UTC) + dt.timedelta(minutes=horizon.minutes - 1)
    last = ends.astimezone(clock).date()
    limits = limits_of(farm=farm)
    worked_out = farm_ground(
        farm=farm, first=first, last=last, as_of=as_of, fields=fields, limits=limits.everywhere
    )
    known = _known(farm, first, last, ends, None if fields is None else [one.pk for one in fields])
    judge = Judge(ground=worked_out.ground, horizon=horizon)
    judged = [
        replace(
            judge.windows(asked=_asked(one, worked_out, known), limits=limits.of(one.season.field_id)),
            key=pass_key(one),
        )
        for one in passes
    ]
    report = WindowsReport(
        start=starts_at.astimezone(clock),
        zone=farm.zone,
        days=days,
        as_of=as_of,
        horizon_min=horizon.minutes,
        passes=tuple(judged),
        ground=worked_out.table(),
        notes=(
            *worked_out.notes,
            *limits.notes,
            *_told_without_a_label(known.reported, first),
        ),
        choices=limits.choices,
    )
    return Judged(report, worked_out, limits, judge)


@dataclass(frozen=True)
class _Known:
    """What is recorded of fields, by their row ids."""

    sayings: dict[int, list[Saying]]
    sprayings: dict[int, list[Sprayed]]
    reported: list[Reported]
    pivots: dict[int, Pivot]
    seen: dict[int, PivotPlace]


def _known(
    farm: Farm, first: dt.date, last: dt.date, ends: dt.datetime, only: Collection[int] | None
) -> _Known:
    """Read what is recorded of the fields of some row ids, or of all."""
    sprayings = sprayed_fields(
        farm=farm, first=first - dt.timedelta(days=LONGEST_LABEL_DAYS), last=last, only=only
    )
    since = first - dt.timedelta(days=LONGEST_REENTRY_DAYS)
    reported = reported_without_a_label(farm=farm, first=since, last=last, sprayings=sprayings, only=only)
    pivots = Pivot.objects.filter(farm=farm).select_related("pump").prefetch_related("pump__shut_hours")
    if only is not None:
        pivots = pivots.filter(field__in=only)
    return _Known(
        sayings=_sayings(farm, first, last, only),
        sprayings=sprayings,
        reported=reported,
        pivots={pivot.field_id: pivot for pivot in pivots},
        seen=dict(pivot_places_of(farm=farm, at=ends, only=only)),
    )


def _told_without_a_label(reported: Sequence[Reported], first: dt.date) -> list[str]:
    """Return a sentence for each field that was sprayed lately, with no label's hours kept since."""
    newest: dict[tuple[int, str], dt.date] = {}
    for one in reported:
        if one.day >= first - dt.timedelta(days=LATELY_DAYS):
            newest[one.field_id, one.field_name] = one.day
    return [
        f"{name} was sprayed on {day} and no label's re-entry hours are kept: read the label before anybody goes in."
        for (_field, name), day in newest.items()
    ]


def _asked(one: FieldPass, worked_out: FarmGround, known: _Known) -> WorkAsked:
    field = one.season.field
    zones = worked_out.zones_of.get(field.pk)
    if zones is None:
        raise NoSoil(_("No soil is described for the field {field}.").format(field=field.code))
    pivot = known.pivots.get(field.pk)
    return WorkAsked(
        field=field.code,
        operation=Operation(one.operation),
        crop=one.season.crop,
        zones=zones,
        sayings=tuple(known.sayings.get(field.pk, ())),
        records=FieldRecords(
            sprayings=(*known.sprayings.get(field.pk, ()), *_planned_label(one, known)),
            pivot=_seen(pivot, known.seen.get(field.pk)),
            power_cuts=_cuts(pivot),
            pump=pivot.pump.name if pivot is not None else "",
        ),
        is_watered=pivot is not None,
    )


def _planned_label(one: FieldPass, known: _Known) -> list[Sprayed]:
    """Return the reported sprayings of a pass's field with the plan's hours; whoever sprays may finish the pass."""
    return [
        row.sprayed
        for row in known.reported
        if row.sprayed is not None and row.field_id == one.season.field_id and row.pass_id != one.pk
    ]


def _cuts(pivot: Pivot | None) -> tuple[PowerCut, ...]:
    cuts = pivot.pump.shut_hours.all() if pivot is not None else ()
    return tuple(PowerCut(cut.weekday, cut.starts_at, cut.ends_at) for cut in cuts)


def _seen(pivot: Pivot | None, place: PivotPlace | None) -> PivotSeen | None:
    if pivot is None or place is None:
        return None
    return PivotSeen(
        seen_at=place.seen_at,
        is_running=place.is_running,
        angle_deg=float(place.angle_deg) if place.angle_deg is not None else None,
        parking_angle_deg=float(pivot.parking_angle_deg),
    )


def _sayings(
    farm: Farm, first: dt.date, last: dt.date, only: Collection[int] | None
) -> dict[int, list[Saying]]:
    rows = (
        SaySo.objects.filter(farm=farm, day__range=(first, last), is_taken_back=False)
        .select_related("zone")
        .order_by("said_at", "id")
    )
    if only is not None:
        rows = rows.filter(field__in=only)
    found: dict[int, list[Saying]] = defaultdict(list)
    for row in rows:
        zone_name = row.zone.name if row.zone is not None else None
        found[row.field_id].append(Saying(zone_name, row.day, Word(row.word), row.after_at, row.said_at))
    return found
