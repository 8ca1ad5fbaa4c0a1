"""Small random problems whose rows are full: few resources, many short tasks, changeovers, roads with short cuts."""

from random import Random
from typing import Any


def random_problem(seed: int, *, tasks: int = 5, horizon: int = 40, step: int = 2) -> dict[str, Any]:
    """Return a problem of the format, as JSON, drawn from the seed: nearly all its tasks are worth doing."""
    rng = Random(seed)
    places = ["p0", "p1", "p2"]
    resources = [
        {
            "id": f"r{number}",
            "kind": "tractor",
            "roams": True,
            "home": "p0",
            "road_cents_per_minute": rng.choice([0, 7]),
            "calendar": [{"from": 0, "to": horizon}],
            "changeover": {"minutes": rng.choice([0, 3]), "cents": 20},
            "setup_now": rng.choice([None, "x"]),
        }
        for number in range(rng.randint(1, 2))
    ]
    listed = []
    for number in range(tasks):
        modes = [
            {
                "id": resource["id"],
                "resources": [resource["id"]],
                "minutes": rng.randint(1, 5),
                "cents": rng.choice([0, 30]),
                "setup": rng.choice(["x", "y", None]),
            }
            for resource in resources
        ]
        task = {
            "id": f"t{number}",
            "place": rng.choice(places),
            "operation": "work",
            "modes": modes,
            "open": [{"from": rng.choice([0, 0, 7]), "to": horizon}],
            "late_cents_per_hour": rng.choice([0, 600]),
            "due": 0,
            "leave_cents": 5000,
        }
        if number and rng.random() < 0.3:
            task["after"] = [{"task": f"t{rng.randrange(number)}", "max_gap": rng.choice([None, 9])}]
        if rng.random() < 0.2:
            start = rng.randrange(horizon // 2, horizon, step)
            task["was"] = {"mode": "r0", "from": start, "change_cents": 3000}
        listed.append(task)
    size = range(len(places))
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": step,
        "resources": resources,
        "places": places,
        "road_minutes": [[0 if i == j else rng.choice([1, 2, 8]) for j in size] for i in size],
        "tasks": listed,
    }
