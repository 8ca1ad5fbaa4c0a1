"""The worked example of the rule book: the problem, and the plan that it prints."""

import copy
from typing import Any

PROBLEM: dict[str, Any] = {
    "format": "planning-problem/1",
    "start": "2027-04-05T00:00:00-04:00",
    "zone": "America/New_York",
    "horizon": 10080,
    "step": 15,
    "resources": [
        {
            "id": "tractor-1",
            "kind": "tractor",
            "home": "yard",
            "roams": True,
            "road_cents_per_minute": 95,
            "calendar": [{"from": 0, "to": 10080}],
            "changeover": {"minutes": 30, "cents": 500},
            "setup_now": None,
        },
        {
            "id": "disk-1",
            "kind": "implement",
            "home": "yard",
            "roams": True,
            "road_factor": 2.0,
            "calendar": [{"from": 0, "to": 10080}],
            "road_calendar": [{"from": 400, "to": 1180}],
        },
        {
            "id": "hand-1",
            "kind": "hand",
            "home": "yard",
            "roams": True,
            "road_cents_per_minute": 35,
            "calendar": [
                {"from": 420, "to": 720},
                {"from": 750, "to": 1080},
                {"from": 1080, "to": 1200, "extra_cents_per_hour": 900},
            ],
        },
    ],
    "places": ["yard", "field-01"],
    "road_minutes": [[0, 20], [20, 0]],
    "tasks": [
        {
            "id": "field-01/disk",
            "place": "field-01",
            "operation": "disk",
            "modes": [
                {
                    "id": "tractor-1+disk-1+hand-1",
                    "resources": ["tractor-1", "disk-1", "hand-1"],
                    "setup": "disk-1",
                    "minutes": 315,
                    "cents": 41200,
                }
            ],
            "open": [{"from": 420, "to": 1440, "chance": 0.9}],
            "due": 2880,
            "late_cents_per_hour": 1500,
            "leave_cents": 90000,
            "hold_limit": 2880,
            "was": {"mode": "tractor-1+disk-1+hand-1", "from": 480, "change_cents": 500},
        }
    ],
}

PLAN: dict[str, Any] = {
    "format": "week-plan/1",
    "status": "best",
    "cost": 45088,
    "bound": 45088,
    "seconds": 0.1,
    "cost_parts": {
        "direct": 41200,
        "late": 0,
        "extra": 0,
        "road": 2600,
        "change": 500,
        "left": 0,
        "weather": 788,
    },
    "tasks": [{"id": "field-01/disk", "mode": "tractor-1+disk-1+hand-1", "from": 450, "to": 795}],
    "left": [],
}


def problem() -> dict[str, Any]:
    return copy.deepcopy(PROBLEM)


def plan() -> dict[str, Any]:
    return copy.deepcopy(PLAN)
