"""The independent check, harder than the search: a plan worked out by hand, then each rule broken in turn."""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from scheduling.solver import CheckResult, check, from_json, parse_problem
from tests.scheduling.solver.by_hand import good_plan, small_farm

Edit = Callable[[dict[str, Any], dict[str, Any]], None]


def judge(problem: dict[str, Any], plan: dict[str, Any]) -> CheckResult:
    return check(parse_problem(problem), from_json(plan))


def test_the_plan_worked_out_by_hand_is_found_right() -> None:
    found = judge(small_farm(), good_plan())
    assert found.violations == ()
    assert found.cost == 31367
    assert found.cost_parts == good_plan()["cost_parts"]


def _task(edit: dict[str, Any]) -> Edit:
    def apply(problem: dict[str, Any], plan: dict[str, Any]) -> None:
        name = edit.pop("id")
        next(task for task in problem["tasks"] if task["id"] == name).update(edit)

    edit = dict(edit)
    return apply


def _placed(name: str, **changes: Any) -> Edit:
    def apply(problem: dict[str, Any], plan: dict[str, Any]) -> None:
        changed = {
            "from" if key == "start" else "to" if key == "end" else key: v for key, v in changes.items()
        }
        next(task for task in plan["tasks"] if task["id"] == name).update(changed)

    return apply


def _plan(**changes: Any) -> Edit:
    return lambda problem, plan: plan.update(changes)


def _resource(number: int, **changes: Any) -> Edit:
    return lambda problem, plan: problem["resources"][number].update(changes)


def _leave(name: str, why: str = "Because.") -> Edit:
    def apply(problem: dict[str, Any], plan: dict[str, Any]) -> None:
        plan["tasks"] = [task for task in plan["tasks"] if task["id"] != name]
        plan["left"].append({"id": name, "why": why})

    return apply


def _drop(name: str) -> Edit:
    def apply(problem: dict[str, Any], plan: dict[str, Any]) -> None:
        plan["tasks"] = [task for task in plan["tasks"] if task["id"] != name]

    return apply


def _twice(problem: dict[str, Any], plan: dict[str, Any]) -> None:
    plan["tasks"].append(dict(plan["tasks"][1]))


def _stranger(problem: dict[str, Any], plan: dict[str, Any]) -> None:
    plan["tasks"].append({"id": "west/disk", "mode": "t+h", "from": 0, "to": 120})


def _both(problem: dict[str, Any], plan: dict[str, Any]) -> None:
    plan["left"].append({"id": "north/bed", "why": "Because."})


def _no_change_back(problem: dict[str, Any], plan: dict[str, Any]) -> None:
    # Room for the 15 minutes of road between 660 and 901, not for the change too.
    problem["resources"][0]["road_calendar"] = [{"from": 360, "to": 690}, {"from": 900, "to": 1200}]


def _none(*why: tuple[str | None, str, str]) -> Edit:
    listed = [{"task": task, "rule": rule, "says": says} for task, rule, says in why]
    return _plan(status="none", cost=None, bound=None, cost_parts=None, tasks=[], left=[], why=listed)


