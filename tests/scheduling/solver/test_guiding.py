"""Rounds by prices: a start is dearer by the hours of scarce resources that it holds, and the plan's cost knows nothing of it."""

from random import Random
from typing import Any

import numpy as np
import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import check, compiled, greedy, kernel, parse_problem, solve, to_json
from scheduling.solver import search as search_module
from scheduling.solver.board import Board
from scheduling.solver.flat import Flat, State, next_less
from scheduling.solver.guiding import WEIGHT, starts_at_prices
from scheduling.solver.lagrange import POINTS_A_STEP, Priced
from scheduling.solver.proving import best_prices
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.search import Search
from tests.scheduling.solver.example import PROBLEM
from tests.scheduling.solver.tiny import random_problem


def farm_priced(fields: int, seed: int) -> tuple[Board, Priced]:
    board = Board(parse_problem(Farm(fields, seed).problem))
    schedule = greedy.construct(board)
    priced = best_prices(board, schedule.units, rounds=100)
    assert priced is not None
    assert priced.prices.any()
    return board, priced


def test_a_start_costs_at_prices_what_it_holds_on_top_by_the_mean_of_the_ways_that_share_it() -> None:
    board, priced = farm_priced(8, 3)
    flat = Flat(board)
    units, less = starts_at_prices(flat, priced)
    group_of = {number: i for i, members in enumerate(priced.chains.groups) for number in members}
    step, dearer = board.problem.step, 0
    rng = Random(1)
    for way in rng.sample(flat.ways, 40):
        options, at = way.options, flat.starts_at[id(way.options)][0]
        sharing = [other for other in flat.ways if other.options is options]
        for i in rng.sample(range(len(options.starts)), min(6, len(options.starts))):
            points = range(
                options.starts[i] * POINTS_A_STEP // step, -(-options.ends[i] * POINTS_A_STEP // step)
            )
            held = sum(
                int(priced.prices[group_of[number]][point])
                for other in sharing
                for number in other.resources
                if number in group_of
                for point in points
            )
            assert abs(int(units[at + i]) - options.units[i] - WEIGHT * held / len(sharing)) <= 1
            dearer += held > 0
        shown = units[at : at + len(options.starts)].tolist()
        for i, ahead in enumerate(less[at : at + len(options.starts)].tolist()):
            cheaper = [j for j in range(i + 1, len(shown)) if shown[j] < shown[i]]
            assert ahead == (cheaper[0] - i if cheaper else 0)
    assert dearer > 20


def test_a_round_by_prices_puts_a_job_into_unpriced_hours_and_counts_what_it_costs_without_them() -> None:
    board = Board(parse_problem(PROBLEM))
    flat = Flat(board)
    state = State(flat, seed=1, scale_units=1000)
    state.load([None] * len(board.jobs))
    state.suit(compiled=False)
    state[kernel.N_BLINK] = 0
    job = next(job for job in board.jobs if not job.before and job.ways)
    N, J, P, W, V, E, U, A, R, D, C, S, G, K, _, _, _ = state.columns

    def place(limit: int = kernel.MOST) -> tuple[int, int, int]:
        total = kernel.insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, job.number, limit)
        return total, N[kernel.N_WAY], N[kernel.N_AT]

    plain = place()
    begin, options = flat.starts_at[id(flat.ways[plain[1]].options)][0], flat.ways[plain[1]].options
    units = flat.U[: flat.starts].copy()
    units[:] += 10**9
    last = begin + len(options.starts) - 1
    units[last] -= 10**9 - 10**6
    less = np.array(
        [max(0, last - i) if begin <= i <= last else 0 for i in range(flat.starts)], dtype=np.int32
    )
    state.take_prices(units, less)
    assert place() == plain  # this round does not go by them
    N[kernel.N_BY_PRICES] = 1
    total, way, at = place()
    assert flat.ways[way].options is options
    assert begin + at == last
    schedule = Schedule(board, flat.must_units)
    before = schedule.units
    schedule.put(job.number, Place(flat.ways[way], at))
    assert total == schedule.units - before + schedule.left_units[job.number]
    assert total > plain[0]
    assert place(total + 1) == (total, way, at)


