"""A problem as it would be if something supposed were so."""

from typing import Any

import pytest

from scheduling.solver import Problem, check, parse_problem, problem_to_json, solve
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.problem import Mode, WorkStretch
from scheduling.solver.supposed import Supposed, suppose
from scheduling.solver.supposing import parse_supposition, usual_suppositions
from tests.scheduling.solver import example
from tests.scheduling.solver.tiny import random_problem

DAY = 1440


def week() -> dict[str, Any]:
    """The worked example, with hours on three days for two hands, of whom the second is slower and cheaper."""
    problem = example.problem()
    hours = [
        {"from": day * DAY + a, "to": day * DAY + b} for day in range(3) for a, b in ((420, 720), (750, 1080))
    ]
    teo = {**problem["resources"][2], "id": "teo", "road_cents_per_minute": 20, "calendar": hours[:4]}
    problem["resources"][2] = {**problem["resources"][2], "calendar": hours}
    problem["resources"].append(teo)
    task = problem["tasks"][0]
    task["open"] = [{"from": 0, "to": 10080, "chance": 0.9}]
    mode = task["modes"][0]
    names = ["tractor-1", "disk-1", "teo"]
    task["modes"].append({**mode, "id": "+".join(names), "resources": names, "minutes": 330, "cents": 40000})
    look = {"id": "field-01/look", "place": "field-01", "operation": "look", "open": task["open"]}
    look["modes"] = [{"id": "teo", "resources": ["teo"], "minutes": 20, "cents": 600}]
    hired = {**look, "id": "field-01/lime", "operation": "spread"}
    hired["modes"] = [{"id": "custom", "resources": [], "minutes": 60, "cents": 9000}]
    problem["tasks"] += [look, hired]
    return problem


@pytest.fixture
def problem() -> Problem:
    return parse_problem(week())


def supposed(problem: Problem, text: str, plan: Plan | None = None) -> Supposed:
    found = suppose(problem, parse_supposition(text, problem), plan=plan)
    assert parse_problem(problem_to_json(found.problem)) == found.problem, "it is a problem of the format"
    return found


def test_a_hand_more_does_what_any_does_as_slowly_as_the_slowest_and_at_the_dearest_price(
    problem: Problem,
) -> None:
    found = supposed(problem, "hand:+1@tuesday")
    new = found.problem.resource_of["extra hand"]
    assert new.calendar == (WorkStretch(DAY + 420, DAY + 720), WorkStretch(DAY + 750, DAY + 1080))
    assert (new.home, new.roams, new.road_cents_per_minute) == ("yard", True, 35)
    disk, look, lime = found.problem.tasks
    names = ("tractor-1", "disk-1", "extra hand")
    assert disk.modes[2:] == (Mode("+".join(names), names, 330, 41200, "disk-1"),)
    assert look.modes[1:] == (Mode("extra hand", ("extra hand",), 20, 600),)
    assert len(lime.modes) == 1
    assert (found.about, dict(found.like)) == (("extra hand",), {"extra hand": "hand"})


def test_two_hands_more_are_two_of_them_and_may_go_together(problem: Problem) -> None:
    document = week()
    pair = {"id": "hand-1+teo", "resources": ["hand-1", "teo"], "minutes": 10, "cents": 500}
    document["tasks"][1]["modes"] = [pair]
    found = supposed(parse_problem(document), "hand:+2")
    teams = {frozenset(mode.resources) for mode in found.problem.tasks[1].modes}
    both = {"extra hand", "extra hand 2"}
    assert teams == {
        frozenset({"hand-1", "teo"}),
        *(frozenset({one, new}) for one in ("hand-1", "teo") for new in both),
        frozenset(both),
    }


def test_on_a_day_off_the_hours_are_those_of_whoever_works_most_without_an_extra_price(
    problem: Problem,
) -> None:
    document = week()
    document["resources"][3]["calendar"] = [{"from": 400, "to": 1100}]
    document["resources"][2]["calendar"] = [{"from": 0, "to": 1440, "extra_cents_per_hour": 900}]
    found = supposed(parse_problem(document), "hand:+1@monday")
    assert found.problem.resource_of["extra hand"].calendar == (WorkStretch(400, 1100),)


