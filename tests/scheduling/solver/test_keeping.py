"""What it costs to change a sent plan: nothing where it cannot stay, more than all else for what was sent for today."""

from itertools import product
from typing import Any

import pytest

from scheduling.solver import Problem, check, parse_problem, solve
from scheduling.solver.keeping import Prices, cannot_stay, most_cents, prices_of_change
from scheduling.solver.plan import LeftTask, Plan
from scheduling.solver.values import MOST_CENTS
from tests.scheduling.solver import example
from tests.scheduling.solver.tiny import everything, random_problem

DAY = 1440
PRICES = Prices(today_until_min=DAY, soon_until_min=2 * DAY, soon_cents=10_000, later_cents=2_000)
MODE = "tractor-1+disk-1+hand-1"


def task(name: str, start: int | None, **keys: Any) -> dict[str, Any]:
    """Return a task of two hours for the worked example's outfit, sent for a minute."""
    found: dict[str, Any] = {**example.problem()["tasks"][0], "id": name, **keys}
    del found["was"]
    found["modes"] = [{**found["modes"][0], "minutes": 120, "cents": 5_000}]
    found["open"] = keys.get("open", [{"from": 0, "to": 10080}])
    return found if start is None else {**found, "was": {"mode": MODE, "from": start, "change_cents": 0}}


def week(*tasks: dict[str, Any], home: str = "yard") -> Problem:
    """Return the worked example's week with these tasks; its hand works from 7 am to 8 pm on each day."""
    problem = example.problem()
    hours = [{"from": day * DAY + 420, "to": day * DAY + 1200} for day in range(7)]
    problem["resources"][2]["calendar"] = hours
    problem["resources"][1]["road_calendar"] = hours
    problem["tasks"] = list(tasks)
    for one in problem["resources"]:
        one["home"] = home
    return parse_problem(problem)


def test_a_price_goes_by_the_day_that_was_sent() -> None:
    problem = week(task("a", 480), task("b", DAY + 480), task("c", 3 * DAY + 480), task("new", None))
    prices = prices_of_change(problem, PRICES)
    assert cannot_stay(problem) == frozenset()
    assert {key: prices[key] for key in "bc"} == {"b": 10_000, "c": 2_000}
    assert prices["a"] == most_cents(problem) + 12_001
    assert set(prices) == {"a", "b", "c"}


def test_no_price_is_more_than_a_problem_may_hold() -> None:
    problem = week(*(task(name, start, leave_cents=MOST_CENTS) for name, start in (("a", 480), ("b", 780))))
    assert prices_of_change(problem, PRICES) == {"a": MOST_CENTS, "b": MOST_CENTS}


@pytest.mark.parametrize(
    ("keys", "why"),
    [
        ({"open": [{"from": 660, "to": 10080}]}, "shut at its hour"),
        ({"earliest": 495}, "not yet allowed"),
        ({"latest": 465}, "no longer allowed"),
        ({"hold_limit": 100}, "held for too long"),
    ],
)
def test_what_breaks_a_rule_by_itself_changes_for_nothing(keys: dict[str, Any], why: str) -> None:
    problem = week(task("a", 480, **keys), task("b", 780))
    assert cannot_stay(problem) == {"a"}, why
    prices = prices_of_change(problem, PRICES)
    assert prices["a"] == 0
    assert prices["b"] > most_cents(problem)


def test_an_outfit_that_is_gone_or_an_hour_off_the_step_cannot_be_had() -> None:
    gone = task("a", 480)
    gone["was"]["mode"] = "tractor-9+disk-1+hand-1"
    assert cannot_stay(week(gone)) == {"a"}
    assert cannot_stay(week(task("a", 485))) == {"a"}
    assert cannot_stay(week(task("a", -60))) == {"a"}


def test_of_two_that_no_longer_fit_one_behind_the_other_the_sooner_stays() -> None:
    """A shower from 8:30 to 10 makes the first end at 11:30: the second cannot begin at 10, the third stays."""
    showery = [{"from": 0, "to": 510}, {"from": 600, "to": 10080}]
    problem = week(task("a", 480, open=showery), task("b", 600), task("c", 690))
    assert cannot_stay(problem) == {"b"}