def every_place(state: State, job: int) -> list[tuple[int, int]]:
    """Return (units, units at prices) of every place that a job may take in the plan as it stands."""
    N, J, P, W, V, E, U, A, R, D, C, S, _, _, _, _, _ = state.columns
    found = []
    for way in range(J[job * kernel.J_SIZE + kernel.J_WAYS], J[job * kernel.J_SIZE + kernel.J_WAYS_END]):
        begin = W[way * kernel.W_SIZE + kernel.W_STARTS]
        for at in range(W[way * kernel.W_SIZE + kernel.W_COUNT]):
            before = N[kernel.N_UNITS]
            kernel.put(N, J, P, W, V, E, U, R, D, S, job, way, at)
            rows = range(len(state.flat.board.roads))
            fits = kernel.in_order(J, P, A, job)
            if fits and all(kernel.row_fits(N, R, D, C, S, row) for row in rows):
                units = N[kernel.N_UNITS] - before + J[job * kernel.J_SIZE + kernel.J_LEFT]
                found.append((units, units - U[begin + at] + U[state.flat.starts + begin + at]))
            kernel.take(N, J, P, W, V, U, R, D, S, job)
    return found


def test_a_round_by_prices_finds_the_place_that_is_cheapest_at_them_of_all() -> None:
    placed = other_than_cheapest = 0
    tiny = [random_problem(seed, tasks=6, horizon=60, step=4) for seed in range(120)]
    for seed, raw in enumerate([*tiny, *(Farm(fields, fields - 1).problem for fields in (2, 3))]):
        rng = Random(seed)
        board = Board(parse_problem(raw))
        if any(job.holds for job in board.jobs):
            continue  # what is fixed bounds others while it is left
        flat = Flat(board)
        state = State(flat, seed=1, scale_units=1000)
        state.load([None] * len(board.jobs))
        state.suit(compiled=False)
        state[kernel.N_BLINK] = 0
        most = max(1, int(flat.U.max()) // (1 if len(board.jobs) == 6 else 200))
        units = flat.U[: flat.starts] + np.array([rng.randrange(most) for _ in range(flat.starts)])
        less = np.zeros(flat.starts, dtype=np.int32)
        for way in flat.ways:
            begin = flat.starts_at[id(way.options)][0]
            part = slice(begin, begin + len(way.options.starts))
            less[part] = next_less(units[part].tolist())
        state.take_prices(units, less)
        state[kernel.N_BY_PRICES] = 1
        N, J, P, W, V, E, U, A, R, D, C, S, G, K, _, _, _ = state.columns
        for number in board.order:
            if any(
                P[before * kernel.P_SIZE + kernel.P_WAY] < 0 for before, _, _ in board.jobs[number].before
            ):
                continue
            places = every_place(state, number)
            total = kernel.insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, number, kernel.MOST)
            if not places:
                assert total == kernel.FAR, seed
                continue
            cheapest = min(at_prices for _, at_prices in places)
            assert total in [units for units, at_prices in places if at_prices == cheapest], seed
            other_than_cheapest += total > min(units for units, _ in places)
            placed += 1
            kernel.put(N, J, P, W, V, E, U, R, D, S, number, N[kernel.N_WAY], N[kernel.N_AT])
    assert placed > 60
    assert other_than_cheapest > 10


def test_prices_change_the_plans_that_are_found_and_not_what_they_cost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = parse_problem(Farm(12, 5).problem)
    told: list[bool] = []
    go_by = Search.go_by

    def listening(self: Search, priced: Priced) -> None:
        told.append(True)
        go_by(self, priced)

    monkeypatch.setattr(Search, "go_by", listening)
    monkeypatch.setattr("scheduling.solver.solving.FEWEST_ROUNDS_BY_PRICES", 1)
    monkeypatch.setattr("scheduling.solver.solving._may_be_in_reach", lambda _board: False)
    plans = [solve(problem, seconds=1, rounds=400, seed=3) for _ in range(2)]
    assert len(told) >= 2
    assert to_json(plans[0]) == to_json(plans[1])
    assert check(problem, plans[0]).violations == ()
    assert plans[0].cost == check(problem, plans[0]).cost
    monkeypatch.setattr(Search, "go_by", lambda _self, _priced: None)
    assert to_json(solve(problem, seconds=1, rounds=400, seed=3)) != to_json(plans[0])


def test_plain_and_compiled_rounds_by_prices_leave_the_same_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    compiled.begin()
    assert compiled.is_loaded_within(240)
    board, priced = farm_priced(8, 3)
    found: list[Any] = []
    for run in (compiled.run_now(), kernel.run):
        monkeypatch.setattr(search_module.compiled, "run_now", lambda run=run: run)
        search = Search(greedy.construct(board), Random(4))
        search.go_by(priced)
        search.run(until=None, rounds=400)
        found.append((search.best[2], [place and (id(place.way), place.at) for place in search.best[0]]))
    assert found[0] == found[1]