def test_a_hired_implement_brings_its_own_setup_from_the_yard_and_costs_what_is_said(
    problem: Problem,
) -> None:
    document = week()
    document["resources"][1]["home"] = "field-01"
    found = supposed(parse_problem(document), "disk:+1=$30/h@tuesday")
    new = found.problem.resource_of["extra disk-1"]
    old = found.problem.resource_of["disk-1"]
    assert (new.home, old.home, new.road_factor, new.kind) == (
        "yard",
        "field-01",
        old.road_factor,
        "implement",
    )
    assert (new.calendar, new.road_calendar) == ((WorkStretch(DAY, 2 * DAY),), ())
    mode = found.problem.tasks[0].modes[2]
    assert (mode.id, mode.setup, mode.minutes) == ("tractor-1+extra disk-1+hand-1", "extra disk-1", 315)
    assert mode.cents == 41200 + 15750  # 315 minutes at 30 dollars an hour


def test_of_several_that_do_the_work_the_one_in_the_most_ways_is_had_twice() -> None:
    document = week()
    other = {**document["resources"][1], "id": "disk-0", "home": "field-01"}
    document["resources"].append(other)
    found = supposed(parse_problem(document), "disk:+1")
    assert dict(found.like) == {"extra disk-1": "disk-1"}


def test_a_hired_outfit_works_with_nothing_else_as_slowly_and_as_dear_as_any_like_it(
    problem: Problem,
) -> None:
    found = supposed(problem, "outfit:disk:+1=$60/h@tuesday")
    brought = ("extra tractor-1", "extra disk-1", "extra hand")
    disk, look, lime = found.problem.tasks
    assert disk.modes[:2] == problem.tasks[0].modes
    assert disk.modes[2:] == (Mode("+".join(brought), brought, 330, 41200 + 33000, "extra disk-1"),)
    assert (look, lime) == problem.tasks[1:]
    assert found.problem.resources[:-3] == problem.resources
    assert found.about == brought
    assert dict(found.like) == dict(zip(brought, ("tractor-1", "disk-1", "hand"), strict=True))
    tractor, tool, hand = (found.problem.resource_of[name] for name in brought)
    assert tractor.calendar == tool.calendar == (WorkStretch(DAY, 2 * DAY),)
    assert hand.calendar == (WorkStretch(DAY + 420, DAY + 720), WorkStretch(DAY + 750, DAY + 1080))
    assert {tractor.home, tool.home, hand.home} == {"yard"}


def test_what_is_hired_is_not_down_while_one_like_it_works() -> None:
    document = week()
    tractor = document["resources"][0]
    up = {**tractor, "id": "tractor-2", "calendar": [{"from": 0, "to": DAY}]}
    tractor["calendar"] = [{"from": DAY, "to": 3 * DAY}]
    document["resources"].append(up)
    document["tasks"][0]["modes"].append(
        {**document["tasks"][0]["modes"][0], "id": "x", "resources": ["tractor-2", "disk-1", "hand-1"]}
    )
    found = supposed(parse_problem(document), "outfit:disk:+1")
    assert found.problem.resource_of["extra tractor-1"].calendar == (WorkStretch(0, 3 * DAY),)
    assert [mode.id for mode in found.problem.tasks[0].modes[3:]] == [
        "extra tractor-1+extra disk-1+extra hand"
    ]


def test_what_is_missing_is_off_and_stays_off_the_road(problem: Problem) -> None:
    found = supposed(problem, "disk-1:-1@tuesday")
    disk = found.problem.resource_of["disk-1"]
    assert disk.calendar == (WorkStretch(0, DAY), WorkStretch(2 * DAY, 10080))
    assert disk.road_calendar == problem.resource_of["disk-1"].road_calendar
    gone = supposed(problem, "disk-1:-1").problem.resource_of["disk-1"]
    assert (gone.calendar, gone.road_calendar) == ((), ())
    assert [one for one in found.problem.resources if one.id != "disk-1"] == [
        one for one in problem.resources if one.id != "disk-1"
    ]


def test_one_hand_fewer_is_the_one_whom_the_plan_misses_least(problem: Problem) -> None:
    teo = PlacedTask("field-01/disk", "tractor-1+disk-1+teo", 450, 810)
    imani = PlacedTask("field-01/disk", "tractor-1+disk-1+hand-1", 450, 795)
    for placed, gone in ((teo, "hand-1"), (imani, "teo")):
        plan = Plan("good", 0, 0, 0.0, None, (placed,))
        assert supposed(problem, "hand:-1@monday", plan).about == (gone,)
        assert supposed(problem, "hand:-1@tuesday", plan).about == ("hand-1",), (
            "nobody is at work: the fewest ways"
        )
    assert supposed(problem, "hand:-2@monday").about == ("hand-1", "teo")


