"""What a round of the search frees: the jobs to take out, and in which order they and the left ones go back in."""

from bisect import bisect_left
from random import Random

from scheduling.solver.board import Board
from scheduling.solver.greedy import standing_behind
from scheduling.solver.schedule import Schedule

FEWEST_FREED, MOST_FREED = 2, 16
MOST_LEFT_TRIED = 24
NEAREST = 40
Freed = tuple[list[int], list[int], list[int]]  # all; those to be put in first; those to be put in last


class Freeing:
    """Picks jobs of one schedule at random, in ways that suit it."""

    def __init__(self, schedule: Schedule, rng: Random) -> None:
        self.schedule, self.rng = schedule, rng
        self.board: Board = schedule.board
        self.near = _neighbors(self.board)
        self.chains = _chains(self.board)

    def next(self) -> tuple[list[int], list[int]]:
        """Return the jobs to take out where they stand, and the order in which to try all that is out then."""
        rng = self.rng
        freed, first, last = self._free()
        known = set(freed)
        left = [
            number
            for number, place in enumerate(self.schedule.places)
            if place is None and self.board.jobs[number].ways and number not in known
        ]
        if len(left) > MOST_LEFT_TRIED:
            left = rng.sample(left, MOST_LEFT_TRIED)
        order = self._sorted(freed + left)
        if first or last:
            apart = {*first, *last}
            order = [*first, *(number for number in order if number not in apart), *last]
        return freed, order

    def _free(self) -> Freed:
        """Return the jobs to free; those of them to be put in before all others; those to be put in last."""
        rng = self.rng
        count = rng.randint(FEWEST_FREED, MOST_FREED)
        pick = rng.random()
        if pick < 0.25:
            return self._free_near(count), [], []
        if pick < 0.5:
            return self._free_rows(count), [], []
        if pick < 0.7:
            return self._free_for_left(count)
        if pick < 0.9:
            return self._free_to_swap(count)
        return rng.sample(range(len(self.board.jobs)), min(count, len(self.board.jobs))), [], []

    def _free_to_swap(self, count: int) -> Freed:
        """A left chain to go first, and one job in its way that goes last with all that waits for it.

        The neighbors of that job on the resource both want are freed too, so that the row can close up.
        """
        rng, schedule = self.rng, self.schedule
        first = self._left_chain()
        if not first:
            return self._free_rows(count), [], []
        resources = rng.choice(self.board.jobs[first[0]].ways).resources
        stops = [stop for number in resources for stop in schedule.lines[number].stops]
        if not stops:
            return self._free_for_left(count)
        victim = rng.choice(stops)
        last = [victim.job, *standing_behind(schedule, victim.job)]
        freed = dict.fromkeys([*first, *last])
        for number in resources:
            row = schedule.lines[number].stops
            if victim in row:
                near = sorted(row, key=lambda stop: (abs(stop.start - victim.start), stop.job))
                freed.update(dict.fromkeys(stop.job for stop in near[: count // 2]))
        return list(freed), first, last

    def _left_chain(self) -> list[int]:
        """Return a left job that has ways, and those of its chain that are left with it, in their order."""
        schedule, jobs = self.schedule, self.board.jobs
        left = [job.number for job in jobs if job.ways and schedule.places[job.number] is None]
        if not left:
            return []
        chain = {n for n in self.chains[self.rng.choice(left)] if schedule.places[n] is None and jobs[n].ways}
        return [number for number in self.board.order if number in chain]

    def _free_near(self, count: int) -> list[int]:
        """A job's chain, then the chains of its neighbors."""
        rng = self.rng
        seed = rng.randrange(len(self.board.jobs))
        freed = dict.fromkeys(self.chains[seed])
        for near in self.near[seed]:
            if len(freed) >= count:
                break
            if rng.random() < 0.6:
                freed.update(dict.fromkeys(self.chains[near] if rng.random() < 0.5 else [near]))
        return list(freed)[: MOST_FREED * 2]

    def _free_rows(self, count: int) -> list[int]:
        """What stands on a few resources around one moment."""
        rng, lines = self.rng, self.schedule.lines
        busy = [number for number, line in enumerate(lines) if line.stops]
        if not busy:
            return []
        number = rng.choice(busy)
        seed = rng.choice(lines[number].stops)
        freed = {seed.job: None}
        rows = [number]
        others = [other for other in busy if other != number]
        rows += rng.sample(others, min(len(others), rng.randint(0, 3)))
        reach = max(1, count // len(rows))
        for row in rows:
            stops = sorted(lines[row].stops, key=lambda stop: (abs(stop.start - seed.start), stop.job))
            freed.update(dict.fromkeys(stop.job for stop in stops[:reach]))
        return list(freed)

    def _free_for_left(self, count: int) -> Freed:
        """A left chain to go first, and what stands in its way at some time."""
        rng, schedule, jobs = self.rng, self.schedule, self.board.jobs
        first = self._left_chain()
        if not first:
            return self._free_rows(count), [], []
        freed = dict.fromkeys(first)
        low = 0
        for number in first:
            way = rng.choice(jobs[number].ways)
            starts = way.options.starts
            at = bisect_left(starts, low)
            if at == len(starts):
                break
            at = min(len(starts) - 1, at + int(rng.expovariate(1.0) * len(starts) / 8))
            start, end = starts[at], way.options.ends[at]
            low = end
            for resource in way.resources:
                for stop in schedule.lines[resource].stops:
                    if stop.start < end and stop.end > start:
                        freed[stop.job] = None
        return list(freed)[: MOST_FREED * 2], first, []

    def _sorted(self, numbers: list[int]) -> list[int]:
        rng, jobs = self.rng, self.board.jobs
        pick = rng.randrange(5)
        rng.shuffle(numbers)
        far = self.board.horizon * 2
        if pick == 1:
            numbers.sort(key=lambda n: far if jobs[n].task.due is None else jobs[n].task.due or 0)
        elif pick == 2:
            numbers.sort(key=lambda n: -self.schedule.left_units[n])
        elif pick == 3:
            numbers.sort(key=lambda n: len(jobs[n].ways))
        elif pick == 4:
            numbers.sort(key=lambda n: -jobs[n].task.late_cents_per_hour)
        return numbers


def _chains(board: Board) -> list[list[int]]:
    """For each job, all jobs bound to it by `after`, itself first."""
    group = list(range(len(board.jobs)))

    def root(number: int) -> int:
        while group[number] != number:
            group[number] = group[group[number]]
            number = group[number]
        return number

    for job in board.jobs:
        for ahead, _, _ in job.before:
            group[root(job.number)] = root(ahead)
    members: dict[int, list[int]] = {}
    for number in board.order:
        members.setdefault(root(number), []).append(number)
    return [
        [number, *(other for other in members[root(number)] if other != number)]
        for number in range(len(board.jobs))
    ]


def _neighbors(board: Board) -> list[list[int]]:
    """For each job, others that use the same resources, nearest by road first."""
    table = board.problem.road_minutes
    uses = [
        set().union(*(way.resources for way in job.ways)) if job.ways else set[int]() for job in board.jobs
    ]
    near = []
    for job in board.jobs:
        row = table[job.place]
        others = [other for other in board.jobs if other is not job and uses[other.number] & uses[job.number]]
        others.sort(key=lambda other: (row[other.place], other.number))
        near.append([other.number for other in others[:NEAREST]])
    return near
