"""Published optima: classic job shops written as planning problems.

Sources stand beside the instances in `fixtures/published/job_shops.json`: ft06 (Muth and Thompson 1963, optimum 55) and
la01 (Lawrence 1984, optimum 666).

Instance j301_1 of the project scheduling library PSPLIB (Kolisch and Sprecher 1996, optimum 43) is not among them. Its four
resources have capacities of 12 and more, of which an activity takes several units, a format with resources of one
task at a time has no capacity for. Writing each unit as a resource of its own is possible in principle, for the units
are alike; but a mode names its resources one by one, so an activity that takes 4 of 12 alike units needs a mode for each
of the 495 choices of 4, and one that takes 8 units of one kind and 4 of another the product of both: the numbers of
modes run into the hundreds of thousands, and the problem that is then solved is no test of this planner.
"""

import pytest

from farmops.bench.plan_job_shops import as_problem, shops
from scheduling.solver import parse_problem, solve


@pytest.mark.parametrize("name", ["ft06", "la01"])
def test_a_classic_job_shop_is_solved_to_its_published_optimum_and_proved(name: str) -> None:
    published = shops()[name]
    plan = solve(parse_problem(as_problem(published["jobs"])), seconds=20, rounds=30)
    assert plan.status == "best"
    assert plan.cost == plan.bound == published["optimum_makespan"]
    last = next(task for task in plan.tasks if task.id == "done")
    assert last.start == published["optimum_makespan"]


def test_a_job_shop_of_one_machine_lasts_as_long_as_its_work() -> None:
    # By hand: 3 + 4 + 5 minutes on the one machine.
    plan = solve(parse_problem(as_problem([[[0, 3]], [[0, 4]], [[0, 5]]])), seconds=5, rounds=5)
    assert (plan.status, plan.cost) == ("best", 12)