def test_rain_shuts_the_ground_on_its_day_for_hired_work_too_and_lets_a_hand_alone_go_on(
    problem: Problem,
) -> None:
    found = supposed(problem, "rain@tuesday")
    disk, look, lime = found.problem.tasks
    dry = [(0, DAY), (2 * DAY, 10080)]
    assert [(s.start, s.end) for s in disk.open] == dry
    assert [s.chance_e4 for s in disk.open] == [9000, 9000]
    assert [(s.start, s.end) for s in lime.open] == dry
    assert look == problem.tasks[1]


def test_a_service_stop_goes_on_in_the_rain_and_what_is_hired_is_not_served_instead() -> None:
    document = week()
    stop = {"id": "care-1", "place": "yard", "operation": "care", "open": [{"from": 0, "to": 10080}]}
    stop["modes"] = [{"id": "disk-1+teo", "resources": ["disk-1", "teo"], "minutes": 30, "cents": 900}]
    document["tasks"].append(stop)
    problem = parse_problem(document)
    assert supposed(problem, "rain@monday").problem.tasks[3] == problem.tasks[3]
    assert supposed(problem, "disk:+1").problem.tasks[3] == problem.tasks[3]
    assert len(supposed(problem, "hand:+1").problem.tasks[3].modes) == 2
    assert "care:+1" not in usual_suppositions(problem)


def test_what_can_no_longer_stay_as_it_was_sent_changes_for_nothing() -> None:
    """Else the price that keeps today's work in its place, more than any plan could cost, would be told as a loss."""
    document = week()
    first, *_ = document["tasks"]
    mode = next(one for one in first["modes"] if "teo" not in one["resources"])
    first["was"] = {"mode": mode["id"], "from": 480, "change_cents": 4_495_016}
    problem = parse_problem(document)
    texts = ("tractor-1:-1", "rain@monday", "tractor-1:-1@tuesday", "teo:-1", "rain@tuesday", "teo:+1")
    was = [supposed(problem, text).problem.tasks[0].was for text in texts]
    assert [one.change_cents for one in was if one is not None] == [0, 0, *[4_495_016] * 4]


def test_service_of_what_is_down_all_week_need_not_be() -> None:
    document = week()
    stop = {"id": "care-1", "place": "yard", "operation": "care", "open": [{"from": 0, "to": 10080}]}
    stop["modes"] = [{"id": "disk-1+teo", "resources": ["disk-1", "teo"], "minutes": 30, "cents": 900}]
    document["tasks"].append(stop)
    problem = parse_problem(document)
    waits = [supposed(problem, text).problem.tasks[3].leave_cents for text in ("disk-1:-1", "tractor-1:-1")]
    assert waits == [0, None], "that of the disk waits, for a down tractor nothing of the disk's does"
    must = [
        supposed(problem, text).problem.tasks[3].leave_cents
        for text in ("disk-1:-1@monday", "teo:-1", "disk-1:+1")
    ]
    assert must == [None, None, None]


def test_overtime_is_a_choice_beside_the_hours_that_a_hand_has(problem: Problem) -> None:
    found = supposed(problem, "overtime:+1h@monday")
    hand = found.problem.resource_of["hand-1"]
    assert [(s.start, s.end, s.extra_cents_per_hour) for s in hand.calendar][:4] == [
        (420, 720, 0),
        (750, 1080, 0),
        (1080, 1140, 1050),  # half of 35 cents a minute
        (DAY + 420, DAY + 720, 0),
    ]
    own = found.problem.resource_of["hand-1 in own hours"]
    assert (own.kind, own.roams) == ("hours", False)
    assert own.calendar == problem.resource_of["hand-1"].calendar
    modes = {mode.id: mode for mode in found.problem.tasks[0].modes}
    assert modes["tractor-1+disk-1+hand-1"].resources == (
        "tractor-1",
        "disk-1",
        "hand-1",
        "hand-1 in own hours",
    )
    longer = "tractor-1+disk-1+hand-1 (longer)"
    assert modes[longer].resources == ("tractor-1", "disk-1", "hand-1")
    assert found.base_mode["field-01/disk", longer] == "tractor-1+disk-1+hand-1"


