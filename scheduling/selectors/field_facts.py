"""Reading what was seen on fields and put on them: plantings, water, remarks, sprayings, pivots. Fixed numbers of queries.

A row that another supersedes does not stand, nor does one that takes another back.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Q, QuerySet, Subquery

from farmops.farms.models import Farm, Pivot
from farmops.farms.operations import Operation
from farmops.science.units import mm_from_inches
from scheduling.models import PivotPlace, PlannedTask, PlanState, Remark, Spraying, Watering, WorkRecord
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.plans import worked_by_day

DAY = dt.timedelta(days=1)


def planted_on(*, farm: Farm, as_of: dt.date, only: Collection[int] | None = None) -> Mapping[int, dt.date]:
    """Return the day on which each season was planted, by season id: when the newest of its plantings began.

    A planting begins with the first work record that reports acres, or the end, of a pass that plants. `only` are the
    row ids of the fields asked for, else all.
    """
    records = WorkRecord.objects.filter(
        Q(done_ac__gt=0) | Q(is_finished=True),
        farm=farm,
        field_pass__operation=Operation.PLANT,
        work_on__lte=as_of,
        superseded_by__isnull=True,
    )
    if only is not None:
        records = records.filter(field_pass__season__field__in=only)
    first: dict[tuple[int, int], dt.date] = {}
    for season_id, turn, day in records.values_list("field_pass__season_id", "field_pass__turn", "work_on"):
        first[season_id, turn] = min(day, first.get((season_id, turn), day))
    newest: dict[int, dt.date] = {}
    for (season_id, _turn), day in sorted(first.items()):
        newest[season_id] = max(day, newest.get(season_id, day))
    return newest


def watered_mm(
    *, farm: Farm, first: dt.date, last: dt.date, as_of: dt.date, only: Collection[int] | None = None
) -> Mapping[int, Mapping[dt.date, float]]:
    """Return the millimeters of water on each field by day, by field id: recorded up to `as_of`, planned after it.

    On a day without a row of its own, reported work on an irrigation turn counts with the depth of the turn. What is
    planned follows the sent plan, spread over the hours in which the pivot runs. `only` are the row ids of the fields
    asked for, else all.
    """
    recorded = _recorded_in(farm, first, min(last, as_of), only)
    planned = _planned_in(farm, max(first, as_of + DAY), last, only)
    return {
        field_id: {
            day: float(mm_from_inches(float(depth_in)))
            for day, depth_in in sorted((recorded.get(field_id, {}) | planned.get(field_id, {})).items())
        }
        for field_id in sorted({*recorded, *planned})
    }


def remarks_of(
    *, farm: Farm, first: dt.date, last: dt.date, only: Collection[int] | None = None
) -> tuple[Remark, ...]:
    """Return the remarks that stand, said on days of the farm's clock, in the order in which they were said; of all
    fields or of `only`.
    """
    begins, ends = _days(farm.zone, first, last)
    rows = Remark.objects.filter(
        farm=farm,
        said_at__gte=begins,
        said_at__lt=ends,
        superseded_by__isnull=True,
        is_taken_back=False,
    )
    if only is not None:
        rows = rows.filter(field__in=only)
    return tuple(rows.select_related("field", "zone", "said_by").order_by("said_at", "id"))


def sprayings_of(
    *, farm: Farm, first: dt.date, last: dt.date, only: Collection[int] | None = None
) -> tuple[Spraying, ...]:
    """Return the sprayings that stand, ended on days of the farm's clock, in that order; of all fields or of `only`.

    Entry may be shut by one that ended up to 30 days before, planting by one of years before
    (`scheduling.windows.stops`): ask from early enough on.
    """
    rows = sprayings_of_farms(farms=[farm.pk], zone=farm.zone, first=first, last=last)
    if only is not None:
        rows = rows.filter(field__in=only)
    return tuple(rows.select_related("field", "sprayed_by"))


def sprayings_of_farms(
    *, farms: Collection[int], zone: str, first: dt.date, last: dt.date
) -> QuerySet[Spraying]:
    """Return the sprayings of `sprayings_of` of the farms of some row ids, whose clocks run in one zone."""
    begins, ends = _days(zone, first, last)
    rows = Spraying.objects.filter(
        farm__in=farms,
        ended_at__gte=begins,
        ended_at__lt=ends,
        superseded_by__isnull=True,
        is_taken_back=False,
    )
    return rows.order_by("ended_at", "id")


def pivot_places_of(
    *, farm: Farm, at: dt.datetime, only: Collection[int] | None = None
) -> Mapping[int, PivotPlace]:
    """Return where each pivot was last seen by an instant, by field id; of all fields or of `only`."""
    seen = PivotPlace.objects.filter(pivot=OuterRef("pk"), seen_at__lte=at).order_by("-seen_at", "-id")
    pivots = Pivot.objects.filter(farm=farm) if only is None else Pivot.objects.filter(field__in=only)
    newest = pivots.annotate(seen_id=Subquery(seen.values("pk")[:1])).values("seen_id")
    rows = PivotPlace.objects.filter(pk__in=newest).select_related("pivot__field", "recorded_by")
    return {row.pivot.field_id: row for row in rows.order_by("pivot")}


def _days(zone: str, first: dt.date, last: dt.date) -> tuple[dt.datetime, dt.datetime]:
    """Return the instants at which some days of a zone's clock begin and end."""
    clock = ZoneInfo(zone)
    return dt.datetime.combine(first, dt.time(), clock), dt.datetime.combine(last + DAY, dt.time(), clock)


