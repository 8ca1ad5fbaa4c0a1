"""Weeks in which every task must be done and little room is left: cut around a plan that is then forgotten."""

from random import Random
from typing import Any

DAYS = 5


def tight_problem(seed: int, *, tasks: int, slack_min: int = 240) -> dict[str, Any]:
    """Return a problem of outfits of a tractor, an implement and a hand, each task with a short span to start in.

    In the plan it is cut around, tasks follow each other on outfits that stay together, half an hour apart.
    """
    rng = Random(seed)
    horizon = DAYS * 1440
    whole = [{"from": 0, "to": horizon}]
    outfits = 4
    kinds = ("tractor", "implement", "hand")
    resources: list[dict[str, Any]] = [
        {"id": f"{kind}-{n}", "kind": kind, "calendar": whole} for kind in kinds for n in range(outfits)
    ]
    free_at = [rng.randrange(0, 120, 15) for _ in range(outfits)]
    listed = []
    for number in range(tasks):
        one = min(range(outfits), key=lambda n: (free_at[n], n))
        minutes = 15 * rng.randint(8, 28)
        start = free_at[one]
        free_at[one] = start + minutes + 15
        ways = {(one, one, one)} | {tuple(rng.randrange(outfits) for _ in kinds) for _ in range(4)}
        modes = []
        for way in sorted(ways):
            names = [f"{kind}-{n}" for kind, n in zip(kinds, way)]
            longer = 0 if way == (one, one, one) else 15 * rng.randint(0, 6)
            modes.append(
                {
                    "id": "+".join(names),
                    "resources": names,
                    "minutes": minutes + longer,
                    "cents": rng.randint(1, 999),
                }
            )
        listed.append(
            {
                "id": f"task-{number}", "place": "yard", "operation": "work", "modes": modes, "open": whole,
                "earliest": max(0, start - rng.randint(0, slack_min)), "latest": start + rng.randint(0, slack_min),
            }
        )  # fmt: skip
    assert max(free_at) < horizon
    rng.shuffle(listed)
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": 15,
        "resources": resources,
        "places": ["yard"],
        "road_minutes": [[0]],
        "tasks": listed,
    }
