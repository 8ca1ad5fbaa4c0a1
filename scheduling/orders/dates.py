"""Between which days each step of an order can stand: worked back from the planting window, and forward after it.

Days are whole days of the calendar. Each rule of the order says that one step lies at least or at most so many days
after another; the window, the days of the year and what was done already tie steps to the calendar. Such rules are
differences, so the first and the last day of each step are shortest ways through their graph, and rules that no days
can keep show as a way that comes back below zero, whose rules are the reason. Sources: R. Bellman, On a routing problem,
1958, and L. R. Ford, Network flow theory, 1956; rules as a graph: R. Dechter, I. Meiri and J. Pearl, Temporal constraint
networks, Artificial Intelligence 49 (1991) 61-95.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from farmops.farms.operations import Operation
from scheduling.orders.steps import Order, OrderStep, day_of_year

ZERO = 0
"""The calendar itself, among the numbers of the steps."""


@dataclass(frozen=True)
class Bound:
    """One rule, for the sentence that says why: `kind` of step `at`, against step `before` or day `on`, over `days`.

    Kinds: order, least, most, plant_back, not_before, not_after, window_from, window_to, today, done.
    """

    kind: str
    at: int
    before: int | None = None
    days: int = 0
    on: dt.date | None = None


@dataclass(frozen=True)
class Dated:
    """The days of a step: `earliest_on` None: from now on; `latest_on` None: nothing makes it late."""

    earliest_on: dt.date | None
    latest_on: dt.date | None
    done_on: dt.date | None = None
    is_passed: bool = False


class NoRoom(ValueError):
    """Rules that no days can keep together; `bounds` are a smallest loop of them."""

    def __init__(self, bounds: tuple[Bound, ...]) -> None:
        super().__init__(", ".join(one.kind for one in bounds))
        self.bounds = bounds


@dataclass(frozen=True)
class _Edge:
    """`there` lies at most `days` after `here`."""

    here: int
    there: int
    days: int
    bound: Bound


def dates_of(
    order: Order,
    *,
    plant_from: dt.date,
    plant_to: dt.date,
    today: dt.date | None = None,
    done_on: Mapping[int, dt.date | None] | None = None,
    left_out: frozenset[int] = frozenset(),
) -> list[Dated]:
    """Return the days of each step in order. Raises NoRoom with the rules that cannot all be kept.

    `done_on` has the day of each step that is finished (None: nobody knows). What lies before a finished step and was
    not done is passed over; what is `left_out` is not done here at all, and nothing waits for it. `today` None: nothing ties the order to a day but its window.
    """
    done = dict(done_on or {})
    last_done = max(done, default=0)
    passed = {n for n in range(1, last_done) if n not in done and n not in left_out}
    alive = [n for n in range(1, len(order.steps) + 1) if n not in passed and n not in left_out]
    zero = plant_from
    edges = _edges(order, alive, done, zero, plant_from, plant_to)
    now = [] if today is None else [_not_before(n, today, zero, "today") for n in alive if n not in done]
    latest = _shortest(len(order.steps), edges + now, backward=False)
    free = _shortest(len(order.steps), edges, backward=True)
    dated = []
    for n in range(1, len(order.steps) + 1):
        if n not in alive or n in done:
            dated.append(Dated(None, None, done.get(n), n in passed))
            continue
        first = None if free[n] is None else zero - dt.timedelta(days=free[n] or 0)
        last = None if latest[n] is None else zero + dt.timedelta(days=latest[n] or 0)
        dated.append(Dated(None if first is None or (today and first <= today) else first, last))
    return dated


def room_days(order: Order, *, before: int, after: int) -> int | None:
    """Return the most days that the gaps alone leave between two steps; None where nothing bounds them.

    Labels and the calendar are left aside. Raises NoRoom where the gaps contradict each other.
    """
    alive = list(range(1, len(order.steps) + 1))
    edges = [edge for n in alive for edge in _gaps(order, n, alive)]
    return _shortest(len(order.steps), edges, backward=False, start=before)[after]


def _edges(
    order: Order,
    alive: list[int],
    done: Mapping[int, dt.date | None],
    zero: dt.date,
    plant_from: dt.date,
    plant_to: dt.date,
) -> list[_Edge]:
    """Return the rules that still bind: not those between two finished steps, nor what binds a finished one."""
    planting = order.planting()
    edges: list[_Edge] = []
    for n in alive:
        step = order.steps[n - 1]
        if n in done:
            on = done[n]
            if on is not None:
                edges += [_not_before(n, on, zero, "done"), _not_after(n, on, zero, "done")]
            continue
        edges += [e for e in _gaps(order, n, alive) + _labels(order, n, alive) if not _is_late(e, done)]
        if n == planting:
            edges.append(_not_before(n, plant_from, zero, "window_from"))
            edges.append(_not_after(n, plant_to, zero, "window_to"))
        is_after = planting is not None and n > planting
        if step.not_before:
            edges.append(
                _not_before(n, _on(step.not_before, plant_from, plant_to, is_after), zero, "not_before")
            )
        if step.not_after:
            edges.append(
                _not_after(n, _on(step.not_after, plant_from, plant_to, is_after), zero, "not_after")
            )
    return edges


def _is_late(edge: _Edge, done: Mapping[int, dt.date | None]) -> bool:
    """Return whether a rule is a greatest gap after finished work: once it has run out, later is better than never."""
    return edge.bound.kind == "most" and edge.bound.before in done


def _on(text: str, plant_from: dt.date, plant_to: dt.date, is_after: bool) -> dt.date:
    """Return a day of the year near planting: before it for what comes before, on or after it for what follows."""
    if is_after:
        on = day_of_year(text, plant_from.year)
        return on if on >= plant_from else day_of_year(text, plant_from.year + 1)
    on = day_of_year(text, plant_to.year)
    return on if on <= plant_to else day_of_year(text, plant_to.year - 1)


def _gaps(order: Order, n: int, alive: list[int]) -> list[_Edge]:
    step = order.steps[n - 1]
    edges = []
    previous = next((one for one in reversed(alive) if one < n), None)
    if previous is not None:
        edges.append(_Edge(n, previous, 0, Bound("order", n, previous)))
    before = order.before(n)
    if before is None or before not in alive:
        return edges
    if step.least_days:
        edges.append(_Edge(n, before, -step.least_days, Bound("least", n, before, step.least_days)))
    if step.most_days is not None:
        edges.append(_Edge(before, n, step.most_days, Bound("most", n, before, step.most_days)))
    return edges


def _labels(order: Order, n: int, alive: list[int]) -> list[_Edge]:
    if not is_kept_back(order.steps[n - 1]):
        return []
    sprayings = [one for one in order.sprayings() if one < n and one in alive]
    return [
        _Edge(n, one, -days, Bound("plant_back", n, one, days))
        for one in sprayings
        if (days := order.steps[one - 1].plant_back_days)
    ]


def is_kept_back(step: OrderStep) -> bool:
    """Return whether the days to planting of a label bind a step."""
    return step.operation in (Operation.PLANT, Operation.COVER)


def _not_before(n: int, on: dt.date, zero: dt.date, kind: str) -> _Edge:
    return _Edge(n, ZERO, -(on - zero).days, Bound(kind, n, on=on))


def _not_after(n: int, on: dt.date, zero: dt.date, kind: str) -> _Edge:
    return _Edge(ZERO, n, (on - zero).days, Bound(kind, n, on=on))


def _shortest(count: int, edges: list[_Edge], *, backward: bool, start: int = ZERO) -> list[int | None]:
    """Return the least sum of days from `start` to each number, or from each to `start`; raises NoRoom."""
    far: list[int | None] = [None] * (count + 1)
    far[start] = 0
    came: dict[int, _Edge] = {}
    changed = start
    for _round in range(count + 2):
        changed = -1
        for edge in edges:
            here, there = (edge.there, edge.here) if backward else (edge.here, edge.there)
            so_far, at = far[here], far[there]
            if so_far is not None and (at is None or so_far + edge.days < at):
                far[there] = so_far + edge.days
                came[there] = edge
                changed = there
        if changed < 0:
            return far
    raise NoRoom(_loop(came, changed, count, backward))


def _loop(came: Mapping[int, _Edge], at: int, count: int, backward: bool) -> tuple[Bound, ...]:
    """Return the rules around a loop that comes back below zero; going back far enough surely ends in it."""

    def back(number: int) -> int:
        return came[number].there if backward else came[number].here

    for _step in range(count + 1):
        at = back(at)
    bounds = [came[at].bound]
    here = back(at)
    while here != at:
        bounds.append(came[here].bound)
        here = back(here)
    return tuple(sorted(bounds, key=lambda one: (one.at, one.kind)))
