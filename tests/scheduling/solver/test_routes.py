"""The networks of routes, their bound and the proof by cases, against everything tried and against each other."""

from typing import Any

import numpy as np
import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import cost, greedy, parse_problem
from scheduling.solver.board import Board
from scheduling.solver.branching import Branching
from scheduling.solver.cpsat import Model
from scheduling.solver.follow import Follow
from scheduling.solver.routes import Judged, Open, Routes
from scheduling.solver.routes_lp import solved
from scheduling.solver.schedule import Schedule
from scheduling.solver.standing import restrict, variants
from scheduling.solver.symmetry import mirrored_pairs
from scheduling.solver.timeline import UNITS_PER_CENT
from tests.scheduling.solver.test_proving import twinned
from tests.scheduling.solver.tiny import try_everything

pytestmark = pytest.mark.long

HALF_CENT = UNITS_PER_CENT // 2


def _board(raw: dict[str, Any]) -> Board | None:
    base = Board(parse_problem(raw))
    choices = variants(base)
    return restrict(base, choices[0]) if len(choices) == 1 else None


def _cases(seeds: range) -> Any:
    """Yield boards of small random problems with a plan for each, and what everything tried finds."""
    for seed in seeds:
        raw = twinned(seed, tasks=2 + seed % 2)
        board = _board(raw)
        if board is None:
            continue
        schedule = greedy.construct(board)
        if schedule.units < greedy.MUST_UNITS and schedule.is_sound():
            yield seed, board, schedule, try_everything(parse_problem(raw))


def _above(routes: Routes, judged: Judged, schedule: Schedule) -> int:
    """Return what the choices of a plan lie above the bound, the dearest of each chain."""
    by_chain: dict[int, int] = {}
    for number, place in enumerate(schedule.places):
        if place is None:
            above = judged.left[number]
        else:
            a, z = routes.span[number]
            kind = routes.kind_of[number, routes.layout.key(place.way)]
            here = (routes.kind[a:z] == kind) & (routes.start[a:z] == place.start)
            above = int(judged.choices[a:z][here][0])
        root = routes.root[number]
        by_chain[root] = max(above, by_chain.get(root, 0))
    return sum(by_chain.values())


def test_no_potentials_whatever_make_a_bound_above_the_cheapest_plan() -> None:
    judged_plans = 0
    for seed, board, schedule, cheapest in _cases(range(80)):
        routes = Routes(board)
        rng = np.random.default_rng(seed)
        for most in (0, 10**6, 10**9):
            wanted = [rng.integers(0, most + 1, net.nodes) for net in routes.nets]
            judged = routes.judge(routes.everything(), wanted)
            assert judged.units <= cheapest * UNITS_PER_CENT + HALF_CENT, seed
            # A plan costs the bound and on top what its choices stand above the cheapest.
            assert judged.units + _above(routes, judged, schedule) <= schedule.units, seed
            judged_plans += 1
    assert judged_plans > 100


def test_what_the_program_finds_is_sharper_and_still_no_more_than_the_cheapest_plan() -> None:
    sharper = 0
    for seed, board, _, cheapest in _cases(range(60)):
        routes = Routes(board)
        free = routes.judge(routes.everything(), [np.zeros(net.nodes, dtype=np.int64) for net in routes.nets])
        found = solved(routes, routes.everything(), seconds=None)
        assert found is not None
        judged = routes.judge(routes.everything(), found.potentials)
        assert judged.units <= cheapest * UNITS_PER_CENT + HALF_CENT, seed
        sharper += judged.units > free.units
    assert sharper > 5


def test_the_cheapest_plan_is_among_the_choices_and_neighbors_that_are_kept() -> None:
    kept = 0
    for seed, board, schedule, cheapest in _cases(range(60, 130)):
        routes = Routes(board)
        open_ = routes.everything()
        found = solved(routes, open_, seconds=None)
        if found is None:
            assert len(routes.job) < 3  # nothing is left to solve, so there are no potentials
            continue
        judged = routes.judge(open_, found.potentials)
        room = schedule.units - judged.units
        branching = _branching(board, schedule)
        follow = Follow(routes, judged, room)
        small = branching.part(routes, routes.narrowed(open_, judged, room))
        model = Model(small, follow.can)
        outcome = model.solve(None, seconds=None, work=5.0, seed=1, workers=1)
        assert outcome.proved, seed
        assert outcome.places is not None, seed
        units = greedy.schedule_of(small, outcome.places).units
        assert cost.cents(units) == cheapest, seed
        kept += 1
    assert kept > 25


