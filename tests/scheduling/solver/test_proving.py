"""Bounds by prices, trimming and the exact model with classes of alike resources, against everything tried."""

import re
from copy import deepcopy
from typing import Any

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import cost, greedy, parse_problem, proving
from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.cpsat import Model
from scheduling.solver.lagrange import priced, scarce_groups
from scheduling.solver.proving import QUICK_STEPS, best_prices, prove, sharper_prices
from scheduling.solver.schedule import Schedule
from scheduling.solver.standing import restrict, variants
from scheduling.solver.symmetry import classes_of
from scheduling.solver.timeline import UNITS_PER_CENT
from scheduling.solver.trimming import translated, trimmed
from tests.scheduling.solver.tiny import random_problem, try_everything


def twinned(seed: int, tasks: int = 3) -> dict[str, Any]:
    """Return a random problem in which the first resource has a twin that can do all that it can."""
    problem = random_problem(seed, tasks=tasks)
    problem["resources"].append({**deepcopy(problem["resources"][0]), "id": "twin"})
    for task in problem["tasks"]:
        for mode in list(task["modes"]):
            if "r0" in mode["resources"]:
                names = [re.sub("^r0$", "twin", name) for name in mode["resources"]]
                task["modes"].append({**deepcopy(mode), "id": mode["id"] + "t", "resources": names})
    return problem


def _whole(board: Board, places: list[Any]) -> Schedule:
    schedule = Schedule(board, greedy.MUST_UNITS)
    for number in board.order:
        if places[number] is not None:
            schedule.put(number, places[number])
    return schedule


def _judged(seeds: range) -> Any:
    """Yield boards with one variant and a plan, the plan that construction alone finds, and the cheapest cost."""
    for seed in seeds:
        raw = twinned(seed, tasks=2 + seed % 2)
        problem = parse_problem(raw)
        base = Board(problem)
        choices = variants(base)
        board = restrict(base, choices[0])
        schedule = greedy.construct(board)
        if len(choices) == 1 and schedule.units < greedy.MUST_UNITS and schedule.is_sound():
            yield seed, board, schedule, try_everything(problem)


@pytest.mark.long
def test_no_price_and_no_trimming_loses_the_cheapest_plan() -> None:
    judged = fewer = sharper = 0
    for seed, board, schedule, cheapest in _judged(range(150)):
        half = UNITS_PER_CENT // 2
        for is_fine in (True, False):
            found = priced(board, scarce_groups(board, is_fine=is_fine), schedule.units, steps=40)
            if found is None:  # nothing can be started at all
                break
            assert found.units <= cheapest * UNITS_PER_CENT + half, seed
        if found is None:
            continue
        sharper += found.units > lower_bound(board)
        small, follow = trimmed(board, found, schedule.units)
        kept = translated(schedule.places, small)
        assert kept is not None, seed
        outcome = Model(small, follow.can).solve(None, seconds=None, work=5.0, seed=1, workers=1)
        assert outcome.proved, seed
        assert outcome.places is not None, seed
        back = translated(outcome.places, board)
        assert back is not None, seed
        assert cost.cents(_whole(board, back).units) == cheapest, seed
        judged += 1
        count = [sum(len(way.options.starts) for job in b.jobs for way in job.ways) for b in (board, small)]
        fewer += count[1] < count[0]
    assert judged > 60
    assert fewer > judged // 2
    assert sharper >= 5


def test_what_is_proved_is_the_cheapest_of_all_with_alike_resources_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(proving, "FEWEST_TO_PRICE", 1)
    alike = 0
    for seed, board, schedule, cheapest in _judged(range(200, 280)):
        outcome = prove(board, schedule, seconds=None, work=5.0, seed=1, workers=1)
        assert outcome is not None, seed
        assert outcome.proved, seed
        assert outcome.places is not None, seed
        whole = _whole(board, outcome.places)
        assert whole.is_sound(), seed
        assert all(line.broken_at() is None for line in whole.lines), seed
        assert cost.cents(whole.units) == cheapest, seed
        alike += any(len(group) > 1 for group in classes_of(board))
    assert alike > 20


