"""An old plan beside a new one: what had to change by the independent check, and what the choices save by it."""

import copy
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from scheduling.solver import Plan, Problem, check, parse_problem, solve
from scheduling.solver.check import _Checker
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.compare import CHANGED, Change, Comparison, compare, to_json
from scheduling.solver.plan import LeftTask, PlacedTask
from tests.scheduling.solver import rows, tiny


def _plan(problem: Problem, placed: list[PlacedTask]) -> Plan:
    standing = {p.id for p in placed}
    left = tuple(LeftTask(task.id, "tried") for task in problem.tasks if task.id not in standing)
    result = check(problem, Plan("good", 0, 0, 0.0, None, tuple(placed), left))
    assert {violation.rule for violation in result.violations} <= {"cost", "cost_parts", "bound"}
    return Plan("good", result.cost, 0, 0.0, result.cost_parts, tuple(placed), left)


def _farm(**changes: Any) -> dict[str, Any]:
    """One tractor and one hand, two fields ten minutes apart, three days of 8 hours."""
    shifts = [{"from": day * 1440 + 480, "to": day * 1440 + 960} for day in range(3)]
    roams = {"roams": True, "home": "yard", "road_cents_per_minute": 10}

    def task(name: str, place: str, minutes: int) -> dict[str, Any]:
        modes = [
            {"id": f"{t}+hand", "resources": [t, "hand"], "minutes": minutes, "cents": 1000 * (i + 1)}
            for i, t in enumerate(("big", "small"))
        ]
        return {
            "id": name,
            "place": place,
            "operation": "disk",
            "modes": modes,
            "open": [{"from": 0, "to": 4320}],
            "due": 0,
            "late_cents_per_hour": 100,
            "leave_cents": 900_000,
        }

    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": 4320,
        "step": 15,
        "resources": [
            {"id": "big", "kind": "tractor", "calendar": [{"from": 0, "to": 4320}], **roams},
            {"id": "small", "kind": "tractor", "calendar": [{"from": 0, "to": 4320}], **roams},
            {"id": "hand", "kind": "hand", "calendar": shifts, **roams},
        ],
        "places": ["yard", "north", "south"],
        "road_minutes": [[0, 10, 10], [10, 0, 10], [10, 10, 0]],
        "tasks": [task("north", "north", 120), task("south", "south", 240)],
        **changes,
    }


def _of(comparison: Comparison, name: str) -> Change:
    return next(change for change in comparison.changes if change.task == name)


NORTH = PlacedTask("north", "big+hand", 495, 615)
SOUTH = PlacedTask("south", "big+hand", 630, 870)


def test_a_plan_beside_itself_changes_nothing() -> None:
    problem = parse_problem(_farm())
    plan = _plan(problem, [NORTH, SOUTH])
    found = compare(problem, plan, problem, plan)
    assert [change.kind for change in found.changes] == ["same", "same"]
    assert (found.changed, found.had_to, found.old_stands) == (0, 0, 2)
    assert found.old_cost_cents == found.new_cost_cents == plan.cost
    assert found.says.startswith("Nothing changes.")


def test_a_task_whose_hour_is_shut_had_to_move_and_the_rule_is_named() -> None:
    old = parse_problem(_farm())
    wet = _farm()
    wet["tasks"][0]["open"] = [{"from": 1440, "to": 4320}]
    new = parse_problem(wet)
    later = replace(NORTH, start=1935, end=2055)
    found = compare(
        old, _plan(old, [NORTH, SOUTH]), new, _plan(new, [later, SOUTH]), names={"north": "Pond 80"}
    )
    change = _of(found, "north")
    assert (change.kind, change.had_to, change.rule) == ("day", True, "open")
    assert change.says == (
        "It moves from Mon Apr 5 8:15 am to Tue Apr 6 8:15 am. It had to: it is shut Mon Apr 5 8:15 am."
    )
    assert (found.changed, found.had_to, found.by_choice, found.old_stands) == (1, 1, 0, 1)
    # South alone costs 1,000 and $14.50 of lateness at $1 an hour, and 20 cents a minute for 10 minutes of road.
    assert found.old_cost_cents == 1000 + 1450 + 200 + 900_000


def test_a_choice_says_what_it_saves_exactly() -> None:
    problem = parse_problem(_farm())
    old = _plan(problem, [NORTH, replace(SOUTH, mode="small+hand", start=645, end=885)])
    new = _plan(problem, [NORTH, SOUTH])
    found = compare(problem, old, problem, new)
    change = _of(found, "south")
    assert (change.kind, change.had_to, change.together) == ("outfit", False, ())
    assert old.cost is not None
    assert new.cost is not None
    assert change.saves_cents == old.cost - new.cost == 1000 + 25
    assert change.says == (
        "It goes from small+hand to big+hand, and from Mon Apr 5 10:45 am to Mon Apr 5 10:30 am. "
        "With it back as the old plan had it, this plan would cost $10.25 more."
    )


