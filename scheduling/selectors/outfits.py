"""Who can do a pass with what, how long it takes and what it costs."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import chain, islice
from typing import Any

from farmops.farms.models import Hand, Implement, Machine, Pivot
from farmops.farms.operations import PIVOT_WORK, Operation
from farmops.science import pivot as pivot_science
from farmops.science.work_rate import work_rate_ac_per_h
from scheduling.models import FieldPass
from scheduling.selectors.fleet import Fleet, pivot_id, pump_id
from scheduling.selectors.prices import PlanPrices

START_LOOK_MIN = 20  # common practice, no source: start the pivot and watch its first steps
STOP_LOOK_MIN = 15  # common practice, no source: stop it and see where it stands
CUSTOM = "custom"
"""The outfit of somebody hired, who brings what the work needs: nothing of the farm is held."""
MOST_OUTFITS = 24


@dataclass(frozen=True)
class Outfit:
    """What goes out together: a machine, implement and hand; a pivot with or without a hand; a hand alone; nobody of ours."""

    id: str
    resources: tuple[str, ...]
    machine: Machine | None = None
    implement: Implement | None = None
    hand: Hand | None = None
    setup: str | None = None
    cents_per_h: int = 0
    cents_per_ac: int = 0

    def mode(self, minutes: int, *, area_ac: Decimal = Decimal(0)) -> dict[str, Any]:
        """Return the mode of a task that takes so many minutes for so many acres."""
        cents = round(Fraction(self.cents_per_h * minutes, 60) + self.cents_per_ac * Fraction(area_ac))
        row: dict[str, Any] = {
            "id": self.id,
            "resources": list(self.resources),
            "minutes": minutes,
            "cents": cents,
        }
        return row | ({"setup": self.setup} if self.setup else {})


def outfits_for(
    *, field_pass: FieldPass, fleet: Fleet, prices: PlanPrices, keep: Iterable[str] = ()
) -> list[Outfit]:
    """Return the outfits that can do a pass, at most `MOST_OUTFITS`, those named in `keep` first of all.

    Where there are more, each tractor and implement goes with its hands in turn, so that every pair and every hand
    stays.
    """
    operation = Operation(field_pass.operation)
    if field_pass.custom_ac_per_h is not None:
        asks = prices.custom_cents_per_ac.get(operation, 0)
        return [Outfit(id=CUSTOM, resources=(), cents_per_ac=asks)]
    if operation in PIVOT_WORK:
        pivot = fleet.pivots.get(field_pass.season.field_id)
        return [] if pivot is None else _pivot_outfits(operation, pivot, fleet, prices)
    hands = [hand for hand in fleet.hands if operation in fleet.skills_of.get(hand.pk, ())]
    if operation is Operation.DEBRIS_WALK:
        return _walkers(hands, fleet, prices, set(keep))
    pairs = [
        (machine, implement)
        for implement in fleet.implements
        if operation in fleet.operations_of.get(implement.pk, ())
        for machine in fleet.machines
        if machine.kind == implement.carried_by and machine.power_hp >= implement.power_needed_hp
    ]
    chosen = islice(_in_turn(pairs, hands, fleet, set(keep)), MOST_OUTFITS)
    found = [_outfit(machine, implement, hand, fleet, prices) for machine, implement, hand in chosen]
    return sorted(found, key=lambda outfit: outfit.id)


def _in_turn(
    pairs: Sequence[tuple[Machine, Implement]], hands: Sequence[Hand], fleet: Fleet, wanted: set[str]
) -> Iterator[tuple[Machine, Implement, Hand]]:
    """Yield what can go out together: what is wanted first, then each pair with its first hand, its second, and so on.

    The pairs begin with different hands. An outfit that is put together is dear where there are many thousands, so
    those that are wanted are known by their names.
    """
    named = {fleet.id_of(hand): turn for turn, hand in enumerate(hands)} if wanted else {}
    first: list[tuple[int, int]] = []
    for at, (machine, implement) in enumerate(pairs if wanted else ()):
        begins = _named(fleet.id_of(machine), fleet.id_of(implement), "")
        turns = [named.get(one.removeprefix(begins)) for one in wanted if one.startswith(begins)]
        first += [((turn - at) % len(hands), at) for turn in turns if turn is not None]
    in_turn = ((rank, at) for rank in range(len(hands)) for at in range(len(pairs)))
    taken = set(first)
    for rank, at in chain(sorted(first), (one for one in in_turn if one not in taken)):
        yield *pairs[at], hands[(rank + at) % len(hands)]


def _named(*parts: str) -> str:
    """Return the name of an outfit by those of its parts."""
    return "+".join(parts)


def minutes_for(*, field_pass: FieldPass, outfit: Outfit, area_ac: Decimal, fleet: Fleet) -> int:
    """Return the whole minutes an outfit needs for so many acres of a pass, or for one step of a pivot move."""
    match Operation(field_pass.operation):
        case Operation.PIVOT_START:
            return START_LOOK_MIN
        case Operation.PIVOT_STOP:
            return STOP_LOOK_MIN
        case Operation.PIVOT_WALK:
            pivot = fleet.pivots[field_pass.season.field_id]
            return walk_min(pivot=pivot, degrees=field_pass.pivot_degrees or Decimal(0))
        case Operation.IRRIGATE:
            pivot = fleet.pivots[field_pass.season.field_id]
            whole_ac = field_pass.area_ac or area_ac
            turn = turn_min(pivot=pivot, depth_in=field_pass.depth_in or Decimal(0), area_ac=whole_ac)
            return max(1, math.ceil(turn * float(area_ac / whole_ac) - 1e-9)) if whole_ac else 1
    return max(1, math.ceil(float(area_ac) / _pace_ac_per_h(field_pass, outfit, fleet) * 60 - 1e-9))


def _pace_ac_per_h(field_pass: FieldPass, outfit: Outfit, fleet: Fleet) -> float:
    if field_pass.custom_ac_per_h is not None:
        return float(field_pass.custom_ac_per_h)
    if outfit.implement is None:
        return fleet.walk_ac_per_h
    return float(
        work_rate_ac_per_h(
            width_ft=float(outfit.implement.width_ft),
            speed_mph=float(outfit.implement.speed_mph),
            efficiency_pct=float(outfit.implement.efficiency_pct),
        )
    )


def turn_min(*, pivot: Pivot, depth_in: Decimal, area_ac: Decimal) -> int:
    """Return the whole minutes of an irrigation turn: what the pump needs for the depth, or a dry round if longer."""
    round_min = walk_min(pivot=pivot, degrees=Decimal(360))
    if not depth_in or not area_ac:
        return round_min
    hours = pivot_science.hours_for_depth_h(
        depth_in=float(depth_in), flow_gpm=float(pivot.pump.flow_gpm), area_ac=float(area_ac)
    )
    return max(round_min, math.ceil(float(hours) * 60 - 1e-9))


def walk_min(*, pivot: Pivot, degrees: Decimal) -> int:
    """Return the whole minutes in which a pivot walks so far, dry and at full speed; at least 1."""
    minutes = pivot_science.walk_minutes(
        last_tower_radius_ft=float(pivot.last_tower_radius_ft),
        degrees=float(degrees),
        walk_ft_per_min=float(pivot.walk_ft_per_min),
    )
    return max(1, math.ceil(float(minutes) - 1e-9))


def _outfit(machine: Machine, implement: Implement, hand: Hand, fleet: Fleet, prices: PlanPrices) -> Outfit:
    names = (fleet.id_of(machine), fleet.id_of(implement), fleet.id_of(hand))
    return Outfit(
        id=_named(*names),
        resources=names,
        machine=machine,
        implement=implement,
        hand=hand,
        setup=fleet.id_of(implement),
        cents_per_h=prices.machine_cents_per_h[machine.pk]
        + prices.implement_cents_per_h[implement.pk]
        + prices.hand_cents_per_h[hand.pk],
    )


def _walkers(hands: list[Hand], fleet: Fleet, prices: PlanPrices, wanted: set[str]) -> list[Outfit]:
    walkers = [
        Outfit(
            id=fleet.id_of(hand),
            resources=(fleet.id_of(hand),),
            hand=hand,
            cents_per_h=prices.hand_cents_per_h[hand.pk],
        )
        for hand in hands
    ]
    walkers.sort(key=lambda outfit: outfit.id not in wanted)
    return sorted(walkers[:MOST_OUTFITS], key=lambda outfit: outfit.id)


def _pivot_outfits(operation: Operation, pivot: Pivot, fleet: Fleet, prices: PlanPrices) -> list[Outfit]:
    name = pivot_id(pivot.field.code)
    if operation is Operation.PIVOT_WALK:
        return [Outfit(id=name, resources=(name,))]
    if operation is Operation.IRRIGATE:
        pump = pump_id(pivot.pump.code)
        return [Outfit(id=f"{name}+{pump}", resources=(name, pump))]
    return [
        Outfit(
            id=f"{name}+{fleet.id_of(hand)}",
            resources=(name, fleet.id_of(hand)),
            hand=hand,
            cents_per_h=prices.hand_cents_per_h[hand.pk],
        )
        for hand in fleet.hands
        if operation in fleet.skills_of.get(hand.pk, ())
    ][:MOST_OUTFITS]
