"""What the exact model may claim."""

import pytest

from scheduling.solver import greedy, parse_problem
from scheduling.solver.board import Board
from scheduling.solver.cpsat import Model
from tests.scheduling.solver.farms import Farm


@pytest.mark.parametrize("is_hinted", [True, False])
def test_a_proof_that_is_cut_short_claims_no_bound_above_a_known_plan(is_hinted: bool) -> None:
    schedule = greedy.construct(Board(parse_problem(Farm(6, 2).problem)))
    hint = schedule if is_hinted else None
    outcome = Model(schedule.board).solve(hint, seconds=None, work=1e-6, seed=1, workers=1)
    assert not outcome.proved
    assert outcome.bound_units is None or outcome.bound_units <= schedule.units
