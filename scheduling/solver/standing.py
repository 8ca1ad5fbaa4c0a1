"""Which fixed tasks can stand.

A fixed task stands exactly so, unless that breaks a rule by itself or clashes with another fixed or under-way task.
Where some clash, as many stand as can: each choice that leaves none out without need is a variant of the problem.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations, islice, product

from scheduling.solver.board import Board, Job
from scheduling.solver.schedule import Place, Schedule

MOST_VARIANTS = 24
MOST_DROPPED, MOST_TRIED = 4, 2_000


@dataclass(frozen=True)
class Variant:
    """Fixed or under-way jobs that are left for a clash (or cannot stand), and those that stand for certain."""

    dropped: frozenset[int]
    forced: frozenset[int]


def variants(board: Board) -> list[Variant]:
    """Return the choices of standing fixed tasks, likely cheapest first; at least one."""
    fixed = [job for job in board.jobs if job.pinned and job.task.under_way is None]
    hopeless = frozenset(job.number for job in fixed if not _stands(board, [job]))
    fixed = [job for job in fixed if job.number not in hopeless]
    running = [job for job in board.jobs if job.task.under_way is not None and _stands(board, [job])]
    if _stands(board, [*fixed, *running]):
        return [Variant(hopeless, frozenset())]
    pins = [*fixed, *running]
    clashing = _clashes(board, pins)
    found = []
    do_all_stand = True
    for kept in _maximal(pins, clashing):
        dropped = hopeless | {job.number for job in fixed if job.number not in kept}
        for forced in _forced(board, kept, dropped - hopeless, clashing):
            certain = [job for job in pins if job.number in kept and (job in fixed or job.number in forced)]
            if _stands(board, certain):
                found.append(Variant(dropped, forced))
            else:
                do_all_stand = False
    if not do_all_stand:
        found = list(dict.fromkeys([*found, *_several(board, pins, hopeless)]))
    if not found:
        found = [_one_by_one(board, pins, hopeless)]
    found.sort(key=lambda variant: (_price(board, variant), sorted(variant.dropped)))
    return found[:MOST_VARIANTS]


def _forced(
    board: Board, kept: frozenset[int], dropped: Iterable[int], clashing: dict[int, set[int]]
) -> list[frozenset[int]]:
    """Return the choices of jobs that must stand, lest a fixed one be left for a clash with nobody.

    For each fixed one that is left, one of those it clashes with has to stand.
    """
    needed = []
    for number in sorted(dropped):
        standing = sorted(clashing[number] & kept)
        jobs = [board.jobs[other] for other in standing]
        if not any(job.task.under_way is None and not job.before for job in jobs):
            needed.append(standing)
    return list(dict.fromkeys(map(frozenset, islice(product(*needed), MOST_VARIANTS))))


def restrict(board: Board, variant: Variant) -> Board:
    """Return the board with the variant's choices: dropped ones have no way, standing ones must stand."""
    jobs = []
    for job in board.jobs:
        if job.number in variant.dropped:
            free = job.task.fixed is not None and job.task.under_way is None and job.left_units is None
            change = 0 if job.task.was is None else job.task.was.change_cents
            left = board.units(change) if free else job.left_units
            jobs.append(replace(job, ways=[], left_units=left, holds=False))
        elif job.number in variant.forced:
            jobs.append(replace(job, left_units=None))
        elif job.pinned and job.task.under_way is None:
            jobs.append(replace(job, holds=True, left_units=job.left_units if job.before else None))
        else:
            jobs.append(job)
    return board.with_jobs(jobs)


def _stands(board: Board, pins: Iterable[Job]) -> bool:
    """Whether these jobs, each at its only start, keep every rule together when nothing else stands."""
    schedule = Schedule(board, 0)
    for job in pins:
        if not job.ways:
            return False
        schedule.put(job.number, Place(job.ways[0], 0))
    if any(line.broken_at() is not None for line in schedule.lines):
        return False
    for job in board.jobs:
        place = schedule.places[job.number]
        if place is None:
            continue
        for ahead, least, most in job.before:
            other = schedule.places[ahead]
            if other is not None:
                gap = place.start - other.end
                if gap < least or (most is not None and gap > most):
                    return False
    return True


def _clashes(board: Board, pins: list[Job]) -> dict[int, set[int]]:
    clashing: dict[int, set[int]] = {job.number: set() for job in pins}
    for one, other in combinations(pins, 2):
        if one.task.under_way is not None and other.task.under_way is not None:
            continue  # which of two under way is left is a matter of cost like any other
        shares = set(one.ways[0].resources) & set(other.ways[0].resources)
        follows = any(a == other.number for a, _, _ in one.before) or any(
            a == one.number for a, _, _ in other.before
        )
        if (shares or follows) and not _stands(board, [one, other]):
            clashing[one.number].add(other.number)
            clashing[other.number].add(one.number)
    return clashing


def _maximal(pins: list[Job], clashing: dict[int, set[int]]) -> list[frozenset[int]]:
    """Return maximal sets without a clash; past a fair number of them the rest is not listed."""
    base = frozenset(number for number, others in clashing.items() if not others)
    sets: list[frozenset[int]] = []
    waiting = [(frozenset[int](), [job.number for job in pins if clashing[job.number]])]
    while waiting and len(sets) < MOST_VARIANTS * 8:
        kept, rest = waiting.pop()
        if not rest:
            if all(number in kept or clashing[number] & kept for number in clashing if clashing[number]):
                sets.append(base | kept)
            continue
        number, *others = rest
        if clashing[number] - kept:
            waiting.append((kept, others))
        if not clashing[number] & kept:
            waiting.append((kept | {number}, [other for other in others if other not in clashing[number]]))
    return list(dict.fromkeys(sets))


def _several(board: Board, pins: list[Job], hopeless: frozenset[int]) -> list[Variant]:
    """Return the choices of a few fixed tasks to leave, where more than two clash that clash in no pair of them."""
    running = [job for job in pins if job.task.under_way is not None and job.left_units is None]
    fixed = [job for job in pins if job.task.under_way is None]
    found: list[Variant] = []
    tried = 0
    for count in range(1, MOST_DROPPED + 1):
        for dropped in combinations(fixed, count):
            tried += 1
            if tried > MOST_TRIED:
                return found
            kept = [*running, *(job for job in fixed if job not in dropped)]
            if _stands(board, kept) and not any(_stands(board, [*kept, job]) for job in dropped):
                left = hopeless | {job.number for job in dropped}
                found.append(Variant(left, frozenset(job.number for job in kept)))
    return found


def _one_by_one(board: Board, pins: list[Job], hopeless: frozenset[int]) -> Variant:
    """Keep fixed tasks in their order as long as they stand together: where too many clash to try all."""
    kept: list[Job] = [job for job in pins if job.task.under_way is not None and job.left_units is None]
    for job in pins:
        if job.task.under_way is None and _stands(board, [*kept, job]):
            kept.append(job)
    numbers = frozenset(job.number for job in kept)
    fixed = {job.number for job in pins if job.task.under_way is None}
    return Variant(hopeless | (fixed - numbers), numbers)


def _price(board: Board, variant: Variant) -> int:
    units = 0
    for job in board.jobs:
        if job.pinned and job.ways:
            gone = job.number in variant.dropped
            units += (job.left_units or 0) if gone else job.ways[0].least_units
    return units
