"""When center pivots ran: from what was seen of them, and from the water that was put on."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from zoneinfo import ZoneInfo

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Pivot
from scheduling.care import Seen, running_stretches
from scheduling.models import PivotPlace, Watering
from scheduling.selectors.outfits import turn_min
from scheduling.selectors.work_of_things import JUST_BEFORE_NOON

MOST_AC = Decimal(2000)
"""No pivot waters more."""

Stretch = tuple[dt.datetime, dt.datetime]


def pivot_runs(*, farm: Farm, pivots: Iterable[Pivot], at: dt.datetime) -> dict[int, list[Stretch]]:
    """Return the stretches in which pivots ran up to an instant, by their row ids, oldest first.

    A pivot ran from a sight of it running to the next of it standing. Water on a day on which nobody saw it run counts
    as a turn of its own, begun before noon, that took the hours which the pump needs for the depth.
    """
    pivots = list(pivots)
    seen = _seen(farm, pivots)
    waterings = _waterings(farm, pivots)
    zone = ZoneInfo(farm.zone)
    found: dict[int, list[Stretch]] = {}
    for pivot in pivots:
        stretches = running_stretches(seen.get(pivot.pk, []), at)
        days = [(local_date(begins, farm.zone), local_date(ends, farm.zone)) for begins, ends in stretches]
        for day, depth_in in waterings.get(pivot.field_id, []):
            if any(first <= day <= last for first, last in days):
                continue
            begins = dt.datetime.combine(day, JUST_BEFORE_NOON, tzinfo=zone)
            area_ac = min(pivot.field.planted_ac, MOST_AC)
            ends = begins + dt.timedelta(minutes=turn_min(pivot=pivot, depth_in=depth_in, area_ac=area_ac))
            if begins < at:
                stretches.append((begins, min(ends, at)))
        found[pivot.pk] = sorted(stretches)
    return found


def _seen(farm: Farm, pivots: list[Pivot]) -> Mapping[int, list[Seen]]:
    found: dict[int, list[Seen]] = defaultdict(list)
    rows = PivotPlace.objects.filter(farm=farm, pivot__in=pivots).order_by("seen_at", "id")
    for pivot_id, seen_at, is_running in rows.values_list("pivot_id", "seen_at", "is_running"):
        found[pivot_id].append(Seen(seen_at, is_running))
    return found


def _waterings(farm: Farm, pivots: list[Pivot]) -> Mapping[int, list[tuple[dt.date, Decimal]]]:
    found: dict[int, list[tuple[dt.date, Decimal]]] = defaultdict(list)
    rows = Watering.objects.filter(
        farm=farm,
        field__in=[pivot.field_id for pivot in pivots],
        superseded_by__isnull=True,
        is_taken_back=False,
    )
    for field_id, day, depth_in in rows.values_list("field_id", "water_on", "depth_in"):
        found[field_id].append((day, depth_in))
    return found
