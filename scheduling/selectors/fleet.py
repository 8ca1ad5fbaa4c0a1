"""What a farm has to work with: machines, implements, hands and pivots, with where they stand."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.db.models import QuerySet

from farmops.core.ready import Ready
from farmops.farms.models import (
    WORKING_KINDS,
    Farm,
    Hand,
    HandAway,
    HandSkill,
    Implement,
    ImplementOperation,
    Machine,
    Pivot,
    Shift,
)
from farmops.farms.operations import PIVOT_WORK
from farmops.science.units import FEET_PER_MILE, SQUARE_FEET_PER_ACRE
from scheduling.models import DebrisNumbers, WorkRecord
from scheduling.selectors.horizon import Horizon

YARD = "yard"
DEBRIS_WALK_AC_PER_H = 9.0
"""A hand alone who looks over 30 ft at 2.5 mph: 30 x 2.5 / 8.25; common practice, no source."""
REMEMBERED_DAYS = 120


@dataclass(frozen=True)
class Fleet:
    """Everything that can be held by a task, read in a fixed number of queries; and beside it, what is down or away."""

    machines: tuple[Machine, ...]
    implements: tuple[Implement, ...]
    hands: tuple[Hand, ...]
    pivots: Mapping[int, Pivot]
    operations_of: Mapping[int, frozenset[str]]
    skills_of: Mapping[int, frozenset[str]]
    shifts_of: Mapping[int, tuple[Shift, ...]]
    away_of: Mapping[int, tuple[HandAway, ...]]
    ids: Mapping[tuple[str, int], str]
    machine_stands: Mapping[int, tuple[str, int | None]]
    implement_stands: Mapping[int, str]
    down_machines: tuple[Machine, ...] = ()
    down_implements: tuple[Implement, ...] = ()
    idle_hands: tuple[Hand, ...] = ()
    walk_ac_per_h: float = DEBRIS_WALK_AC_PER_H

    def id_of(self, row: Machine | Implement | Hand) -> str:
        """Return the name of a machine, implement or hand in a problem: its code, with its kind if two share it."""
        return self.ids[type(row).__name__, row.pk]


def pivot_id(field_code: str) -> str:
    """Return the name of a field's pivot in a problem."""
    return f"pivot:{field_code}"


def pump_id(pump_code: str) -> str:
    """Return the name of a pump in a problem."""
    return f"pump:{pump_code}"


def place_of(field_code: str) -> str:
    """Return the name of a field as a place; the yard keeps its own."""
    return field_code if field_code != YARD else f"field:{field_code}"


def fleet_of(*, farm: Farm, horizon: Horizon, soonest_min: int = 0) -> Fleet:
    """Return what the farm can work with in a horizon; what is broken all through it stands apart.

    Everything stands where it stood at `soonest_min`, the first minute that can still be planned.
    """
    shifts_of: dict[int, list[Shift]] = defaultdict(list)
    for shift in Shift.objects.filter(farm=farm):
        shifts_of[shift.hand_id].append(shift)
    away_of: dict[int, list[HandAway]] = defaultdict(list)
    for away in HandAway.objects.filter(farm=farm):
        away_of[away.hand_id].append(away)
    machine_stands, implement_stands = _where_they_stand(
        farm, horizon.at(soonest_min).astimezone(horizon.clock)
    )
    return replace(
        _who_with_what(
            farm,
            horizon,
            does=ImplementOperation.objects.filter(farm=farm),
            skills=HandSkill.objects.filter(farm=farm),
            pivots=_pivots(farm),
        ),
        shifts_of={key: tuple(rows) for key, rows in shifts_of.items()},
        away_of={key: tuple(rows) for key, rows in away_of.items()},
        machine_stands=machine_stands,
        implement_stands=implement_stands,
        walk_ac_per_h=_walk_ac_per_h(farm),
    )


def fleet_to_choose_from(*, farm: Farm, horizon: Horizon, operation: str, field_id: int) -> Fleet:
    """Return as much of what `fleet_of` finds as tells who can do an operation on a field, with what: no calendars, and
    nothing of where things stand.
    """
    return _who_with_what(
        farm,
        horizon,
        does=ImplementOperation.objects.filter(farm=farm, operation=operation),
        skills=HandSkill.objects.filter(farm=farm, operation=operation),
        pivots=_pivots(farm).filter(field=field_id) if operation in PIVOT_WORK else Pivot.objects.none(),
    )