BREAKS: list[tuple[str, str, Edit]] = [
    ("a task that is nowhere", "tasks", _drop("north/bed")),
    ("a task that stands twice", "tasks", _twice),
    ("a task planned and left", "tasks", _both),
    ("a task the problem has not", "tasks", _stranger),
    ("a mode the task has not", "mode", _placed("north/disk", mode="t+h2")),
    ("a start off the step", "step", _placed("north/disk", start=421, end=541)),
    ("a start while the hand is off", "workable", _placed("north/bed", start=735, end=840)),
    (
        "a start while the task is shut",
        "workable",
        _task({"id": "north/disk", "open": [{"from": 421, "to": 1440}]}),
    ),
    ("an end too soon", "to", _placed("north/disk", end=539)),
    ("an end too late", "to", _placed("north/disk", end=541)),
    ("an end that overlooks a break", "to", _placed("north/bed", start=660, end=750)),
    ("an end past the horizon", "horizon", _placed("north/bed", start=1185, end=1275)),
    ("a start outside the horizon", "horizon", _placed("north/bed", start=1440, end=1530)),
    ("a start before the earliest", "earliest", _task({"id": "north/disk", "earliest": 421})),
    ("a start after the latest", "latest", _task({"id": "north/disk", "latest": 419})),
    ("a hold over the limit", "hold_limit", _task({"id": "north/bed", "hold_limit": 89})),
    (
        "a hold over the limit with what was before",
        "hold_limit",
        _task({"id": "south/walk", "hold_limit": 359}),
    ),
    (
        "too short a gap",
        "after",
        _task({"id": "north/bed", "after": [{"task": "north/disk", "min_gap": 31}]}),
    ),
    ("too long a gap", "after", _task({"id": "north/bed", "after": [{"task": "north/disk", "max_gap": 29}]})),
    ("an order turned round", "after", _task({"id": "north/disk", "after": [{"task": "north/bed"}], "x": 0})),
    ("a successor of a task that is left", "after", _leave("north/disk")),
    ("two tasks at once on a resource", "resources", _placed("north/bed", start=525, end=615)),
    ("a first trip that does not fit", "road", _resource(0, road_calendar=[{"from": 401, "to": 1200}])),
    (
        "a first change that does not fit",
        "road",
        _resource(0, setup_now="bed", road_calendar=[{"from": 375, "to": 1200}]),
    ),
    ("a trip by a slow road", "road", _resource(1, road_factor=1.1)),
    ("a change that does not fit", "road", _resource(0, changeover={"minutes": 31, "cents": 500})),
    ("a change beside a trip that does not fit", "road", _no_change_back),
    ("a task that must be done, left", "leave_cents", _leave("north/disk")),
    ("a fixed task moved", "fixed", _placed("south/disk", start=915, end=1035)),
    ("a fixed task left for nothing", "fixed", _leave("south/disk")),
    ("an under-way task moved", "under_way", _placed("south/walk", start=15, end=260)),
    ("an under-way task left that must be done", "leave_cents", _leave("south/walk")),
    ("an under-way task with another end", "to", _placed("south/walk", end=360)),
    ("a task left without a why", "why", _leave("north/bed", why=" ")),
    ("a cost too low", "cost", _plan(cost=31366)),
    ("a part too high", "cost_parts", _plan(cost_parts={**good_plan()["cost_parts"], "road": 4956})),
    ("no parts", "cost_parts", _plan(cost_parts=None)),
    ("no bound", "bound", _plan(bound=None)),
    ("a bound above the cost", "bound", _plan(bound=31368)),
    ("best with a bound below the cost", "bound", _plan(status="best")),
    ("causes beside a plan", "why", _plan(why=[{"task": None, "rule": "open", "says": "Shut."}])),
    ("no plan without a cause", "why", _none()),
    ("no plan for a task the problem has not", "why", _none(("west/disk", "open", "It is shut."))),
    ("no plan without a sentence", "why", _none(("north/disk", "open", ""))),
    ("no plan that plans", "status", _plan(status="none", cost=None, left=[])),
    ("no plan that leaves", "status", _plan(status="none", cost=None, tasks=[])),
    ("no plan with a cost", "cost", _plan(status="none", tasks=[], left=[])),
]


@pytest.mark.parametrize(("what", "rule", "edit"), BREAKS, ids=[what for what, _, _ in BREAKS])
def test_each_rule_broken_in_turn_is_found(what: str, rule: str, edit: Edit) -> None:
    problem, plan = small_farm(), good_plan()
    edit(problem, plan)
    for task in problem["tasks"]:
        if task.pop("x", None) is not None:
            problem["tasks"][1]["after"] = []
    found = judge(problem, plan)
    assert rule in {violation.rule for violation in found.violations}
    assert all(violation.says.endswith(".") for violation in found.violations)


def test_no_plan_with_its_causes_is_found_right() -> None:
    problem, plan = small_farm(), good_plan()
    causes = [("north/disk", "leave_cents", "It must be done."), (None, "seconds", "None was found in time.")]
    _none(*causes)(problem, plan)
    found = judge(problem, plan)
    assert (found.violations, found.cost, found.cost_parts) == ((), None, None)


def test_lateness_extra_and_weather_are_paid_to_the_fraction() -> None:
    # Bed 750-840: 140 minutes late at 1201/h = 2802.33; 90 minutes at (1 - 0.75) x 1201 / 60 = 450.375.
    problem, plan = small_farm(), good_plan()
    _placed("north/bed", start=750, end=840)(problem, plan)
    found = judge(problem, plan)
    assert found.cost_parts == {**good_plan()["cost_parts"], "late": 2802, "weather": 450}
    assert found.cost == 31367 + 3253  # 2802.33 + 450.375 = 3252.708


def test_a_total_of_half_a_cent_is_rounded_to_even() -> None:
    # 31367 and half a cent is rounded up to the even 31368; with one cent more, 31368 and a half down to it.
    for cents, total in ((250, 31368), (251, 31368)):
        problem, plan = small_farm(), good_plan()
        problem["tasks"][1].update(late_cents_per_hour=30, due=659)
        problem["tasks"][3]["under_way"]["cents_left"] = cents
        assert judge(problem, plan).cost == total


