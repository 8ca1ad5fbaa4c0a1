"""Several workers on one plan: each searches in a part of the time of its own, then what they changed is laid together.

One search with all rounds finds cheaper plans than several with a share each. So the time is cut for a turn of a few
rounds, where the fewest jobs that stand would be cut through; what stands across a cut stays, and of the left jobs each worker tries
some. Where the changes of all do not fit together (a trip across the cut, a job too soon after another), those of the
one with the cheapest plan count.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduling.solver import kernel as k
from scheduling.solver.flat import Flat, State, chains

Numbers = npt.NDArray[np.int64]
TURN_ROUNDS = 200
FEWEST_STANDING_A_WORKER = 15
CUTS_TRIED = 3


class Parts:
    """States that stand alike before and after each turn."""

    def __init__(self, flat: Flat, states: Sequence[State], seed: int) -> None:
        self.states = states
        self.rng = np.random.default_rng(seed)
        groups = chains(flat.board)
        self.groups = len(groups)
        self.group_of = np.zeros(len(flat.board.jobs), dtype=np.int64)
        for number, group in enumerate(groups):
            self.group_of[group] = number
        self.horizon = flat.board.horizon

    def are_worth_it(self) -> bool:
        """Whether so many jobs stand that all find work; not while what must be done is left and weighs ever more."""
        stand = sum(int(way) >= 0 for way in self.states[0].columns[2][k.P_WAY :: k.P_SIZE])
        if stand < FEWEST_STANDING_A_WORKER * len(self.states):
            return False
        return not any(state[k.N_BUMP] for state in self.states)

    def turn(self, run: Callable[..., None], rounds: int, pool: ThreadPoolExecutor | None) -> None:
        """Do so many rounds in each part, and have all stand alike again."""
        first, *others = self.states
        before = _places(first)
        cuts = [0, *self._cuts(), self.horizon]
        owners = self.rng.integers(len(self.states), size=self.groups)[self.group_of]
        for number, state in enumerate(self.states):
            state[k.N_FROM], state[k.N_TO] = cuts[number], cuts[number + 1]
            _set_staying(state, owners != number)
        if pool is None:
            for state in self.states:
                state.rounds(run, rounds)
        else:
            running = [pool.submit(state.rounds, run, rounds) for state in others]
            first.rounds(run, rounds)
            for one in running:
                one.result()
        self._lay_together(run, before)

    def end(self) -> None:
        """Give each the whole time again."""
        for state in self.states:
            state[k.N_FROM], state[k.N_TO] = 0, self.horizon
            _set_staying(state, np.zeros(len(self.group_of), dtype=bool))

    def _cuts(self) -> list[int]:
        """Return minutes that leave every part some of the jobs: of a few drawn, those that cut through the fewest."""
        column = np.asarray(self.states[0].columns[2]).reshape(-1, k.P_SIZE)
        stand = column[column[:, k.P_WAY] >= 0]
        starts, ends = stand[:, k.P_START], stand[:, k.P_END]
        middles = np.sort(starts + ends) // 2
        cuts: list[int] = []
        for number in range(1, len(self.states)):
            drawn = [
                int(middles[int((number - 0.5 + self.rng.random()) / len(self.states) * len(middles))])
                for _ in range(CUTS_TRIED)
            ]
            through = [int(((starts < cut) & (ends > cut)).sum()) for cut in drawn]
            cuts.append(drawn[through.index(min(through))])
        return sorted(cuts)

    def _lay_together(self, run: Callable[..., None], before: Numbers) -> None:
        first, *others = self.states
        found = [_places(state) for state in self.states]
        together = found[0].copy()
        for places in found[1:]:
            changed = (places != before).any(axis=1)
            together[changed] = places[changed]
        if not _move(first, run, together):
            units = [state[k.N_UNITS] for state in self.states]
            together = found[units.index(min(units))]
            _move(first, run, together)
        for state in others:
            _move(state, run, together)


def _places(state: State) -> Numbers:
    """Return way and start of each job."""
    column = np.asarray(state.columns[2]).reshape(-1, k.P_SIZE)[:, : k.P_AT + 1].copy()
    column[column[:, k.P_WAY] < 0] = k.NONE
    return column


def _set_staying(state: State, stays: npt.NDArray[np.bool_]) -> None:
    X, n = state.columns[14], len(stays)
    X[k.X_STAYS * n : (k.X_STAYS + 1) * n] = stays if state.is_compiled else stays.astype(int).tolist()


def _move(state: State, run: Callable[..., Any], places: Numbers) -> bool:
    """Have a state stand so, if that keeps every rule; return whether it does."""
    B, n = state.columns[15], len(places)
    flat = places.ravel()
    B[2 * n : 4 * n] = flat if state.is_compiled else flat.tolist()
    state.rounds(run, -1)
    return bool(state[k.N_MOVED])
