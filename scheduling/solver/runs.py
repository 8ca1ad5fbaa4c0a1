"""Runs: stretches of neighboring starts over which end, cost and road minutes rise evenly."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.solver.board import Board, Options

Even = tuple[int, int]  # the value at the first start, and its rise from start to start


@dataclass(frozen=True, slots=True)
class Run:
    """`count` starts from `first_start` on; `roads` has, per resource, road minutes before start and before end."""

    first_index: int
    count: int
    first_start: int
    last_start: int
    end: int
    end_rise: int
    units: int
    units_rise: int
    roads: dict[int, tuple[Even, Even]]

    def least_units(self) -> int:
        return self.units + min(0, self.units_rise) * (self.count - 1)

    def rise(self) -> int:
        """Return what the dearest start costs above the cheapest."""
        return abs(self.units_rise) * (self.count - 1)


def runs_of(board: Board, options: Options, clocks: Sequence[int]) -> list[Run]:
    """Return the runs of starts in order of time, even also by the road clocks of these resources."""
    step = board.problem.step
    columns = [options.starts, options.ends, options.units]
    for number in clocks:
        before = board.roads[number].clock.before
        columns.append([before(start) for start in options.starts])
        columns.append([before(end) for end in options.ends])
    rows = list(zip(*columns))
    found = []
    i = 0
    while i < len(rows):
        j, rise = i, (0,) * len(columns)
        if i + 1 < len(rows) and rows[i + 1][0] - rows[i][0] == step:
            rise = tuple(b - a for a, b in zip(rows[i], rows[i + 1]))
            j = i + 1
            while j + 1 < len(rows) and tuple(b - a for a, b in zip(rows[j], rows[j + 1])) == rise:
                j += 1
        row = rows[i]
        roads = {
            number: ((row[3 + 2 * n], rise[3 + 2 * n]), (row[4 + 2 * n], rise[4 + 2 * n]))
            for n, number in enumerate(clocks)
        }
        found.append(Run(i, j - i + 1, row[0], rows[j][0], row[1], rise[1], row[2], rise[2], roads))
        i = j + 1
    return found
