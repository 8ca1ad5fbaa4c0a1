"""The kernel counts as `Schedule` does, plain and compiled alike, and finds plans that are hard to find."""

import json
import os
import subprocess
import sys
from pathlib import Path
from random import Random
from typing import Any

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import check, compiled, greedy, kernel, parse_problem, solve, to_json
from scheduling.solver import search as search_module
from scheduling.solver.board import Board
from scheduling.solver.cpsat import Model
from scheduling.solver.flat import Flat, State
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.search import Search
from tests.scheduling.solver.shapes import SHAPES, draw
from tests.scheduling.solver.tight import tight_problem
from tests.scheduling.solver.tiny import random_problem

ROOT = Path(__file__).parents[3]
FEW_PLANS = """
import json
from farmops.bench.plan_farms import Farm
from scheduling.solver import compiled, parse_problem, search, solve, to_json
search.IN_PARTS_FROM_JOBS = 0
plan = solve(parse_problem(Farm(12, 4).problem), seconds=1, rounds=180, seed=9, workers=2)
print(json.dumps([compiled.is_available(), to_json(plan)]))
"""


def _state(problem: dict[str, Any], seed: int = 1) -> State:
    state = State(Flat(Board(parse_problem(problem))), seed=seed, scale_units=1000)
    state.load([None] * len(problem["tasks"]))
    state.suit(compiled=False)
    state[kernel.N_BLINK] = 0
    return state


def _crooked(raw: dict[str, Any], rng: Random) -> dict[str, Any]:
    """Give the problem roads on which a detour can be shorter."""
    size = range(len(raw["places"]))
    raw["road_minutes"] = [[0 if i == j else rng.choice([0, 1, 9]) for j in size] for i in size]
    return raw


PROBLEMS: dict[str, Any] = {
    "every key": lambda seed: random_problem(seed, tasks=7, horizon=60, step=4),
    "short cuts": lambda seed: _crooked(random_problem(seed, tasks=7, horizon=60, step=3), Random(seed)),
    "long days": lambda seed: random_problem(seed, tasks=12, horizon=400, step=8),
    "farms": lambda seed: Farm(3 + seed % 5, seed).problem,
}


@pytest.mark.parametrize("kind", PROBLEMS)
def test_putting_in_and_taking_out_costs_the_same_in_the_kernel_as_in_the_schedule(kind: str) -> None:
    fits = refused = 0
    for seed in range(40 if kind != "farms" else 6):
        state, rng = _state(PROBLEMS[kind](seed)), Random(seed)
        N, J, P, W, V, E, U, A, R, D, C, S, G, K, _, _, _ = state.columns
        board = state.flat.board
        schedule = Schedule(board, state.flat.must_units)
        assert state.flat.shift == 0
        for _ in range(80):
            job = board.jobs[rng.randrange(len(board.jobs))]
            if schedule.places[job.number] is not None:
                if any(schedule.places[behind] is not None for behind, _, _ in job.behind):
                    continue
                schedule.take(job.number)
                kernel.take(N, J, P, W, V, U, R, D, S, job.number)
            else:
                limit = rng.choice([kernel.MOST, schedule.left_units[job.number]])
                found = schedule.best_insertion(job, limit)
                total = kernel.insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, job.number, limit)
                assert (kernel.FAR if found is None else found[0]) == total, seed
                if found is None:
                    refused += 1
                    continue
                fits += 1
                place = Place(state.flat.ways[N[kernel.N_WAY]], N[kernel.N_AT])
                assert (place.way, place.at) == (found[1].way, found[1].at), seed
                schedule.put(job.number, place)
                kernel.put(N, J, P, W, V, E, U, R, D, S, job.number, N[kernel.N_WAY], N[kernel.N_AT])
            assert N[kernel.N_UNITS] == schedule.units, seed
            assert kernel.is_sound(N, J, P, W, A, R, D, C, S) == schedule.is_sound(), seed
    assert fits > 100
    assert refused > 10


@pytest.mark.parametrize("kind", PROBLEMS)
def test_after_each_round_rows_hold_and_costs_add_up(kind: str) -> None:
    for seed in range(12 if kind != "farms" else 3):
        state = _state(PROBLEMS[kind](seed), seed)
        board = state.flat.board
        state[kernel.N_WARMTH] = 10**10
        for _ in range(25):
            kernel.run(*state.columns, 1)
            P, J = state.columns[2], state.columns[1]
            schedule = Schedule(board, state.flat.must_units)
            for number in board.order:
                way, at = P[number * kernel.P_SIZE], P[number * kernel.P_SIZE + 1]
                if way >= 0:
                    schedule.put(number, Place(state.flat.ways[way], at))
                elif board.jobs[number].left_units is None:
                    # What must be done weighs more, the longer it is left.
                    schedule.units += J[number * kernel.J_SIZE + kernel.J_LEFT] - schedule.left_units[number]
            assert all(line.broken_at() is None for line in schedule.lines), seed
            assert state[kernel.N_UNITS] == schedule.units, seed


class _Strict(list[int]):
    """A list that has nothing before its beginning; the compiled kernel asks nobody whether there is."""

    def __getitem__(self, index: Any) -> Any:
        if index < 0:
            raise IndexError(index)
        return super().__getitem__(index)

    def __setitem__(self, index: Any, value: Any) -> None:
        if isinstance(index, int) and index < 0:
            raise IndexError(index)
        super().__setitem__(index, value)


