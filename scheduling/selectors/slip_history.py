"""What was set when a kind of work last looked right on a field: from the records of hands, with the ground of that day."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from farmops.farms.models import Farm
from scheduling.models import PlanState, WeekPlan, WorkRecord
from scheduling.selectors.plans import LONGEST_DAYS
from scheduling.slips.facts import LastTime
from scheduling.slips.known_windows import KnownWindows
from scheduling.slips.last_time import looked_right
from scheduling.slips.wetness import wetness_of

Work = tuple[int, str]
"""A field by its row id, and a kind of work."""
REMEMBERED = 6
"""So many of the newest records that looked right are weighed against today's ground."""
LOOKED_THROUGH = 200


def last_times(*, farm: Farm, works: Collection[Work], before: dt.date) -> Mapping[Work, list[LastTime]]:
    """Return what was set when each kind of work looked right on its field before a day, the newest first.

    The ground of a day is what the plan that ruled it knew; three queries.
    """
    records = _records(farm, works, before)
    if not records:
        return {}
    known = _windows_by_day(farm, {row.work_on for rows in records.values() for row in rows})
    found: dict[Work, list[LastTime]] = {}
    for work, rows in records.items():
        for row in rows:
            windows = known.get(row.work_on)
            ground = (
                windows.ground(
                    field_code=row.field_pass.season.field.code, day=row.work_on, with_soil_temp=False
                )
                if windows is not None
                else None
            )
            found.setdefault(work, []).append(
                LastTime(
                    work_on=row.work_on,
                    hand_name=row.hand.name,
                    zone=ground.zone if ground is not None else "",
                    wetness=wetness_of(ground),
                    settings=tuple((one.key, one.number, one.word) for one in row.settings_used.all()),
                )
            )
    return found


def farms_with_looks(*, farms: Collection[int], before: dt.date) -> set[int]:
    """Return the row ids of those farms of which `last_times` may find something before a day; one query for all."""
    looked = _looked(farms, before).order_by()
    return set(looked.values_list("farm_id", flat=True).distinct())


def _looked(farms: Collection[int], before: dt.date) -> QuerySet[WorkRecord]:
    return WorkRecord.objects.filter(
        farm__in=farms,
        work_on__lt=before,
        superseded_by__isnull=True,
        look__isnull=False,
        settings_used__isnull=False,
    )


def _records(farm: Farm, works: Collection[Work], before: dt.date) -> dict[Work, list[WorkRecord]]:
    rows = (
        _looked([farm.pk], before)
        .filter(
            field_pass__season__field__in={field_id for field_id, _ in works},
            field_pass__operation__in={operation for _, operation in works},
        )
        .select_related("field_pass__season__field", "hand", "look")
        .prefetch_related("settings_used")
        .order_by("-work_on", "-id")
        .distinct()
    )
    found: dict[Work, list[WorkRecord]] = defaultdict(list)
    for row in rows[:LOOKED_THROUGH]:
        work = (row.field_pass.season.field_id, row.field_pass.operation)
        look = row.look
        is_right = looked_right(ridges=look.ridges, mounds=look.mounds, clods=look.clods, cut=look.cut)
        if work in works and is_right and len(found[work]) < REMEMBERED:
            found[work].append(row)
    return {work: rows for work, rows in found.items() if rows}


def _windows_by_day(farm: Farm, days: set[dt.date]) -> dict[dt.date, KnownWindows]:
    """Return the windows of the plan that ruled each day: of those that hold it, the one sent last."""
    zone = ZoneInfo(farm.zone)
    first = dt.datetime.combine(min(days) - dt.timedelta(days=LONGEST_DAYS), dt.time(), tzinfo=zone)
    last = dt.datetime.combine(max(days) + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    plans = WeekPlan.objects.filter(
        farm=farm,
        state__in=(PlanState.SENT, PlanState.REPLACED),
        sent_at__isnull=False,
        starts_at__gte=first,
        starts_at__lt=last,
    )
    ruling: dict[dt.date, int] = {}
    for pk, starts_at, length in plans.order_by("sent_at", "number").values_list("pk", "starts_at", "days"):
        begins = starts_at.astimezone(zone).date()
        for day in days:
            if begins <= day < begins + dt.timedelta(days=length):
                ruling[day] = pk
    windows = dict(WeekPlan.objects.filter(pk__in=set(ruling.values())).values_list("pk", "windows"))
    made = {pk: KnownWindows(document) for pk, document in windows.items()}
    return {day: made[pk] for day, pk in ruling.items()}