def test_what_waits_for_one_that_moves_stays_if_that_one_can_still_end_in_time() -> None:
    late = task("a", 480, open=[{"from": 570, "to": 10080}])
    in_time = week(late, task("b", 690, after=[{"task": "a"}]))
    assert cannot_stay(in_time) == {"a"}
    too_late = week(late, task("b", 675, after=[{"task": "a"}]), task("c", 900, after=[{"task": "b"}]))
    assert cannot_stay(too_late) == {"a", "b"}
    soon = task("c", 795, after=[{"task": "b"}])
    behind = week(late, task("b", 675, after=[{"task": "a"}]), soon)
    assert cannot_stay(behind) == {"a", "b", "c"}, "the one between cannot end before 1:30 pm"
    never = week(task("a", 480, open=[]), task("b", 675, after=[{"task": "a"}]))
    assert cannot_stay(never) == {"a", "b"}, "both are left"
    apart = week(late, task("b", 690, after=[{"task": "a", "min_gap": 15}]))
    assert cannot_stay(apart) == {"a", "b"}


def test_what_is_under_way_or_fixed_stands_before_what_was_sent() -> None:
    way = {"mode": MODE, "minutes_left": 120, "cents_left": 0, "held_for": 30}
    running = task("a", 0, under_way=way)
    assert cannot_stay(week(running, task("b", 540), task("c", 420), home="field-01")) == {"c"}
    fixed = task("a", 480, fixed={"mode": MODE, "from": 500})
    assert cannot_stay(week(fixed, task("b", 480), task("c", 630))) == {"a", "b"}


def test_nothing_moves_today_for_whatever_gain_short_of_a_rule() -> None:
    """Moved an hour, today's task would let one done that costs 90,000 dollars if left; it stays, until that must be."""
    rich = task("rich", None, leave_cents=9_000_000, latest=480, open=[{"from": 480, "to": 600}])
    today = task("today", 480)

    def planned(other: dict[str, Any]) -> dict[str, int]:
        problem = week(today, other)
        cents = prices_of_change(problem, PRICES)
        today["was"]["change_cents"] = cents["today"]
        plan = solve(week(today, other), seconds=5, rounds=20)
        return {one.id: one.start for one in plan.tasks}

    assert planned(rich) == {"today": 480}
    assert planned({**rich, "leave_cents": None}) == {"today": 600, "rich": 480}


@pytest.mark.parametrize("seed", range(30))
def test_no_plan_costs_more_than_the_most(seed: int) -> None:
    problem = parse_problem({**random_problem(seed, tasks=2, horizon=16)})
    most = most_cents(problem)
    for picked in product(*everything(problem)):
        placed = tuple(one for one in picked if one is not None)
        standing = {one.id for one in placed}
        left = tuple(LeftTask(one.id, "tried") for one in problem.tasks if one.id not in standing)
        found = check(problem, Plan("good", 0, 0, 0.0, None, placed, left))
        assert found.cost is not None
        assert found.cost_parts is not None
        assert found.cost - found.cost_parts["change"] <= most + 1  # each is rounded by itself


@pytest.mark.parametrize("seed", range(40))
def test_what_cannot_stay_by_itself_is_what_the_check_refuses(seed: int) -> None:
    problem = parse_problem(random_problem(seed, tasks=2, horizon=16))
    gone = cannot_stay(problem)
    for number, one in enumerate(problem.tasks):
        if one.was is None or one.fixed is not None or one.under_way is not None:
            continue
        options = [place for place in everything(problem)[number] if place is not None]
        here = [p for p in options if (p.mode, p.start) == (one.was.mode, one.was.start)]
        rules: set[str] = {"mode"}
        if here:
            left = tuple(LeftTask(t.id, "tried") for t in problem.tasks if t.id != one.id)
            found = check(problem, Plan("good", 0, 0, 0.0, None, (here[0],), left))
            rules = {v.rule for v in found.violations if v.task == one.id} - {"after", "road"}
        if rules:
            assert one.id in gone