def test_a_plan_is_found_without_a_hint_or_it_is_proved_that_there_is_none() -> None:
    answers = set()
    for seed in range(300, 340):
        problem = parse_problem(twinned(seed, tasks=2))
        base = Board(problem)
        choices = variants(base)
        if len(choices) > 1:
            continue
        board = restrict(base, choices[0])
        outcome = prove(board, None, seconds=None, work=5.0, seed=1, workers=1)
        cheapest = try_everything(problem)
        assert outcome is not None
        assert outcome.proved, seed
        assert (outcome.places is None) == (cheapest is None), seed
        answers.add(cheapest is None)
        if outcome.places is not None:
            assert cost.cents(_whole(board, outcome.places).units) == cheapest, seed
    assert answers == {True, False}


def farm_board(fields: int, seed: int) -> Board:
    base = Board(parse_problem(Farm(fields, seed).problem))
    return restrict(base, variants(base)[0])


def test_prices_say_more_than_the_parts_where_outfits_are_short() -> None:
    board = farm_board(12, 9)
    by_parts = lower_bound(board)
    prices = best_prices(board, by_parts * 2)
    assert prices is not None
    assert prices.units > by_parts * 11 // 10


def test_prices_for_a_search_come_soon_and_then_sharper_and_their_bounds_hold() -> None:
    board = farm_board(12, 9)
    plan = greedy.construct(board)
    asked = 0

    def not_yet() -> bool:
        nonlocal asked
        asked += 1
        return False

    given = []
    for prices in sharper_prices(board, plan.units, until=None, stop=not_yet, rounds=None):
        given.append((prices.units, asked, len(prices.chains.groups)))
    (first, first_steps, groups), (second, _, _) = given
    assert lower_bound(board) * 11 // 10 < first < second <= plan.units
    assert first_steps <= QUICK_STEPS + 1
    assert groups == len(scarce_groups(board, is_fine=True))


def test_prices_for_a_search_end_when_told_to() -> None:
    board = farm_board(12, 9)
    units = greedy.construct(board).units
    given = list(sharper_prices(board, units, until=None, stop=lambda: True, rounds=None))
    assert len(given) == 1
    assert given[0].units >= 0


def test_where_the_table_of_alike_resources_is_too_large_prices_are_by_coarser_groups(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    board = farm_board(6, 2)
    units = greedy.construct(board).units
    monkeypatch.setattr("scheduling.solver.proving.MOST_FINE_CELLS", 10)
    found = next(sharper_prices(board, units, until=None, stop=lambda: False, rounds=100))
    assert len(found.chains.groups) == len(scarce_groups(board, is_fine=False))
    monkeypatch.setattr("scheduling.solver.proving.MOST_CELLS", 10)
    assert not list(sharper_prices(board, units, until=None, stop=lambda: False, rounds=100))


def test_hands_with_the_same_shifts_and_skills_are_alike_and_others_are_not() -> None:
    raw = Farm(5, 3).problem
    names = [resource["id"] for resource in raw["resources"]]
    groups = [[names[number] for number in group] for group in classes_of(Board(parse_problem(raw)))]
    # Tractor 1 is slower than 0 and 2; each disk is a setup of its own.
    assert ["hand-0", "hand-1", "hand-2", "hand-3"] in groups
    assert ["tractor-0", "tractor-2"] in groups
    assert ["tractor-1"] in groups
    raw["resources"][names.index("hand-2")]["road_cents_per_minute"] = 36
    groups = [[names[number] for number in group] for group in classes_of(Board(parse_problem(raw)))]
    assert ["hand-0", "hand-1", "hand-3"] in groups


def test_a_farm_of_two_fields_is_planned_as_cheap_as_can_be_and_that_is_proved() -> None:
    board = farm_board(2, 1)
    schedule = greedy.construct(board)
    outcome = prove(board, schedule, seconds=None, work=6.0, seed=1, workers=1)
    assert outcome is not None
    assert outcome.proved
    assert outcome.places is not None
    assert outcome.bound_units == _whole(board, outcome.places).units <= schedule.units