def test_a_fixed_task_may_be_left_when_its_mode_is_gone_and_costs_nothing() -> None:
    problem, plan = small_farm(), good_plan()
    problem["tasks"][2]["fixed"]["mode"] = "sold"
    _leave("south/disk")(problem, plan)
    found = judge(problem, plan)
    assert {violation.rule for violation in found.violations} == {"cost", "cost_parts"}
    assert found.cost_parts is not None
    assert found.cost_parts["left"] == 777


def test_a_fixed_task_may_be_left_when_it_clashes_with_another() -> None:
    problem, plan = small_farm(), good_plan()
    other = copy.deepcopy(problem["tasks"][2])
    other.update(id="south/again", fixed={"mode": "t+h", "from": 1000}, leave_cents=40)
    problem["tasks"].append(other)
    plan["left"].append({"id": "south/again", "why": "It clashes."})
    assert {violation.rule for violation in judge(problem, plan).violations} == {"cost", "cost_parts"}
    other["fixed"]["from"] = 1050
    assert "fixed" in {violation.rule for violation in judge(problem, plan).violations}


def test_a_fixed_task_that_ends_as_another_starts_clashes_with_nothing() -> None:
    # The other holds from 901: two hours from 781 end as it starts, from 782 a minute into it.
    for start, is_hindered in ((781, False), (782, True)):
        problem, plan = small_farm(), good_plan()
        other = copy.deepcopy(problem["tasks"][2])
        other.update(id="south/again", fixed={"mode": "t+h", "from": start}, leave_cents=40)
        problem["tasks"].append(other)
        plan["left"].append({"id": "south/again", "why": "It clashes."})
        rules = {violation.rule for violation in judge(problem, plan).violations}
        assert ("fixed" not in rules) == is_hindered


def test_a_fixed_task_may_be_left_for_one_under_way_that_holds_its_resource() -> None:
    for start, is_hindered in ((259, True), (260, False)):
        problem, plan = small_farm(), good_plan()
        walk = copy.deepcopy(problem["tasks"][3])
        del walk["under_way"], walk["hold_limit"]
        walk.update(id="south/next", fixed={"mode": "alone", "from": start}, leave_cents=40)
        problem["tasks"].append(walk)
        plan["left"].append({"id": "south/next", "why": "It clashes."})
        rules = {violation.rule for violation in judge(problem, plan).violations}
        assert ("fixed" not in rules) == is_hindered


def test_a_fixed_task_follows_one_that_is_left_only_where_it_may_be_left_itself() -> None:
    for leave_cents, may in ((60_000, True), (None, False)):
        problem, plan = small_farm(), good_plan()
        problem["tasks"][0]["leave_cents"] = 5
        problem["tasks"][1].update(fixed={"mode": "t+h", "from": 570}, leave_cents=leave_cents)
        _leave("north/disk")(problem, plan)
        _leave("north/bed")(problem, plan)
        rules = {violation.rule for violation in judge(problem, plan).violations}
        assert ("fixed" not in rules) == may


def test_a_large_weather_allowance_is_exact_to_the_cent() -> None:
    # 90 minutes at (1 - 0.75) x 100,000,000 / 60.
    problem, plan = small_farm(), good_plan()
    problem["tasks"][1]["late_cents_per_hour"] = 100_000_000
    _placed("north/bed", start=750, end=840)(problem, plan)
    parts = judge(problem, plan).cost_parts
    assert parts is not None
    assert (parts["weather"], parts["late"]) == (37_500_000, 233_333_333)


def test_a_task_both_fixed_and_under_way_is_judged_as_under_way() -> None:
    problem, plan = small_farm(), good_plan()
    problem["tasks"][3]["fixed"] = {"mode": "alone", "from": 600}
    assert judge(problem, plan).violations == ()
    _leave("south/walk")(problem, plan)
    rules = {violation.rule for violation in judge(problem, plan).violations}
    assert rules == {"leave_cents", "cost", "cost_parts"}
    problem["tasks"][3]["leave_cents"] = 1
    assert {violation.rule for violation in judge(problem, plan).violations} == {"cost", "cost_parts"}


def test_a_setup_is_carried_past_a_task_that_brings_none() -> None:
    problem, plan = small_farm(), good_plan()
    problem["resources"][0]["setup_now"] = "bed"
    del problem["tasks"][0]["modes"][0]["setup"]
    found = judge(problem, plan)
    # Still set to bed when the first task is done: only the change to the fixed disk is paid.
    assert {violation.rule for violation in found.violations} == {"cost", "cost_parts"}
    assert found.cost_parts is not None
    assert found.cost_parts["road"] == 4455


def test_no_change_is_paid_from_an_unknown_setup() -> None:
    problem, plan = small_farm(), good_plan()
    problem["resources"][0].update(setup_now=None, changeover={"minutes": 5, "cents": 500})
    found = judge(problem, plan)
    assert found.cost_parts == good_plan()["cost_parts"]