MACHINES = Ready(
    lambda farm_id: Machine.objects.filter(farm=farm_id, kind__in=WORKING_KINDS).order_by("code"), -1
)
IMPLEMENTS = Ready(lambda farm_id: Implement.objects.filter(farm=farm_id).order_by("code"), -1)
HANDS = Ready(lambda farm_id: Hand.objects.filter(farm=farm_id, works=True).order_by("code"), -1)


def _who_with_what(
    farm: Farm,
    horizon: Horizon,
    *,
    does: QuerySet[ImplementOperation],
    skills: QuerySet[HandSkill],
    pivots: QuerySet[Pivot],
) -> Fleet:
    end = horizon.at(horizon.minutes)
    all_machines, all_implements = tuple(MACHINES.ask(farm.pk)), tuple(IMPLEMENTS.ask(farm.pk))
    machines = tuple(one for one in all_machines if _is_back(one.down_until, end))
    implements = tuple(one for one in all_implements if _is_back(one.down_until, end))
    hands = tuple(HANDS.ask(farm.pk))
    return Fleet(
        machines=machines,
        implements=implements,
        hands=hands,
        pivots={pivot.field_id: pivot for pivot in pivots},
        operations_of=_by_owner(does.values_list("implement_id", "operation")),
        skills_of=_by_owner(skills.values_list("hand_id", "operation")),
        shifts_of={},
        away_of={},
        ids=_ids((*machines, *implements, *hands)),
        machine_stands={},
        implement_stands={},
        down_machines=tuple(one for one in all_machines if not _is_back(one.down_until, end)),
        down_implements=tuple(one for one in all_implements if not _is_back(one.down_until, end)),
    )


def _pivots(farm: Farm) -> QuerySet[Pivot]:
    return Pivot.objects.filter(farm=farm).select_related("field", "pump").defer("field__boundary")


def _by_owner(rows: Iterable[tuple[int, str]]) -> dict[int, frozenset[str]]:
    words: dict[int, set[str]] = defaultdict(set)
    for owner_id, operation in rows:
        words[owner_id].add(operation)
    return {key: frozenset(found) for key, found in words.items()}


def _walk_ac_per_h(farm: Farm) -> float:
    """Return the pace of a debris walk by the farm's own swath and speed, or the usual one."""
    own = DebrisNumbers.objects.filter(farm=farm).first()
    if own is None:
        return DEBRIS_WALK_AC_PER_H
    return float(own.swath_ft * own.walk_mph * FEET_PER_MILE / SQUARE_FEET_PER_ACRE)


def _is_back(down_until: dt.datetime | None, end: dt.datetime) -> bool:
    return down_until is None or down_until < end


def _ids(rows: tuple[Machine | Implement | Hand, ...]) -> dict[tuple[str, int], str]:
    times = Counter(row.code for row in rows)
    return {
        (type(row).__name__, row.pk): row.code
        if times[row.code] == 1
        else f"{type(row).__name__.lower()}:{row.code}"
        for row in rows
    }


def _where_they_stand(
    farm: Farm, local: dt.datetime
) -> tuple[dict[int, tuple[str, int | None]], dict[int, str]]:
    """Return where the last work record before an instant left each machine (with what it pulled) and each implement."""
    day = local.date()
    is_midnight = local.time() == dt.time()
    records = WorkRecord.objects.filter(
        farm=farm,
        work_on__gte=day - dt.timedelta(days=REMEMBERED_DAYS),
        work_on__lte=day - dt.timedelta(days=1) if is_midnight else day,
        machine__isnull=False,
        machine_min__gt=0,
        superseded_by__isnull=True,
    ).order_by("work_on", "starts_at", "id")
    machines: dict[int, tuple[str, int | None]] = {}
    implements: dict[int, str] = {}
    for machine_id, implement_id, field in records.values_list(
        "machine_id", "implement_id", "field_pass__season__field__code"
    ):
        machines[machine_id or 0] = (place_of(field), implement_id)
        if implement_id is not None:
            implements[implement_id] = place_of(field)
    return machines, implements