def _branching(board: Board, schedule: Schedule, cases: int | None = None) -> Branching:
    return Branching(board, schedule, workers=1, seed=1, until=None, most_cases=cases, stop=None)


def test_the_proof_by_cases_ends_at_what_everything_tried_finds() -> None:
    proved = better = 0
    for seed, board, schedule, cheapest in _cases(range(130, 220)):
        nothing_done = greedy.empty(board)
        begin = nothing_done if nothing_done.units < greedy.MUST_UNITS else schedule
        proof = _branching(board, begin).run(0)
        assert proof.bound_units == proof.units, seed
        assert cost.cents(proof.units) == cheapest, seed
        assert greedy.schedule_of(board, proof.places).units == proof.units
        better += proof.units < begin.units
        proved += 1
    assert proved > 30
    assert better > 15


@pytest.mark.parametrize("cases", [1, 3])
def test_a_proof_that_is_broken_off_claims_no_more_than_it_has(
    cases: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # With no small case left to the exact model, only splitting settles one.
    monkeypatch.setattr("scheduling.solver.branching.LEAF_CHOICES", 0)
    board = _board(Farm(2, 5, days=3).problem)
    assert board is not None
    schedule = greedy.construct(board)
    whole = _branching(board, schedule).run(0)
    assert whole.bound_units == whole.units
    part = _branching(board, schedule, cases).run(0)
    assert part.cases <= cases
    assert part.bound_units <= whole.units <= part.units


def test_disks_with_setups_of_their_own_can_change_places() -> None:
    board = _board(Farm(5, 3).problem)
    assert board is not None
    ids = [resource.id for resource in board.problem.resources]
    assert [(ids[a], ids[b]) for a, b in mirrored_pairs(board)] == [("disk-0", "disk-1")]
    raw = Farm(5, 3).problem
    mode = next(mode for task in raw["tasks"] for mode in task["modes"] if "disk-1" in mode["resources"])
    mode["cents"] += 1
    other = _board(raw)
    assert other is not None
    assert mirrored_pairs(other) == []


def test_what_is_closed_is_neither_chosen_nor_bounded_by() -> None:
    board = _board(Farm(2, 4).problem)
    assert board is not None
    routes = Routes(board)
    everything = routes.everything()
    zeros = [np.zeros(net.nodes, dtype=np.int64) for net in routes.nets]
    nothing = Open(np.zeros_like(everything.choices), everything.arcs, everything.left)
    left = sum(job.left_units or 0 for job in board.jobs)
    assert routes.judge(nothing, zeros).units == left
    assert routes.judge(everything, zeros).units < left


@pytest.mark.parametrize("finds_plans_on_the_way", [True, False])
def test_splitting_alone_ends_at_what_the_exact_model_finds(
    finds_plans_on_the_way: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.solver.branching.LEAF_CHOICES", 0)
    if not finds_plans_on_the_way:
        monkeypatch.setattr(Branching, "_support", lambda *_: None)
    cases = 0
    for seed in (1, 2, 5, 7):
        board = _board(Farm(2, seed, days=2).problem)
        assert board is not None
        begin = greedy.construct(board)
        model = Model(board).solve(begin, seconds=None, work=20.0, seed=1, workers=1)
        assert model.proved
        assert model.places is not None
        proof = _branching(board, begin).run(0)
        assert proof.bound_units == proof.units == greedy.schedule_of(board, model.places).units, seed
        assert greedy.schedule_of(board, proof.places).units == proof.units
        cases += proof.cases
    assert cases > 4


def test_a_plan_found_on_the_way_is_not_lost_when_the_exact_model_finds_nothing_cheaper() -> None:
    board = _board(Farm(2, 7, days=2).problem)
    assert board is not None
    schedule = greedy.construct(board)
    routes = Routes(board)
    plan = (board, list(schedule.places))
    looked = _branching(board, schedule)._last(routes, routes.everything(), None, 1, plan)
    assert not looked.is_open
    assert looked.places == plan
