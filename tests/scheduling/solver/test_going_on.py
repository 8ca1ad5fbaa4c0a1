"""Going on from a plan that is there: what has no reason to move stays, and more warmth only where there is time."""

from random import Random

import pytest

from farmops.bench.plan_anew import STILL, after_rain, had_to_at_least, passes_changed
from farmops.bench.plan_farms import Farm
from scheduling.solver import check, greedy, parse_problem, solve
from scheduling.solver.board import Board
from scheduling.solver.compare import compare
from scheduling.solver.search import LEAST_WARMTH, Search
from scheduling.solver.starting import schedule_from

pytestmark = pytest.mark.long


def test_after_a_wet_half_day_going_on_moves_less_than_planning_from_nothing() -> None:
    problem = parse_problem(Farm(12, 1).problem)
    sent = solve(problem, seconds=1, rounds=2000)
    wet = after_rain(problem, sent)
    anew = solve(wet, seconds=1, rounds=1000, start=sent)
    assert check(wet, anew).violations == ()
    compared = compare(problem, sent, wet, anew)
    assert 0 < had_to_at_least(wet, sent) <= compared.had_to <= compared.changed
    nothing = solve(wet, seconds=1, rounds=1000)
    assert compared.changed < passes_changed(sent, nothing)
    assert anew.cost is not None
    assert nothing.cost is not None
    assert anew.cost < nothing.cost
    # No more than twice the fewest that a plan can change, as far as the planner can tell.
    dear = after_rain(problem, sent, prices=STILL)
    still = solve(dear, seconds=1, rounds=1000, start=sent)
    assert compared.changed <= 2 * passes_changed(sent, still)


def test_a_price_of_change_above_any_plan_makes_no_search_warmer() -> None:
    problem = parse_problem(Farm(16, 1).problem)
    sent = solve(problem, seconds=1, rounds=50)
    wet = after_rain(problem, sent)
    assert max(task.was.change_cents for task in wet.tasks if task.was is not None) > 10**6
    scales = [Search(greedy.empty(Board(one)), Random(1)).scale for one in (problem, wet)]
    assert scales[1] < 2 * scales[0]


def test_a_search_goes_on_from_the_sent_plan_even_where_another_is_cheaper_at_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = parse_problem(Farm(12, 1).problem)
    sent = solve(problem, seconds=1, rounds=50)
    wet = after_rain(problem, sent)
    cheap = solve(wet, seconds=1, rounds=600)
    monkeypatch.setattr(greedy, "construct", lambda board: schedule_from(board, cheap))
    anew = solve(wet, seconds=1, rounds=1, start=sent)
    assert cheap.cost is not None
    assert anew.cost is not None
    assert cheap.cost < anew.cost
    assert passes_changed(sent, anew) < passes_changed(sent, cheap)


def test_a_search_with_more_rounds_a_task_begins_warmer() -> None:
    search = Search(greedy.construct(Board(parse_problem(Farm(5, 1).problem))), Random(1))
    warmths = [search._warmest(rounds) for rounds in (1, 10_000, 100_000)]
    assert warmths[0] == LEAST_WARMTH
    assert warmths == sorted(warmths)
    assert warmths[1] < warmths[2]
