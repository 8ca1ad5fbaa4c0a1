"""What something supposed is worth: by planning again, and by trying everything."""

from dataclasses import replace
from typing import Any

import pytest

from scheduling.solver import Plan, Problem, check, parse_problem, solve
from scheduling.solver.supposed import suppose
from scheduling.solver.supposing import parse_supposition
from scheduling.solver.worth import Answers, to_json, worth
from tests.scheduling.solver import example
from tests.scheduling.solver.tiny import random_problem, try_everything

SEARCHED: dict[str, Any] = {"seconds": 5, "rounds": 3}
DAY = 1440


def answered(problem: Problem, plan: Plan, *texts: str) -> Answers:
    return worth(problem, plan, [parse_supposition(text, problem) for text in texts], **SEARCHED)


def short_week() -> dict[str, Any]:
    """Two fields to disk on one day, five hours each, a tractor and a disk each, one hand who is there for six hours.

    Leaving a field costs 900 dollars, disking it 100; there are no roads.
    """
    day = [{"from": 0, "to": DAY}]
    resources = [
        {"id": f"{kind}-{n}", "kind": kind, "calendar": day} for kind in ("tractor", "disk") for n in (1, 2)
    ]
    for one in resources:
        one["kind"] = "implement" if one["kind"] == "disk" else one["kind"]
    resources.append({"id": "hand-1", "kind": "hand", "calendar": [{"from": 420, "to": 780}]})
    tasks = []
    for n in (1, 2):
        names = [f"tractor-{n}", f"disk-{n}", "hand-1"]
        mode = {"id": "+".join(names), "resources": names, "minutes": 300, "cents": 10_000}
        task = {"id": f"field-{n}/disk", "place": "yard", "operation": "disk", "modes": [mode], "open": day}
        tasks.append({**task, "leave_cents": 90_000})
    start = {"format": "planning-problem/1", "start": "2027-04-05T00:00:00-04:00", "zone": "America/New_York"}
    return {
        **start,
        "horizon": DAY,
        "step": 15,
        "resources": resources,
        "places": ["yard"],
        "road_minutes": [[0]],
        "tasks": tasks,
    }


def test_worths_are_those_worked_out_by_hand() -> None:
    """One field is disked and one left: 100 + 900 dollars. With a second hand both are: 200, so the hand is worth 800.

    So are four hours of overtime, save for what they cost: 4 h at 20 dollars. Three hours do not reach.
    """
    problem = parse_problem(short_week())
    plan = solve(problem, **SEARCHED)
    assert plan.cost == 100_000
    more = ["hand:+1@monday", "hand:+1=$20/h", "overtime:+4h=$20/h", "overtime:+3h=$20/h", "disk:+1"]
    answers = answered(problem, plan, *more, "hand:-1", "disk-2:-1", "tractor-1:-1@monday")
    found = {one.supposition.text: one for one in answers.worths}
    assert {text: one.cents for text, one in found.items()} == {
        "hand:+1@monday": 80_000,
        "hand:+1=$20/h": 70_000,
        "overtime:+4h=$20/h": 72_000,
        "overtime:+3h=$20/h": 0,
        "disk:+1": 0,
        "hand:-1": -80_000,
        "disk-2:-1": 0,
        "tractor-1:-1@monday": 0,
    }
    assert all(one.is_sure and one.least_cents == one.cents for one in found.values())
    late = found["overtime:+4h=$20/h"]
    assert (late.priced_min, late.about) == (240, ("hand-1",))
    assert len(late.now_planned) == 1
    assert set(found["hand:-1"].now_left) < {"field-1/disk", "field-2/disk"}
    assert found["hand:-1"].after.cost == 180_000
    assert found["overtime:+3h=$20/h"].after.tasks == answers.base.tasks


def test_an_implement_that_nothing_can_pull_is_worth_nothing_and_with_tractor_and_driver_it_is() -> None:
    """By hand: one tractor and one hand do one field in the six hours. Neither a second disk alone nor a second hand
    alone does the other field; all three do: 900 dollars less 100, and less 5 h at 60 dollars where the hire costs it.
    """
    document = short_week()
    for task in document["tasks"]:
        names = ["tractor-1", "disk-1", "hand-1"]
        task["modes"][0] |= {"id": "+".join(names), "resources": names}
    problem = parse_problem(document)
    plan = solve(problem, **SEARCHED)
    assert plan.cost == 100_000
    asked = ["disk:+1", "tractor-1:+1", "hand:+1", "outfit:disk:+1", "outfit:disk:+1=$60/h", "outfit:disk:+2"]
    answers = answered(problem, plan, *asked)
    assert [one.cents for one in answers.worths] == [0, 0, 0, 80_000, 50_000, 80_000]
    assert all(one.is_sure for one in answers.worths)
    assert answers.worths[3].about == ("extra tractor-1", "extra disk-1", "extra hand")
    (new,) = [one for one in answers.worths[3].after.tasks if one.mode.startswith("extra")]
    assert new.mode == "extra tractor-1+extra disk-1+extra hand"


