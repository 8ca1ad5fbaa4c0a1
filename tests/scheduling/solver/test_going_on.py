"""Going on from a plan that is there: what has no reason to move stays, and more warmth only where there is time."""

from random import Random

from farmops.bench.plan_anew import after_rain, had_to_at_least
from farmops.bench.plan_farms import Farm
from scheduling.solver import check, greedy, parse_problem, solve
from scheduling.solver.board import Board
from scheduling.solver.compare import compare
from scheduling.solver.search import LEAST_WARMTH, Search


def test_after_a_wet_half_day_going_on_moves_less_than_planning_from_nothing() -> None:
    moved = afresh = 0
    for seed in (1, 4):
        problem = parse_problem(Farm(16, seed).problem)
        sent = solve(problem, seconds=1, rounds=3000)
        wet = after_rain(problem, sent)
        anew = solve(wet, seconds=1, rounds=1500, start=sent)
        assert check(wet, anew).violations == ()
        compared = compare(problem, sent, wet, anew)
        assert 0 < had_to_at_least(wet, sent) <= compared.had_to <= compared.changed
        moved += compared.changed
        afresh += compare(problem, sent, wet, solve(wet, seconds=1, rounds=1500)).changed
    assert moved < afresh


def test_a_search_with_more_rounds_a_task_begins_warmer() -> None:
    search = Search(greedy.construct(Board(parse_problem(Farm(5, 1).problem))), Random(1))
    warmths = [search._warmest(rounds) for rounds in (1, 10_000, 100_000)]
    assert warmths[0] == LEAST_WARMTH
    assert warmths == sorted(warmths)
    assert warmths[1] < warmths[2]