@pytest.mark.parametrize("shape", SHAPES)
def test_the_kernel_reads_and_writes_nothing_outside_its_lists(shape: str) -> None:
    done = 0
    for seed in range(4):
        state = _state(draw(shape, seed, tasks=4 + seed, horizon=24 + 24 * (seed % 3), step=3), seed)
        state.columns = [_Strict(column) for column in state.columns]
        state[kernel.N_BLINK], state[kernel.N_WARMTH] = 4, 10**10
        kernel.run(*state.columns, 60)
        done += state[kernel.N_ROUNDS]
    assert done == 240


def test_the_kernel_keeps_within_its_lists_on_a_farm() -> None:
    state = _state(Farm(10, 3).problem)
    state.columns = [_Strict(column) for column in state.columns]
    state[kernel.N_BLINK], state[kernel.N_WARMTH] = 16, 10**10
    kernel.run(*state.columns, 300)
    assert state[kernel.N_BEST_MUST] == 0


@pytest.mark.parametrize("kind", PROBLEMS)
def test_compiled_and_plain_rounds_leave_the_same_lists(kind: str) -> None:
    compiled.begin()
    assert compiled.is_loaded_within(240)
    assert compiled.run_now() is not kernel.run
    for seed in range(3):
        plain, fast = (_state(PROBLEMS[kind](seed), seed) for _ in range(2))
        fast.suit(compiled=True)
        for state, run in ((plain, kernel.run), (fast, compiled.run_now())):
            state[kernel.N_BLINK], state[kernel.N_WARMTH] = 16, 10**8
            run(*state.columns, 150)
        fast.suit(compiled=False)
        own = (0, 1, 2, -2)  # numbers, jobs, where they stand, the best
        assert [plain.columns[i] for i in own] == [fast.columns[i] for i in own], seed


def _plan_in_a_child(**environment: str) -> tuple[bool, dict[str, Any]]:
    done = subprocess.run(
        [sys.executable, "-c", FEW_PLANS],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    has_compiler, plan = json.loads(done.stdout)
    return has_compiler, plan


ONLY_LOADED = """
import sys
from scheduling.solver import compiled
compiled.begin()
assert compiled.is_loaded_within(20)
print("numba" in sys.modules)
"""


def test_who_plans_loads_what_was_compiled_without_the_compiler() -> None:
    compiled.begin()
    assert compiled.is_loaded_within(240)
    command = [sys.executable, "-c", ONLY_LOADED]
    assert subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout == "False\n"


def test_a_file_of_compiled_code_that_is_not_whole_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compiled.begin()
    assert compiled.is_loaded_within(240)
    whole = compiled.compile_here()
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    (tmp_path / whole.name).write_bytes(whole.read_bytes()[:-1])
    assert compiled.kept() == compiled.kept_in(whole)
    assert compiled.kept_in(tmp_path / whole.name) is None


def test_without_the_compiler_the_same_plan_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search_module, "IN_PARTS_FROM_JOBS", 0)
    compiled.begin()
    assert compiled.is_loaded_within(240)
    problem = parse_problem(Farm(12, 4).problem)
    has_compiler, plan = _plan_in_a_child(NUMBA_DISABLE_JIT="1")
    assert not has_compiler
    assert to_json(solve(problem, seconds=1, rounds=180, seed=9, workers=2)) == plan


def test_workers_share_what_they_find_and_give_the_same_plan_each_time() -> None:
    problem = parse_problem(Farm(9, 2).problem)
    plans = [solve(problem, seconds=1, rounds=120, workers=2) for _ in range(2)]
    assert to_json(plans[0]) == to_json(plans[1])
    assert check(problem, plans[0]).violations == ()


@pytest.mark.parametrize("seed", [1, 2])
def test_a_tight_week_in_which_all_must_be_done_gets_a_plan(seed: int) -> None:
    """The problem is cut around a plan of which the solver sees nothing, so that there is one."""
    problem = parse_problem(tight_problem(seed, tasks=45))
    assert greedy.construct(Board(problem)).units >= greedy.MUST_UNITS
    plan = solve(problem, seconds=5, rounds=4000)
    assert plan.status in ("good", "best")
    assert check(problem, plan).violations == ()
    assert len(plan.tasks) == 45


def test_costs_beyond_what_a_machine_number_holds_are_still_exact() -> None:
    raw = Farm(5, 3).problem
    for task in raw["tasks"]:
        task["leave_cents"] = None if task["operation"] == "disk" else 9 * 10**10
        for mode in task["modes"]:
            mode["cents"] += 5 * 10**10
    problem = parse_problem(raw)
    assert Flat(Board(problem)).shift > 0
    plan = solve(problem, seconds=1, rounds=60)
    assert plan.cost == check(problem, plan).cost
    assert plan.cost is not None
    assert plan.cost % 10**10 < 10**9


def test_a_chain_that_must_follow_soon_is_placed_as_cheaply_as_by_the_exact_model() -> None:
    """Each job of a chain must begin soon after the one before it: all of them have to move together."""
    compared = 0
    for seed in range(100, 130):
        board = Board(parse_problem(draw("gaps", seed, tasks=3 + seed % 2, step=3 + seed % 2)))
        exact = Model(board).solve(None, seconds=None, work=10, seed=1, workers=1)
        if exact.places is None:
            continue
        assert exact.proved
        search = Search(greedy.construct(board), Random(1))
        search.run(until=None, rounds=300)
        assert search.is_complete, seed
        assert search.best[2] == exact.bound_units, seed
        compared += 1
    assert compared > 15