def test_the_plan_as_it_is_gets_as_much_search_first_so_that_its_own_gain_is_not_the_suppositions() -> None:
    problem = parse_problem(short_week())
    nothing = Plan("good", None, None, 0.0, None)
    answers = answered(problem, nothing, "disk:+1")
    assert answers.base.cost == 100_000
    assert answers.worths[0].cents == 0


def test_where_with_it_no_plan_keeps_every_rule_it_says_so() -> None:
    document = short_week()
    document["tasks"] = [{**document["tasks"][0], "leave_cents": None}]
    problem = parse_problem(document)
    (one,) = answered(problem, solve(problem, **SEARCHED), "hand:-1@monday").worths
    assert (one.cents, one.least_cents, one.is_sure, one.after.status) == (None, None, False, "none")
    assert one.after.why


def test_a_plan_of_status_none_is_no_beginning() -> None:
    with pytest.raises(ValueError, match="no plan to begin from"):
        worth(parse_problem(short_week()), Plan("none", None, None, 0.0, None), [], **SEARCHED)


def test_who_stops_gets_the_answers_so_far() -> None:
    problem = parse_problem(short_week())
    plan = solve(problem, **SEARCHED)
    heard: list[tuple[int, int]] = []
    answers = worth(
        problem,
        plan,
        [parse_supposition("hand:+1", problem)] * 3,
        told=lambda done, of, _next: heard.append((done, of)),
        stop=lambda: len(heard) > 1,
        **SEARCHED,
    )
    assert heard == [(0, 6), (1, 6)]
    assert [one.cents for one in answers.worths] == [80_000]


@pytest.mark.parametrize("seed", range(24))
def test_worths_equal_the_difference_of_the_best_plans_that_there_are(seed: int) -> None:
    problem = parse_problem(random_problem(seed, tasks=2, horizon=16))
    cheapest = try_everything(problem)
    plan = solve(problem, **SEARCHED)
    assert plan.cost == cheapest
    if plan.status == "none":
        return
    texts = ["r0:+1", "r0:+1=$60/h", "r0:-1", "rain"]
    texts += (
        ["overtime:+0.1h"] if any(one.kind == "hand" and one.calendar for one in problem.resources) else []
    )
    for text, one in zip(texts, answered(problem, plan, *texts).worths):
        other = try_everything(suppose(problem, one.supposition, plan=plan).problem)
        if other is None or cheapest is None:
            assert one.cents is None, text
            continue
        assert one.cents == (min if one.supposition.is_loss else max)(0, cheapest - other), text
        assert one.is_sure, text


@pytest.mark.parametrize("seed", range(6))
def test_what_is_added_is_never_worth_less_than_nothing_nor_a_loss_more(seed: int) -> None:
    """Short searches on problems that they do not prove: never a wrong sign, and the worth within its own limits."""
    problem = parse_problem(random_problem(seed, tasks=7, horizon=60))
    plan = solve(problem, seconds=0.05, rounds=1)
    if plan.status == "none":
        return
    texts = ["r0:+1", "r0:-1", "rain"]
    suppositions = [parse_supposition(text, problem) for text in texts]
    answers = worth(problem, plan, suppositions, seconds=0.05, rounds=1)
    assert answers.base.cost is not None
    assert plan.cost is not None
    assert answers.base.cost <= plan.cost
    for one in answers.worths:
        if one.cents is None:
            assert one.after.status == "none"
            continue
        assert one.cents <= 0 if one.supposition.is_loss else one.cents >= 0
        assert one.least_cents is not None
        assert one.most_cents is not None
        assert one.least_cents <= one.cents <= one.most_cents
        supposed = suppose(problem, one.supposition, plan=answers.base)
        if one.after.tasks != answers.base.tasks:
            assert check(supposed.problem, one.after).violations == ()


def test_a_better_plan_found_with_something_added_but_without_its_use_is_the_base_of_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The search of the plan as it is misses what the next one finds; that gain is nobody's worth."""
    problem = parse_problem(short_week())
    best = solve(problem, **SEARCHED)
    poor = Plan("good", 180_000, 0, 0.0, None, (), best.left)
    calls: list[Problem] = []

    def lame(asked: Problem, **limits: Any) -> Plan:
        calls.append(asked)
        return poor if len(calls) == 1 else replace(best, status="good", bound=0)

    monkeypatch.setattr("scheduling.solver.worth.solve", lame)
    answers = answered(problem, poor, "disk:+1", "tractor:+1")
    assert answers.base.cost == 100_000
    assert check(problem, answers.base).violations == ()
    assert [one.cents for one in answers.worths] == [0, 0]


def test_the_answers_as_json_name_what_was_supposed_and_hold_both_plans() -> None:
    problem = parse_problem(example.problem())
    told = to_json(answered(problem, solve(problem, **SEARCHED), "disk-1:-1"))
    assert (told["format"], told["base"]["cost"]) == ("plan-worth/1", 44_588)
    (one,) = told["suppositions"]
    assert (one["suppose"], one["cents"], one["now_left"]) == ("disk-1:-1", -45_412, ["field-01/disk"])
    assert one["after"]["cost"] == 90_000  # left; that it had to leave its place costs nothing
    assert one["is_sure"] is True
