"""Putting jobs into a schedule one by one, each at its best place; and taking out what costs more than it saves."""

from collections.abc import Iterable, Sequence

from scheduling.solver.board import Board
from scheduling.solver.schedule import Place, Schedule

MUST_UNITS = 10**24


def empty(board: Board) -> Schedule:
    return Schedule(board, MUST_UNITS)


def schedule_of(board: Board, places: Sequence[Place | None]) -> Schedule:
    """Return a schedule with these places, which stand on this board."""
    found = empty(board)
    for number in board.order:
        place = places[number]
        if place is not None:
            found.put(number, place)
    return found


def construct(board: Board) -> Schedule:
    """Return the best of a few plans built in plain orders; jobs that must be done come first in each."""
    best: Schedule | None = None
    for order in _orders(board):
        schedule = empty(board)
        fill(schedule, order)
        if best is None or schedule.units < best.units:
            best = schedule
    assert best is not None
    return best


def _orders(board: Board) -> list[list[int]]:
    jobs = board.jobs
    numbers = list(range(len(jobs)))
    far = board.horizon * 2

    def first(number: int) -> tuple[bool, bool]:
        return not jobs[number].pinned, jobs[number].left_units is not None

    def due(number: int) -> int:
        task = jobs[number].task
        return min(far if task.due is None else task.due, far if task.latest is None else task.latest)

    def price(number: int) -> int:
        return -jobs[number].task.late_cents_per_hour

    def regret(number: int) -> int:
        job = jobs[number]
        least = job.ways[0].least_units if job.ways else 0
        return least - (job.left_units or 0)

    return [
        sorted(numbers, key=lambda n: (*first(n), due(n), price(n))),
        sorted(numbers, key=lambda n: (*first(n), price(n), due(n))),
        sorted(numbers, key=lambda n: (*first(n), regret(n), due(n))),
    ]


def fill(schedule: Schedule, order: Sequence[int]) -> None:
    """Put the jobs of the order in, each after the ones it waits for, where that is cheaper than leaving it."""
    jobs = schedule.board.jobs
    pending = set(order)
    queue = list(reversed(order))
    tried_again: set[int] = set()
    while queue:
        number = queue.pop()
        if number not in pending:
            continue
        job = jobs[number]
        ahead = [a for a, _, _ in job.before if a in pending]
        if ahead:
            queue.append(number)
            queue.extend(ahead)
            continue
        pending.discard(number)
        limit = schedule.left_units[number] + worth(schedule, number, pending)
        if job.holds:
            limit = schedule.must_units
        found = schedule.best_insertion(job, limit)
        if found is not None:
            schedule.put(number, found[1])
            continue
        stuck = standing_behind(schedule, number)
        if stuck:
            for behind in stuck:
                schedule.take(behind)
            pending.update(stuck)
            queue.extend(reversed(stuck))
            if number not in tried_again:
                tried_again.add(number)
                pending.add(number)
                queue.append(number)
    prune(schedule, order)


def worth(schedule: Schedule, number: int, pending: set[int]) -> int:
    """Return the most that jobs which wait for this one could still save, were it placed."""
    total = 0
    for behind, _, _ in schedule.board.jobs[number].behind:
        job = schedule.board.jobs[behind]
        if behind in pending and job.ways:
            gain = schedule.left_units[behind] - job.ways[0].least_units
            total += max(0, gain + worth(schedule, behind, pending))
    return total


def standing_behind(schedule: Schedule, number: int) -> list[int]:
    """Return the placed jobs that wait for this one, straight or through others, nearest first."""
    found: list[int] = []
    waiting = [number]
    while waiting:
        for behind, _, _ in schedule.board.jobs[waiting.pop()].behind:
            if schedule.places[behind] is not None and behind not in found:
                found.append(behind)
                waiting.append(behind)
    position = {job: i for i, job in enumerate(schedule.board.order)} if len(found) > 1 else {}
    return sorted(found, key=lambda job: position.get(job, 0))


def prune(schedule: Schedule, numbers: Iterable[int]) -> None:
    """Leave jobs, with all that wait for them, where that is cheaper than doing them."""
    for number in numbers:
        job = schedule.board.jobs[number]
        place = schedule.places[number]
        if place is None or job.left_units is None or job.holds:
            continue
        group = [number, *standing_behind(schedule, number)]
        likely = 0
        for member in group:
            stands = schedule.places[member]
            if stands is not None:
                likely += schedule.left_units[member] - stands.units
        road_most = sum(schedule.lines[r].units for r in place.way.resources)
        if likely >= road_most:
            continue
        saved = schedule.save()
        for member in reversed(group):
            schedule.take(member)
        if schedule.units >= saved[2] or not schedule.is_sound():
            schedule.restore(saved)
