"""Published optima: classic job shops written as planning problems.

Sources stand beside the instances in `fixtures/published/job_shops.json`: ft06 and ft10 (Muth and Thompson 1963), la01 to
la10 and la16 to la20 (Lawrence 1984), abz5 and abz6 (Adams, Balas and Zawack 1988), orb01 to orb10 without orb07
(Applegate and Cook 1991).

Instance j301_1 of the project scheduling library PSPLIB (Kolisch and Sprecher 1996, optimum 43) is not among them. Its four
resources have capacities of 12 and more, of which an activity takes several units, a format with resources of one
task at a time has no capacity for. Writing each unit as a resource of its own is possible in principle, for the units
are alike; but a mode names its resources one by one, so an activity that takes 4 of 12 alike units needs a mode for each
of the 495 choices of 4, and one that takes 8 units of one kind and 4 of another the product of both: the numbers of
modes run into the hundreds of thousands, and the problem that is then solved is no test of this planner.
"""

import pytest

from farmops.bench.plan_job_shops import EASY, TEN_BY_TEN, as_problem, shops
from scheduling.solver import Plan, check, parse_problem, solve

pytestmark = pytest.mark.long


def planned(name: str, *, seconds: float) -> Plan:
    """Plan a shop without a clock: `seconds` scales the work that proofs may take."""
    problem = parse_problem(as_problem(shops()[name]["jobs"]))
    plan = solve(problem, seconds=seconds, rounds=5)
    assert check(problem, plan).violations == ()
    return plan


@pytest.mark.parametrize("name", ["ft06", "la02", "la04", "la06", "la16"])
def test_a_classic_job_shop_is_solved_to_its_published_optimum_and_proved(name: str) -> None:
    # One or two of each size; all that are easy are proved by `bench plan --only job-shops`.
    plan = planned(name, seconds=20)
    assert plan.status == "best"
    assert plan.cost == plan.bound == shops()[name]["optimum_makespan"]
    last = next(task for task in plan.tasks if task.id == "done")
    assert last.start == shops()[name]["optimum_makespan"]


@pytest.mark.parametrize("name", ["la20"])
def test_a_job_shop_of_ten_machines_is_planned_within_3_percent_of_its_published_optimum(name: str) -> None:
    # All seventeen of them are planned by `bench plan --only job-shops`, with the time that they were promised.
    plan, optimum = planned(name, seconds=1.5), shops()[name]["optimum_makespan"]
    assert plan.cost is not None
    assert plan.bound is not None
    assert plan.bound <= optimum <= plan.cost <= 1.03 * optimum


def test_the_published_shops_are_whole() -> None:
    assert len(shops()) == 28
    assert {*EASY, *TEN_BY_TEN} <= set(shops())
    for shop in shops().values():
        jobs, optimum = shop["jobs"], shop["optimum_makespan"]
        machines = range(len(jobs[0]))
        assert all(sorted(machine for machine, _ in job) == list(machines) for job in jobs)
        # No plan is shorter than its longest job or its busiest machine, the cheapest one not longer than all in a row.
        longest = max(sum(minutes for _, minutes in job) for job in jobs)
        busiest = max(
            sum(minutes for job in jobs for at, minutes in job if at == machine) for machine in machines
        )
        assert max(longest, busiest) <= optimum < sum(minutes for job in jobs for _, minutes in job)
        assert shop["source"]
    assert all(len(shops()[name]["jobs"]) == len(shops()[name]["jobs"][0]) == 10 for name in TEN_BY_TEN)


def test_a_job_shop_of_one_machine_lasts_as_long_as_its_work() -> None:
    # By hand: 3 + 4 + 5 minutes on the one machine.
    plan = solve(parse_problem(as_problem([[[0, 3]], [[0, 4]], [[0, 5]]])), seconds=5, rounds=5)
    assert (plan.status, plan.cost) == ("best", 12)
