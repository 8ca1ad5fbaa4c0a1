"""Which task may come right after another in a resource's row, by what both and the trip cost above the bound by routes."""

import numpy as np

from scheduling.solver.routes import NEVER, Judged, Net, Routes
from scheduling.solver.timeline import Ints


class Follow:
    """Asked for pairs of neighbors when no plan may lie more than `room` above what was judged."""

    def __init__(self, routes: Routes, judged: Judged, room: int) -> None:
        self.routes, self.judged, self.room = routes, judged, room
        self.net_of = {net.members[0]: i for i, net in enumerate(routes.nets)}
        self.setup: Ints = np.array([way.setup for _, _, way in routes.kinds], dtype=np.int64)
        self.cache: dict[tuple[int, int, int], tuple[Net, Ints]] = {}

    def can(
        self, number: int, one: int, other: int, units: int, minutes: int, before: int, setup: int
    ) -> bool:
        """Whether one job can come right before another, with a trip and change of so many units and minutes.

        `before` and `setup` are the setups of the two.
        """
        no = self.net_of.get(number)
        if no is None:
            return True
        routes, at = self.routes, self.judged.potentials[no]
        net, first = self._parts(no, one, before)
        _, second = self._parts(no, other, setup)
        if not len(first) or not len(second):
            return False
        reach = routes.board.roads[number].clock.reach
        late = routes.board.horizon + 1
        arrivals = [reach(end, minutes) for end in routes.end[net.choices[first]].tolist()]
        starts = routes.start[net.choices[second]]
        order = np.argsort(starts, kind="stable")
        by = np.searchsorted(starts[order], np.array([late if a is None else a for a in arrivals]))
        above_one = self.judged.choices[net.choices[first]]
        above_other = self.judged.choices[net.choices[second]][order]
        let_go, taken = at[net.end[first]], at[net.begin[second]][order]
        both = let_go + _onward(above_other - taken)[by]
        if routes.root[one] != routes.root[other]:
            least = int((above_one + both).min())
        else:
            # Both stand in the same chain: what each lies above its cheapest may be the same.
            least = max(int(both.min()), int((above_one + let_go + _onward(-taken)[by]).min()))
        return least + units <= self.room

    def _parts(self, no: int, job: int, setup: int) -> tuple[Net, Ints]:
        """Return where in a net the choices of a job with a setup stand that are not too dear."""
        key = (no, job, setup)
        if key not in self.cache:
            net = self.routes.nets[no]
            here = (self.routes.job[net.choices] == job) & (self.judged.choices[net.choices] <= self.room)
            if self.routes.board.roads[net.members[0]].changes:
                here &= self.setup[self.routes.kind[net.choices]] == setup
            self.cache[key] = net, np.nonzero(here)[0]
        return self.cache[key]


def _onward(values: Ints) -> Ints:
    """Return the least from each place on, and one that is out of reach behind the last."""
    rest: Ints = np.append(values, NEVER)
    return np.minimum.accumulate(rest[::-1])[::-1]
