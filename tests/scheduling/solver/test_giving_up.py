"""What a clash says that giving up a rule would allow is what trying everything without that rule finds."""

from time import monotonic

from scheduling.solver import check, parse_problem, solve
from scheduling.solver.explain import dollars
from scheduling.solver.giving_up import says_of, without
from scheduling.solver.timeline import UNITS_PER_CENT
from tests.scheduling.solver.by_hand import small_farm
from tests.scheduling.solver.tiny import random_problem, try_everything

NO_PLAN = "Even without it there is no plan, for other rules."


def test_leaving_a_task_that_must_be_done_would_cost_what_everything_tried_says() -> None:
    answers = set()
    for seed in range(160):
        raw = random_problem(seed)
        problem = parse_problem(raw)
        plan = solve(problem, seconds=5, rounds=8)
        for clash in plan.why:
            if clash.rule != "leave_cents":
                continue
            task = next(task for task in raw["tasks"] if task["id"] == clash.task)
            must, task["leave_cents"] = task["leave_cents"], 0
            cheapest = try_everything(parse_problem(raw))
            task["leave_cents"] = must
            answers.add(cheapest is None)
            says = (
                NO_PLAN if cheapest is None else f" a plan is there: {dollars(cheapest * UNITS_PER_CENT)}, "
            )
            assert says in clash.says, seed
    assert answers == {True, False}


def test_each_rule_of_a_clash_says_what_giving_it_up_would_allow() -> None:
    raw = small_farm()
    raw["tasks"][0]["latest"] = 410
    plan = solve(parse_problem(raw), seconds=5, rounds=10)
    says = {clash.rule: clash.says for clash in plan.why}
    assert set(says) == {"leave_cents", "road_minutes", "latest"}
    later = parse_problem(small_farm())
    again = solve(later, seconds=5, rounds=10)
    assert check(later, again).violations == ()
    assert again.cost is not None
    assert says["latest"].endswith(
        f"Without it a plan is there: {dollars(again.cost * UNITS_PER_CENT)}, {len(again.left)} left."
    )


def test_a_rule_that_the_time_did_not_reach_says_nothing_more() -> None:
    problem = parse_problem(small_farm())
    assert says_of([lambda: problem, lambda: problem], seed=1, seconds=0.0) == ["", ""]


def test_what_was_not_found_in_time_is_told_apart_from_what_cannot_be() -> None:
    raw = small_farm()
    for task in raw["tasks"][:2]:
        task.update(leave_cents=None, after=[], latest=480)
    problem = parse_problem(raw)
    in_time = without(problem, seed=1, until=None)
    assert (in_time.units, in_time.is_proved) == (None, True)
    too_late = without(problem, seed=1, until=monotonic() - 1)
    assert (too_late.units, too_late.is_proved) == (None, False)
    assert "may be there" in too_late.says
