"""The planner beside a second program: PyJobShop (MIT, version 0.0.9), where both can say the problem.

The problems have what both know: alternatives that hold several resources, calendars and shut hours that work goes on
after, order with least and most time between, roads and changeovers as time, lateness and leaving at a price. What the
second program cannot say is left out of them: direct cents, road prices, overtime, chances, a first trip.
"""

from random import Random
from typing import Any

import pytest

from farmops.bench.plan_pyjobshop import Translation
from scheduling.solver import parse_problem, solve

HORIZON, STEP = 4 * 1440, 15
DEPOT_MIN = 0  # nobody pays for a first trip: the second program knows none


def a_problem(seed: int) -> dict[str, Any]:
    """Five to seven passes of three machines and a hand, over four days; all times whole steps."""
    rng = Random(seed)
    whole = [{"from": 0, "to": HORIZON}]
    shifts = [{"from": day * 1440 + 420, "to": day * 1440 + rng.choice([900, 1080])} for day in range(4)]
    roam = {"home": "depot", "roams": True, "road_calendar": whole}
    resources: list[dict[str, Any]] = [
        {
            "id": f"machine-{n}",
            "kind": "tractor",
            "calendar": whole,
            **roam,
            "changeover": {"minutes": 30, "cents": 0},
        }
        for n in range(3)
    ]
    resources += [{"id": "hand-0", "kind": "hand", "calendar": shifts, **roam}]
    resources += [{"id": "hand-1", "kind": "hand", "calendar": whole}]
    tasks: list[dict[str, Any]] = []
    for number in range(rng.randint(5, 7)):
        operation = rng.choice(["disk", "rip"])
        minutes = 15 * rng.randint(8, 40)
        modes = [
            {
                "id": f"machine-{machine}+hand-{hand}",
                "resources": [f"machine-{machine}", f"hand-{hand}"],
                "setup": operation,
                "minutes": minutes + 15 * machine,
                "cents": 0,
            }
            for machine, hand in rng.sample([(m, h) for m in range(3) for h in range(2)], rng.randint(1, 3))
        ]
        task: dict[str, Any] = {
            "id": f"task-{number}",
            "place": f"field-{rng.randrange(3)}",
            "operation": operation,
            "modes": modes,
            "open": [{"from": a, "to": b} for a, b in ((0, 2100), (2700, HORIZON)) if rng.random() < 0.8]
            or whole,
            "due": 15 * rng.randint(20, 150),
            "late_cents_per_hour": 4 * rng.randint(10, 300),
            "earliest": 15 * rng.choice([0, 0, 40]),
        }
        if number and rng.random() < 0.5:
            task["after"] = [{"task": f"task-{number - 1}", "min_gap": 15 * rng.choice([0, 4])}]
            if "leave_cents" not in tasks[-1] and rng.random() < 0.5:
                task["after"][0]["max_gap"] = 15 * rng.randint(60, 150)
        elif rng.random() < 0.5:
            # So many steps' lateness; nothing waits for it, so that a chain never leaves at two prices.
            task["leave_cents"] = task["late_cents_per_hour"] // 4 * rng.randint(20, 200)
        if number and "leave_cents" in tasks[-1]:
            task.pop("after", None)
        tasks.append(task)
    roads = [[0, DEPOT_MIN, DEPOT_MIN, DEPOT_MIN]]
    far = [15 * rng.randint(1, 6) for _ in range(3)]
    for i in range(3):
        roads.append([DEPOT_MIN, *(0 if i == j else far[i] + far[j] for j in range(3))])
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": HORIZON,
        "step": STEP,
        "resources": resources,
        "places": ["depot", "field-0", "field-1", "field-2"],
        "road_minutes": roads,
        "tasks": tasks,
    }


@pytest.mark.parametrize("seed", [*range(14), 33, 39, 48])
def test_both_programs_prove_the_same_least_cost(seed: int) -> None:
    problem = parse_problem(a_problem(seed))
    second = Translation(problem)
    found = second.solve(seconds=60, seed=1, workers=1)
    plan = solve(problem, seconds=60, rounds=40)
    assert second.proved is not None or found is None
    assert plan.cost == second.proved
    assert plan.status == ("none" if found is None else "best")
