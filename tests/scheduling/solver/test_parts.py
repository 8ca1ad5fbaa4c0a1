"""Workers that search in parts of one plan: what they change together keeps every rule and costs what it costs."""

from collections.abc import Sequence
from random import Random
from typing import Any

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import kernel, parse_problem
from scheduling.solver import search as search_module
from scheduling.solver.board import Board
from scheduling.solver.flat import Flat, State
from scheduling.solver.parts import Parts
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.search import Search
from tests.scheduling.solver.tiny import random_problem

PROBLEMS: dict[str, Any] = {
    "every key": lambda seed: random_problem(seed, tasks=9, horizon=90, step=3),
    "long days": lambda seed: random_problem(seed, tasks=16, horizon=400, step=8),
    "farms": lambda seed: Farm(5 + seed % 4, seed).problem,
}


def _states(raw: dict[str, Any], count: int) -> tuple[Flat, list[State]]:
    flat = Flat(Board(parse_problem(raw)))
    states = [State(flat, seed=number, scale_units=1000) for number in range(count)]
    for state in states:
        state.load([None] * len(flat.board.jobs))
        state.suit(compiled=False)
        state[kernel.N_BUMP], state[kernel.N_WARMTH] = 0, 10**9
    return flat, states


def _stand(state: State) -> list[tuple[int, int] | None]:
    P = state.columns[2]
    ways, at = P[kernel.P_WAY :: kernel.P_SIZE], P[kernel.P_AT :: kernel.P_SIZE]
    return [(way, start) if way >= 0 else None for way, start in zip(ways, at, strict=True)]


def _broken(flat: Flat, stand: Sequence[tuple[int, int] | None]) -> tuple[Schedule, list[str]]:
    """Return the schedule and what is wrong with it, by the slow count that knows nothing of parts."""
    board = flat.board
    schedule = Schedule(board, flat.must_units)
    for number in board.order:
        place = stand[number]
        if place is not None:
            schedule.put(number, Place(flat.ways[place[0]], place[1]))
    wrong = ["a row" for line in schedule.lines if line.broken_at() is not None]
    for job in board.jobs:
        own = schedule.places[job.number]
        for ahead, least, most in job.before if own is not None else ():
            other = schedule.places[ahead]
            assert own is not None
            if other is None:
                wrong.append("what it waits for is left")
            elif not least <= own.start - other.end <= (most if most is not None else 10**9):
                wrong.append("too soon or too late after another")
    return schedule, wrong


@pytest.mark.parametrize("kind", PROBLEMS)
@pytest.mark.parametrize("workers", [2, 3])
def test_after_each_turn_all_stand_alike_on_a_plan_that_keeps_the_rules(kind: str, workers: int) -> None:
    changed = 0
    for seed in range(6 if kind != "farms" else 2):
        flat, states = _states(PROBLEMS[kind](seed), workers)
        states[0].rounds(kernel.run, 30)
        for state in states[1:]:
            state.columns[15][2 * len(flat.board.jobs) :] = _places_of(states[0])
            state.rounds(kernel.run, -1)
            assert state[kernel.N_MOVED]
        parts = Parts(flat, states, seed)
        for _ in range(8 if any(_stand(states[0])) else 0):
            before = _stand(states[0])
            parts.turn(kernel.run, 6, None)
            stand = _stand(states[0])
            assert all(_stand(state) == stand for state in states), seed
            schedule, wrong = _broken(flat, stand)
            assert wrong == [], seed
            assert {state[kernel.N_UNITS] for state in states} == {schedule.units}, seed
            changed += stand != before
    assert changed > 3


def _places_of(state: State) -> list[int]:
    return [value for place in _stand(state) for value in (place or (kernel.NONE, kernel.NONE))]


def test_a_worker_changes_nothing_outside_of_its_part() -> None:
    moved = 0
    for seed in range(4):
        flat, (state,) = _states(Farm(6, seed).problem, 1)
        state.rounds(kernel.run, 60)
        before = _stand(state)
        cut = flat.board.horizon // 2
        state[kernel.N_FROM] = cut
        X, n = state.columns[14], len(flat.board.jobs)
        left = [number for number in range(n) if before[number] is None]
        kept_left = left[: len(left) // 2]
        for number in kept_left:
            X[kernel.X_STAYS * n + number] = 1
        state.rounds(kernel.run, 80)
        after = _stand(state)
        for number, (old, new) in enumerate(zip(before, after, strict=True)):
            moved += old != new
            if old != new:
                starts = [flat.ways[way].options.starts[at] for way, at in (p for p in (old, new) if p)]
                assert min(starts) >= cut, seed
                assert number not in kept_left, seed
    assert moved > 5


def test_a_move_to_what_breaks_a_rule_is_not_made() -> None:
    refused = made = 0
    for seed in range(30):
        flat, (state,) = _states(random_problem(seed, tasks=9, horizon=90, step=3), 1)
        state.rounds(kernel.run, 20)
        rng = Random(seed)
        for _ in range(20):
            before, units = _stand(state), state[kernel.N_UNITS]
            wanted = list(before)
            job = rng.choice([job for job in flat.board.jobs if job.ways])
            way = rng.choice(job.ways)
            wanted[job.number] = (flat.way_no[id(way)], rng.randrange(len(way.options.starts)))
            state.columns[15][2 * len(before) :] = [value for place in wanted for value in place or (-1, -1)]
            state.rounds(kernel.run, -1)
            schedule, wrong = _broken(flat, wanted)
            if wrong or not schedule.is_sound():
                refused += 1
                assert not state[kernel.N_MOVED], seed
                assert (_stand(state), state[kernel.N_UNITS]) == (before, units), seed
            else:
                made += 1
                assert state[kernel.N_MOVED], seed
                assert (_stand(state), state[kernel.N_UNITS]) == (wanted, schedule.units), seed
    assert refused > 50
    assert made > 50


def test_a_search_in_parts_gives_the_same_plan_each_time_and_is_never_dearer_than_its_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(search_module, "IN_PARTS_FROM_JOBS", 0)
    turns: list[int] = []
    turn = Parts.turn
    monkeypatch.setattr(Parts, "turn", lambda *some: (turns.append(1), turn(*some))[1])
    board = Board(parse_problem(Farm(12, 4).problem))
    from_nothing = Search(Schedule(board, 10**15), Random(1), 2)
    begun = from_nothing.best[2]
    found = []
    for _ in range(2):
        search = Search(Schedule(board, 10**15), Random(1), 2)
        search.run(until=None, rounds=1500)
        found.append(search.best)
    assert turns, "it was searched in parts"
    assert found[0][0] == found[1][0]
    assert found[0][2] < begun