def _recorded_in(
    farm: Farm, first: dt.date, last: dt.date, only: Collection[int] | None
) -> dict[int, dict[dt.date, Decimal]]:
    told: dict[int, dict[dt.date, Decimal]] = defaultdict(dict)
    turns = WorkRecord.objects.filter(
        farm=farm,
        field_pass__operation=Operation.IRRIGATE,
        field_pass__depth_in__isnull=False,
        work_on__range=(first, last),
        superseded_by__isnull=True,
    ).select_related("field_pass__season")
    if only is not None:
        turns = turns.filter(field_pass__season__field__in=only)
    for record in turns:
        ground = record.field_pass
        is_whole = record.is_finished and not record.done_ac and not ground.done_ac
        share = Decimal(1) if is_whole else record.done_ac / ground.area_ac if ground.area_ac else Decimal(0)
        if share and ground.depth_in is not None:
            days = told[ground.season.field_id]
            days[record.work_on] = days.get(record.work_on, Decimal(0)) + ground.depth_in * share
    rows = Watering.objects.filter(
        farm=farm, water_on__range=(first, last), superseded_by__isnull=True, is_taken_back=False
    )
    if only is not None:
        rows = rows.filter(field__in=only)
    own: dict[tuple[int, dt.date], Decimal] = defaultdict(Decimal)
    for field_id, day, depth_in in rows.values_list("field_id", "water_on", "depth_in"):
        own[field_id, day] += depth_in
    for (field_id, day), depth_in in own.items():
        told[field_id][day] = depth_in
    return told


def _planned_in(
    farm: Farm, first: dt.date, last: dt.date, only: Collection[int] | None
) -> dict[int, dict[dt.date, Decimal]]:
    planned: dict[int, dict[dt.date, Decimal]] = defaultdict(dict)
    tasks = PlannedTask.objects.filter(
        farm=farm,
        plan__state=PlanState.SENT,
        operation=Operation.IRRIGATE,
        field_pass__state__in=OPEN_STATES,
        field_pass__depth_in__isnull=False,
        ends_at__gt=_days(farm.zone, first, first)[0],
    ).select_related("plan", "field_pass")
    if only is not None:
        tasks = tasks.filter(field__in=only)
    for task in tasks:
        task.plan.farm = farm  # as it is at hand: what is kept of this is marked by it
        depth_in = task.field_pass.depth_in or Decimal(0)
        share = task.area_ac / task.field_pass.area_ac if task.field_pass.area_ac else Decimal(0)
        minutes = _minutes_by_day(task)
        whole_min = sum(minutes.values())
        days = planned[task.field_id]
        for day, worked_min in minutes.items():
            if first <= day <= last:
                days[day] = days.get(day, Decimal(0)) + depth_in * share * worked_min / whole_min
    return planned


def _minutes_by_day(task: PlannedTask) -> dict[dt.date, int]:
    """Return the minutes in which a task is worked by day of the farm's clock; a stretch over midnight is cut there."""
    zone = ZoneInfo(task.plan.farm.zone)
    minutes: dict[dt.date, int] = defaultdict(int)
    for stretches in worked_by_day(plan=task.plan, task=task).values():
        for begins, ends in stretches:
            at, end = begins.astimezone(dt.UTC), ends.astimezone(dt.UTC)
            while at < end:
                day = at.astimezone(zone).date()
                midnight = dt.datetime.combine(day + DAY, dt.time(), zone).astimezone(dt.UTC)
                minutes[day] += (min(end, midnight) - at) // dt.timedelta(minutes=1)
                at = min(end, midnight)
    return minutes