def test_overtime_costs_what_the_dearest_hour_of_the_hand_costs_or_what_is_said() -> None:
    document = week()
    document["resources"][2]["calendar"][1]["extra_cents_per_hour"] = 700
    problem = parse_problem(document)
    paid = {
        text: supposed(problem, text).problem.resource_of["hand-1"].calendar[2]
        for text in ("overtime:+2h@mon", "overtime:+2h@mon=$11/h")
    }
    assert paid["overtime:+2h@mon"] == WorkStretch(1080, 1200, 700)
    assert paid["overtime:+2h@mon=$11/h"] == WorkStretch(1080, 1200, 1100)


def test_overtime_goes_on_behind_the_last_hours_of_a_shift_until_the_next_begin() -> None:
    document = week()
    document["resources"][2]["calendar"] = [
        {"from": 600, "to": 1400},
        {"from": DAY + 1200, "to": 2 * DAY + 60},
        {"from": 2 * DAY + 80, "to": 2 * DAY + 90},
    ]
    found = supposed(parse_problem(document), "hand-1:+2h").problem.resource_of["hand-1"]
    assert [(s.start, s.end) for s in found.calendar] == [
        (600, 1400),
        (1400, 1520),
        (DAY + 1200, 2 * DAY + 60),
        (2 * DAY + 60, 2 * DAY + 80),
        (2 * DAY + 80, 2 * DAY + 90),
        (2 * DAY + 90, 2 * DAY + 210),
    ]


def test_overtime_in_hours_in_which_the_field_is_shut_offers_no_way(problem: Problem) -> None:
    document = week()
    document["tasks"][0]["open"] = [{"from": 0, "to": 1080}]
    found = supposed(parse_problem(document), "overtime:+1h@monday")
    assert [mode.id for mode in found.problem.tasks[0].modes] == [
        "tractor-1+disk-1+hand-1",
        "tractor-1+disk-1+teo",
    ]
    assert [mode.id for mode in found.problem.tasks[1].modes] == ["teo", "teo (longer)"]


def test_what_is_fixed_or_under_way_keeps_its_only_way(problem: Problem) -> None:
    document = week()
    way = {"mode": "tractor-1+disk-1+teo", "minutes_left": 30, "cents_left": 0, "held_for": 60}
    document["tasks"][0] = {**document["tasks"][0], "under_way": way}
    del document["tasks"][0]["was"]
    document["tasks"][1]["fixed"] = {"mode": "gone", "from": 0}
    held = parse_problem(document)
    for text in ("hand:+1", "overtime:+1h", "disk:+1"):
        found = supposed(held, text).problem
        assert [len(task.modes) for task in found.tasks] == [2, 1, 1]


def test_a_new_way_never_takes_a_name_that_is_taken() -> None:
    document = week()
    document["tasks"][0]["was"]["mode"] = "tractor-1+disk-1+extra hand"
    document["tasks"][0]["modes"][0]["id"] = "tractor-1+disk-1+teo (longer)"
    document["resources"][0]["id"] = "extra disk-1"
    for mode in document["tasks"][0]["modes"]:
        mode["resources"][0] = "extra disk-1"
    taken = parse_problem(document)
    new = supposed(taken, "hand:+1").problem.tasks[0].modes[2]
    assert new.id == "extra disk-1+disk-1+extra hand"
    hired = supposed(taken, "disk:+1").problem
    assert "extra disk-1 2" in hired.resource_of
    longer = [mode.id for mode in supposed(taken, "overtime:+1h").problem.tasks[0].modes]
    assert len(set(longer)) == len(longer) == 4


@pytest.mark.parametrize("seed", range(40))
def test_a_plan_of_the_old_problem_is_a_plan_of_the_new_one_at_the_same_cost(seed: int) -> None:
    """Whatever is added: no way, hour or resource of the old problem is taken away."""
    problem = parse_problem(random_problem(seed))
    plan = solve(problem, seconds=5, rounds=3)
    if plan.status == "none":
        assert plan.why
        return
    texts = [*usual_suppositions(problem), "r0:+1", "r0:+2=$3/h"]
    texts += [f"{text.removesuffix('1')}2" for text in texts if text.startswith("outfit:")]
    texts += (
        ["overtime:+0.1h"] if any(one.kind == "hand" and one.calendar for one in problem.resources) else []
    )
    for text in texts:
        found = check(supposed(problem, text, plan).problem, plan)
        assert found.violations == ()
        assert found.cost == plan.cost
