"""A plan in the making: which way and start each job has, the rows of the resources, and the exact cost.

`best_insertion` answers the one question the search asks all the time: where does this job fit best, everything
else standing as it is. Costs are units (`timeline.UNITS_PER_CENT` to the cent) and exact.
"""

from bisect import bisect_left, bisect_right
from typing import NamedTuple

from scheduling.solver.board import Board, Job, Way
from scheduling.solver.line import Gap, Line, Stop


class Place(NamedTuple):
    """Where a job stands: the way and the index of its start."""

    way: Way
    at: int

    @property
    def start(self) -> int:
        return self.way.options.starts[self.at]

    @property
    def end(self) -> int:
        return self.way.options.ends[self.at]

    @property
    def units(self) -> int:
        return self.way.base_units + self.way.options.units[self.at]


Saved = tuple[list[Place | None], list[Line], int]


class Schedule:
    """Jobs that are placed and jobs that are left. Leaving one that must be done costs `must_units`."""

    def __init__(self, board: Board, must_units: int) -> None:
        self.board = board
        self.must_units = must_units
        self.places: list[Place | None] = [None] * len(board.jobs)
        self.lines = [Line(road, board.horizon) for road in board.roads]
        self.left_units = [must_units if job.left_units is None else job.left_units for job in board.jobs]
        self.units = sum(self.left_units)

    def save(self) -> Saved:
        return list(self.places), list(self.lines), self.units

    def restore(self, saved: Saved) -> None:
        self.places, self.lines, self.units = list(saved[0]), list(saved[1]), saved[2]

    def put(self, job: int, place: Place) -> None:
        """Place a job that is left."""
        way = place.way
        stop = Stop(job, place.start, place.end, way.place, way.setup)
        units = place.units - self.left_units[job]
        for number in way.resources:
            old = self.lines[number]
            new = self.lines[number] = old.with_stop(stop)
            units += new.units - old.units
        self.places[job] = place
        self.units += units

    def take(self, job: int) -> None:
        """Leave a job that is placed."""
        place = self.places[job]
        assert place is not None
        units = self.left_units[job] - place.units
        for number in place.way.resources:
            old = self.lines[number]
            new = self.lines[number] = old.without(job)
            units += new.units - old.units
        self.places[job] = None
        self.units += units

    def is_sound(self) -> bool:
        """Whether every trip and change fits where taking out could have broken a row, and fixed tasks stand."""
        for job in self.board.jobs:
            if (
                job.holds
                and self.places[job.number] is None
                and all(self.places[ahead] is not None for ahead, _, _ in job.before)
            ):
                return False
        return all(not line.can_break or line.broken_at() is None for line in self.lines)

    def window(self, job: Job, *, do_others_change: bool = True) -> tuple[int, int, int, int] | None:
        """Return (soonest start, latest start, soonest end, latest end) by the neighbors in `after` that stand.

        None when one that it waits for is left. A fixed one behind it that is left for now counts as if it stood, but
        for one that waits for another left one too where the others do not change any more.
        """
        low, high, low_end, high_end = 0, self.board.horizon, 0, self.board.horizon
        for ahead, least, most in job.before:
            place = self.places[ahead]
            if place is None:
                return None
            end = place.end
            low = max(low, end + least)
            if most is not None:
                high = min(high, end + most)
        for behind, least, most in job.behind:
            place = self.places[behind]
            held = self.board.jobs[behind]
            if place is None and held.holds and (do_others_change or self._stands_with(held, job)):
                place = Place(held.ways[0], 0)  # it will stand there or not at all
            if place is not None:
                high_end = min(high_end, place.start - least)
                if most is not None:
                    low_end = max(low_end, place.start - most)
        return low, high, low_end, high_end

    def _stands_with(self, held: Job, job: Job) -> bool:
        """Whether all that a fixed job waits for stands once this one does."""
        return all(ahead == job.number or self.places[ahead] is not None for ahead, _, _ in held.before)

    def best_insertion(self, job: Job, limit: int) -> tuple[int, Place] | None:
        """Return (units on top, place) of the cheapest place below `limit`, or None."""
        window = self.window(job)
        if window is None:
            return None
        low, high, low_end, high_end = window
        lines, whole = self.lines, [(0, self.board.horizon, 0)]
        pairs: dict[tuple[int, int, int], tuple[list[Gap], int]] = {}
        best: tuple[int, Place] | None = None
        bar = limit
        for way in job.ways:
            if way.least_units >= bar:
                break
            options = way.options
            starts, ends, units, base = options.starts, options.ends, options.units, way.base_units
            first = bisect_left(starts, low)
            if low_end:
                first = max(first, bisect_left(ends, low_end))
            last = min(bisect_right(starts, high), bisect_right(ends, high_end))
            if first >= last:
                continue
            floor = base + units[options.cheapest(first, last)]
            if floor >= bar:
                continue
            resources, place, setup = way.resources, way.place, way.setup
            if len(resources) < 2:
                one = whole
                other = lines[resources[0]].gaps(place, setup) if resources else whole
            else:
                key = (resources[0], resources[1], setup)
                if key not in pairs:
                    shared = _shared(
                        lines[key[0]].gaps(place, setup), lines[key[1]].gaps(place, setup), low, high_end
                    )
                    pairs[key] = (shared, min((gap[2] for gap in shared), default=limit))
                one, least = pairs[key]
                if floor + least >= bar:
                    continue
                for number in resources[2:-1]:
                    one = _shared(one, lines[number].gaps(place, setup), low, high_end)
                other = lines[resources[-1]].gaps(place, setup) if len(resources) > 2 else whole
            i = j = 0
            count, others = len(one), len(other)
            while i < count and j < others:
                gap_low, gap_high, on_top = one[i]
                other_low, other_high, more = other[j]
                if gap_high < other_high:
                    i += 1
                else:
                    j += 1
                    gap_high = other_high
                if gap_low < other_low:
                    gap_low = other_low
                on_top += more
                if gap_low >= gap_high or gap_high <= low or floor + on_top >= bar:
                    continue
                a = bisect_left(starts, gap_low, first, last)
                b = bisect_right(ends, gap_high, a, last)
                if a < b:
                    at = options.cheapest(a, b)
                    total = base + units[at] + on_top
                    if total < bar:
                        bar = total
                        best = (total, Place(way, at))
        return best


def _shared(one: list[Gap], other: list[Gap], soonest: int, latest: int) -> list[Gap]:
    """Return what gaps of two rows have in common between two minutes."""
    found: list[Gap] = []
    i = j = 0
    count, others = len(one), len(other)
    while i < count and j < others:
        low, high, units = one[i]
        other_low, other_high, more = other[j]
        if high < other_high:
            i += 1
        else:
            j += 1
            high = other_high
        if low < other_low:
            low = other_low
        if low < high and high > soonest and low < latest:
            found.append((low, high, units + more))
    return found
