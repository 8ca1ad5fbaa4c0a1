"""What it costs at the least to get to a task: each stop in a resource's row has one stop, or home, right before it."""

import numpy as np

from scheduling.solver.board import Board, Job, Way
from scheduling.solver.timeline import Ints

MOST_UNITS = 2**60
Stops = dict[int, dict[int, set[int]]]  # by place and job: the setups that it may bring


def arrivals_of(board: Board) -> list[dict[tuple[int, int], int]]:
    """Return for each job, by resource and setup, the units of the trip and change that end at it whatever comes before.

    The setup is -1 for a resource that has no changes to make. A job at the same place can be right before unless it has to come later; others can be wherever any way takes the
    resource. A stop that leaves the setup as it was may stand for a change that never is.
    """
    stops_of: list[Stops] = [{} for _ in board.roads]
    for job in board.jobs:
        for way in job.ways:
            for number in way.resources:
                at = stops_of[number].setdefault(job.place, {})
                at.setdefault(job.number, set()).add(way.setup)
    behind = _all_behind(board)
    rows = [_Row(board, number, stops) for number, stops in enumerate(stops_of)]
    found: list[dict[tuple[int, int], int]] = []
    for job in board.jobs:
        of_job: dict[tuple[int, int], int] = {}
        for way in job.ways:
            for number in way.resources:
                key = (number, way.setup if board.roads[number].changes else -1)
                if key not in of_job:
                    of_job[key] = rows[number].least(job, way, behind[job.number])
        found.append(of_job)
    return found


def ways_in_of(board: Board) -> list[dict[int, int]]:
    """Return for each job, by resource, the least minutes between its start and the end of the task right before."""
    users: list[dict[int, set[int]]] = [{} for _ in board.roads]
    for job in board.jobs:
        for number in {number for way in job.ways for number in way.resources}:
            users[number].setdefault(job.place, set()).add(job.number)
    behind = _all_behind(board)
    cache: dict[tuple[int, int], int] = {}
    found: list[dict[int, int]] = []
    for job in board.jobs:
        of_job = {}
        for number in {number for way in job.ways for number in way.resources}:
            key = (number, job.place)
            if key not in cache:
                cache[key] = _from_elsewhere(board, number, job.place, list(users[number]))
            alone = users[number][job.place] - {job.number} <= behind[job.number]
            of_job[number] = cache[key] if alone else 0
        found.append(of_job)
    return found


def _from_elsewhere(board: Board, number: int, place: int, places: list[int]) -> int:
    road = board.roads[number]
    if road.minutes is None:
        return 0
    least = road.minutes[road.home][place]
    return min([least, *(road.minutes[other][place] for other in places if other != place)])


class _Row:
    """One resource: what its cheapest trip to a place costs, from elsewhere and from the place itself."""

    def __init__(self, board: Board, number: int, stops: Stops) -> None:
        self.road, self.stops = board.roads[number], stops
        has_price = self.road.minutes is not None and self.road.units_per_minute > 0
        self.is_free = not (has_price or self.road.change_units) or not self._fits()
        self.table: Ints | None = None
        if not self.is_free:
            places = sorted(stops)
            setups = sorted({setup for at in stops.values() for found in at.values() for setup in found})
            self.places = np.array(places, dtype=np.int64)
            self.setups = setups
            self.brings = np.array(
                [
                    [any(setup in found for found in stops[place].values()) for place in places]
                    for setup in setups
                ]
            )
            if self.road.minutes is not None:
                self.table = np.array(self.road.minutes, dtype=np.int64) * self.road.units_per_minute
        self.cache: dict[tuple[int, int], int] = {}

    def _fits(self) -> bool:
        table = self.road.minutes or [[0]]
        return max(map(max, table)) * self.road.units_per_minute + self.road.change_units < MOST_UNITS

    def least(self, job: Job, way: Way, behind: set[int]) -> int:
        if self.is_free:
            return 0
        key = (job.place, way.setup)
        if key not in self.cache:
            self.cache[key] = min(self._from_home(*key), self._from_elsewhere(*key))
        least = self.cache[key]
        for other, setups in self.stops[job.place].items():
            if other != job.number and other not in behind:
                least = min(least, min(self._change(setup, way.setup) for setup in setups))
        return least

    def _change(self, before: int, setup: int) -> int:
        return self.road.change_units if 0 <= before != setup >= 0 else 0

    def _from_home(self, place: int, setup: int) -> int:
        road = 0 if self.table is None else int(self.table[self.road.home, place])
        return road + self._change(self.road.setup_now, setup)

    def _from_elsewhere(self, place: int, setup: int) -> int:
        elsewhere = self.places != place
        road = np.zeros(len(self.places), dtype=np.int64)
        if self.table is not None:
            road = self.table[self.places, place]
        least = self._from_home(place, setup)
        for before, brings in zip(self.setups, self.brings):
            rows = road[brings & elsewhere]
            if len(rows):
                least = min(least, int(rows.min()) + self._change(before, setup))
        return least


def _all_behind(board: Board) -> list[set[int]]:
    """Return for each job all jobs that start only after it has ended."""
    found: list[set[int]] = [set() for _ in board.jobs]
    for number in reversed(board.order):
        for behind, _, _ in board.jobs[number].behind:
            found[number] |= {behind} | found[behind]
    return found