def test_two_that_change_places_are_told_together() -> None:
    problem = parse_problem(_farm())
    old = _plan(problem, [replace(NORTH, start=750, end=870), replace(SOUTH, start=495, end=735)])
    new = _plan(problem, [NORTH, SOUTH])
    found = compare(problem, old, problem, new)
    change = _of(found, "north")
    assert (change.kind, change.had_to, change.together) == ("hour", False, ("south",))
    assert old.cost is not None
    assert new.cost is not None
    # North ends 255 minutes sooner and south 135 later, at a dollar an hour: $2.
    assert change.saves_cents == old.cost - new.cost == 200


def test_a_task_that_gives_way_to_one_that_had_to_move_says_so() -> None:
    old = parse_problem(_farm())
    wet = _farm()
    wet["tasks"][0]["open"] = [{"from": 600, "to": 900}]
    new = parse_problem(wet)
    moved = [replace(NORTH, start=600, end=720), PlacedTask("south", "big+hand", 1935, 2175)]
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, _plan(new, moved))
    change = _of(found, "south")
    assert (change.had_to, change.blocker, change.saves_cents) == (False, "north", None)
    assert change.says.endswith("It makes room for north, which had to change.")


def test_a_task_that_lasts_longer_now_drives_its_neighbor_out() -> None:
    old = parse_problem(_farm())
    wet = _farm()
    for task in wet["tasks"]:
        task["open"] = [{"from": 0, "to": 540}, {"from": 600, "to": 4320}]
    new = parse_problem(wet)
    longer = _plan(new, [replace(NORTH, end=675), PlacedTask("south", "big+hand", 690, 930)])
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, longer)
    assert _of(found, "north").says == "It stays, and now lasts until Mon Apr 5 11:15 am."
    change = _of(found, "south")
    assert (change.kind, change.had_to, change.rule, change.blocker) == ("hour", True, "resources", "north")


def test_what_waits_for_a_task_that_cannot_end_in_time_had_to_move() -> None:
    chained = _farm()
    chained["tasks"][1]["after"] = [{"task": "north"}]
    old = parse_problem(chained)
    chained["tasks"][0]["open"] = [{"from": 600, "to": 4320}]
    new = parse_problem(chained)
    late = [PlacedTask("north", "small+hand", 600, 720), PlacedTask("south", "big+hand", 1935, 2175)]
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, _plan(new, late))
    change = _of(found, "south")
    assert (change.had_to, change.rule, change.blocker) == (True, "after", "north")
    assert "which cannot end before Mon Apr 5 12:00 pm" in change.says


def test_a_later_start_of_the_week_shifts_the_old_hours() -> None:
    old = parse_problem(_farm())
    plan = _plan(old, [NORTH, replace(SOUTH, start=1935, end=2175)])
    tuesday = _farm(start="2027-04-06T00:00:00-04:00")
    tuesday["tasks"] = [*tuesday["tasks"][1:], {**tuesday["tasks"][0], "id": "north again"}]
    new = parse_problem(tuesday)
    stays = PlacedTask("south", "big+hand", 495, 735)
    found = compare(old, plan, new, _plan(new, [stays, replace(NORTH, id="north again", start=750, end=870)]))
    assert [(change.task, change.kind) for change in found.changes] == [
        ("south", "same"),
        ("north again", "new"),
        ("north", "gone"),
    ]
    assert found.changed == 0


def test_an_hour_that_has_passed_had_to_move() -> None:
    old = parse_problem(_farm())
    new = parse_problem(_farm(start="2027-04-05T12:00:00-04:00"))
    plan = _plan(new, [replace(NORTH, start=495, end=615), replace(SOUTH, start=630, end=870)])
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, plan)
    assert [(change.had_to, change.rule) for change in found.changes] == [(True, "horizon")] * 2
    assert found.changes[0].old == replace(NORTH, start=-225, end=-105)
    assert "Mon Apr 5 8:15 am, has passed" in found.changes[0].says


def test_a_mode_that_is_gone_and_a_machine_that_is_down_had_to_change() -> None:
    old = parse_problem(_farm())
    down = _farm()
    down["tasks"][0]["modes"] = down["tasks"][0]["modes"][1:]
    down["resources"][0]["calendar"] = [{"from": 1440, "to": 4320}]
    new = parse_problem(down)
    other = [replace(NORTH, mode="small+hand"), replace(SOUTH, mode="small+hand")]
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, _plan(new, other))
    assert [(c.kind, c.rule, c.blocker) for c in found.changes] == [
        ("outfit", "modes", None),
        ("outfit", "calendar", "big"),
    ]


