"""What is down or away, so that nothing of a farm can do a pass in the days of a plan; and until when."""

import datetime as dt
from collections.abc import Iterable

from farmops.farms.models import Hand, Implement, Machine
from farmops.farms.operations import NO_IMPLEMENT
from scheduling.models import FieldPass
from scheduling.selectors.fleet import Fleet
from scheduling.selectors.horizon import Horizon


def missing_for(*, field_pass: FieldPass, fleet: Fleet, horizon: Horizon) -> str:
    """Return what is missing for a pass that no outfit can do, such as `tractor 1 is down until Friday, May 1`.

    Of implements, machines and hands only those are named of which there is none at work. What the farm does not have
    at all is not named: then it is nobody's return that the pass waits for. Empty if nothing is down or away.
    """
    if field_pass.fixed_outfit:
        parts = set(field_pass.fixed_outfit.split("+"))
        rows: tuple[Machine | Implement | Hand, ...] = (
            *fleet.down_machines,
            *fleet.down_implements,
            *fleet.idle_hands,
        )
        return _anded(_until(row, fleet, horizon) for row in rows if row.code in parts)
    operation = field_pass.operation
    told: list[str] = []
    if operation not in NO_IMPLEMENT:
        up = [one for one in fleet.implements if _does(one, operation, fleet)]
        down = [one for one in fleet.down_implements if _does(one, operation, fleet)]
        if not up:
            told += [_until(one, fleet, horizon) for one in down]
        tools = up or down
        if not any(_pulls(machine, tool) for machine in fleet.machines for tool in tools):
            told += [
                _until(machine, fleet, horizon)
                for machine in fleet.down_machines
                if any(_pulls(machine, tool) for tool in tools)
            ]
    if not any(operation in fleet.skills_of.get(hand.pk, ()) for hand in fleet.hands):
        told += [
            _until(hand, fleet, horizon)
            for hand in fleet.idle_hands
            if operation in fleet.skills_of.get(hand.pk, ())
        ]
    return _anded(told)


def _does(implement: Implement, operation: str, fleet: Fleet) -> bool:
    return operation in fleet.operations_of.get(implement.pk, ())


def _pulls(machine: Machine, implement: Implement) -> bool:
    return machine.kind == implement.carried_by and machine.power_hp >= implement.power_needed_hp


def _until(row: Machine | Implement | Hand, fleet: Fleet, horizon: Horizon) -> str:
    if isinstance(row, Hand):
        days = list(horizon.local_days())
        ends = [
            away.last_on
            for away in fleet.away_of.get(row.pk, ())
            if away.first_on <= days[-1] and days[0] <= away.last_on
        ]
        return f"{row} is away through {_day(max(ends))}" if ends else f"{row} has no hours in these days"
    assert row.down_until is not None
    return f"{row} is down until {_day(row.down_until.astimezone(horizon.clock).date())}"


def _day(day: dt.date) -> str:
    return f"{day:%A, %B} {day.day}"


def _anded(told: Iterable[str]) -> str:
    words = list(told)
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
