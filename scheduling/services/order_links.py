"""What waits for what among the passes of an order of work on one season, and whether it goes around in a circle."""

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.models import FieldPass
from scheduling.orders import Order
from scheduling.orders.dates import is_kept_back
from scheduling.selectors.passes import WATER
from scheduling.services.passes import Planned

DAY_MIN = 24 * 60
Slot = tuple[str, int, str]
"""What makes a pass the only one of its season: operation, turn, part."""


@dataclass(frozen=True)
class Link:
    """One pass waits for another, with minutes between."""

    before: Slot
    after: Slot
    min_gap_min: int
    max_gap_min: int | None


def step_gap(order: Order, before: int, n: int) -> tuple[int, int | None]:
    """Return the least and most minutes that an order wants between two of its steps: its gaps and the label's days."""
    step = order.steps[n - 1]
    least, most = 0, None
    if order.before(n) == before:
        least = step.least_days
        most = step.most_days
    if is_kept_back(step):
        least = max(least, order.steps[before - 1].plant_back_days)
    return least * DAY_MIN, None if most is None else most * DAY_MIN


def wanted_links(order: Order, alive: list[int], planned: list[Planned]) -> list[Link]:
    """Return what waits for what: each pass for the one before it, and steps for those that their days count from."""
    found: dict[tuple[Slot, Slot], tuple[int, int | None]] = {}

    def want(before: Slot, after: Slot, least: int, most: int | None) -> None:
        had = found.get((before, after), (0, None))
        mosts = [one for one in (had[1], most) if one is not None]
        found[before, after] = (max(had[0], least), min(mosts) if mosts else None)

    for before, after in itertools.pairwise(planned):
        is_of_the_pivot = after.step is None or before.step == after.step
        gap = (after.min_gap_min, after.max_gap_min) if is_of_the_pivot else (0, None)
        want(before.slot, after.slot, *gap)
    places = {one.slot: at for at, one in enumerate(planned)}
    of_step: dict[int, list[Planned]] = defaultdict(list)
    for one in planned:
        if one.step is not None:
            of_step[alive[one.step]].append(one)
    for before_n, after_n in itertools.combinations(alive, 2):
        least, most = step_gap(order, before_n, after_n)
        if not least and most is None:
            continue
        for before, after in itertools.product(_ends(of_step[before_n]), _begins(of_step[after_n])):
            if places[before.slot] < places[after.slot]:
                is_alike = before.part == after.part or after.part == WATER
                want(before.slot, after.slot, least, most if is_alike else None)
    return [Link(before, after, *gap) for (before, after), gap in found.items()]


def _begins(passes: Sequence[Planned]) -> Sequence[Planned]:
    """Return what begins a step: of an irrigation turn, starting the pivot."""
    return passes[:1] if passes and passes[0].part == WATER else passes


def _ends(passes: Sequence[Planned]) -> Sequence[Planned]:
    """Return what a step ends with: of an irrigation turn, the last look at it."""
    return passes[-1:] if passes and passes[-1].part == WATER else passes


def is_a_loop(
    existing: Mapping[Slot, FieldPass], links: Sequence[tuple[int, int]], wanted: Sequence[Link]
) -> bool:
    """Return whether what waits already and what would wait go around in a circle."""
    slot_of = {one.pk: slot for slot, one in existing.items()}
    after: dict[Slot, set[Slot]] = defaultdict(set)
    for before_id, after_id in links:
        if before_id in slot_of and after_id in slot_of:
            after[slot_of[before_id]].add(slot_of[after_id])
    for link in wanted:
        after[link.before].add(link.after)
    waits = dict.fromkeys(after, 0)
    for nexts in after.values():
        for slot in nexts:
            waits[slot] = waits.get(slot, 0) + 1
    free = [slot for slot, count in waits.items() if not count]
    seen = 0
    while free:
        seen += 1
        for slot in after.get(free.pop(), ()):
            waits[slot] -= 1
            if not waits[slot]:
                free.append(slot)
    return seen < len(waits)
