"""What the exact model may claim."""

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import Clash, Plan, greedy, parse_problem
from scheduling.solver.board import Board
from scheduling.solver.cpsat import Model


@pytest.mark.parametrize("is_hinted", [True, False])
def test_a_proof_that_is_cut_short_claims_no_bound_above_a_known_plan(is_hinted: bool) -> None:
    schedule = greedy.construct(Board(parse_problem(Farm(6, 2).problem)))
    hint = schedule if is_hinted else None
    outcome = Model(schedule.board).solve(hint, seconds=None, work=1e-6, seed=1, workers=1)
    assert not outcome.proved
    assert outcome.bound_units is None or outcome.bound_units <= schedule.units


@pytest.mark.parametrize(("rule", "is_proved"), [("latest", True), ("seconds", False)])
def test_a_search_that_ran_out_of_time_has_proved_nothing(rule: str, is_proved: bool) -> None:
    plan = Plan("none", None, None, 1, None, why=(Clash(None, rule, "It says so."),))
    assert plan.is_proved_impossible is is_proved