def test_left_and_planned_again_are_told_with_what_they_are_worth() -> None:
    problem = parse_problem(_farm())
    both, one = _plan(problem, [NORTH, SOUTH]), _plan(problem, [NORTH])
    left = _of(compare(problem, both, problem, one), "south")
    assert (left.kind, left.had_to) == ("left", False)
    assert both.cost is not None
    assert one.cost is not None
    assert left.saves_cents == both.cost - one.cost
    again = _of(compare(problem, one, problem, both), "south")
    assert (again.kind, again.saves_cents) == ("planned", one.cost - both.cost)


def test_an_old_plan_that_must_be_given_up_has_no_cost() -> None:
    old = parse_problem(_farm())
    wet = _farm()
    wet["tasks"][0].update(open=[{"from": 1440, "to": 4320}], leave_cents=None)
    new = parse_problem(wet)
    later = replace(NORTH, start=1935, end=2055)
    found = compare(old, _plan(old, [NORTH, SOUTH]), new, _plan(new, [later, SOUTH]))
    assert found.old_cost_cents is None
    assert "something that must be done, or is now fixed, would be left" in found.says


def test_a_plan_of_another_problem_is_refused_and_none_is_no_plan() -> None:
    problem = parse_problem(_farm())
    plan = _plan(problem, [NORTH, SOUTH])
    stranger = replace(plan, tasks=(*plan.tasks, replace(NORTH, id="far")))
    for plans in ((stranger, plan), (plan, stranger)):
        with pytest.raises(PlanMismatchError, match="far, which is no task of"):
            compare(problem, plans[0], problem, plans[1])
    with pytest.raises(PlanMismatchError, match="big cannot be at south in time"):
        compare(problem, plan, problem, replace(plan, tasks=(NORTH, replace(SOUTH, start=615, end=855))))
    nothing = compare(problem, plan, problem, Plan("none", None, None, 0.0, None))
    assert (nothing.changes, nothing.new_cost_cents) == ((), None)


def _harder(problem: dict[str, Any], seed: int) -> dict[str, Any]:
    """Return the problem with some hours shut and some ways gone."""
    rng, harder = Random(seed), copy.deepcopy(problem)
    for task in harder["tasks"]:
        if rng.random() < 0.4:
            cut = rng.randrange(4, harder["horizon"] // 2)
            task["open"] = [{**s, "from": max(s["from"], cut)} for s in task["open"] if s["to"] > cut]
        if rng.random() < 0.2 and len(task["modes"]) > 1 and "under_way" not in task:
            task["modes"] = task["modes"][1:]
    return harder


@pytest.mark.long
def test_what_had_to_change_is_what_the_check_forbids_and_savings_are_what_it_counts() -> None:
    forced = chosen = 0
    for seed in range(60):
        drawn = rows.random_problem(seed) if seed % 2 else tiny.random_problem(seed, tasks=4)
        old, new = parse_problem(drawn), parse_problem(_harder(drawn, seed))
        plans = [solve(problem, seconds=1, rounds=1) for problem in (old, new)]
        if "none" in (plans[0].status, plans[1].status):
            continue
        found = compare(old, plans[0], new, plans[1])
        assert to_json(found)["changed"] == found.changed == sum(c.kind in CHANGED for c in found.changes)
        for change in found.changes:
            if change.kind not in CHANGED or change.old is None:
                assert not change.had_to
                continue
            minutes = _alone(new, plans[1], change.old)
            if minutes is None:
                assert change.had_to, change
                forced += 1
            elif change.saves_cents is not None and not change.together:
                back = replace(change.old, end=minutes)
                cost = _plan(new, [p for p in plans[1].tasks if p.id != change.task] + [back]).cost
                assert cost is not None
                assert found.new_cost_cents is not None
                assert abs(cost - found.new_cost_cents - change.saves_cents) <= 1
                chosen += 1
    assert forced > 30
    assert chosen > 5


def _alone(problem: Problem, plan: Plan, old: PlacedTask) -> int | None:
    """Return the end of a task in its old place, or None where the check forbids it beside what is pinned."""
    checker, task = _Checker(problem, plan), problem.task_of[old.id]
    mode = task.mode(old.mode)
    if mode is None or task.fixed is not None or task.under_way is not None:
        return None
    faults, minutes = checker.alone(task, mode, old.start, None)
    if faults:
        return None
    pinned = [p for p in plan.tasks if problem.task_of[p.id].fixed or problem.task_of[p.id].under_way]
    placed = [*pinned, replace(old, end=minutes[-1] + 1)]
    return None if checker.order(placed) or checker.rows(placed)[0] else minutes[-1] + 1
