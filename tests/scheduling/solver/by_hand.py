"""A small farm and its plan, both worked out by hand, for the tests of the check."""

import json
from typing import Any, cast

DAY = [{"from": 0, "to": 1440}]


def small_farm() -> dict[str, Any]:
    """Two fields 20 and 30 minutes from the yard, 15 from each other; a tractor and a hand, a pivot that walks."""
    modes = {
        "disk": {
            "id": "t+h",
            "resources": ["tractor", "hand"],
            "setup": "disk",
            "minutes": 120,
            "cents": 9000,
        },
        "bed": {"id": "t+h", "resources": ["tractor", "hand"], "setup": "bed", "minutes": 90, "cents": 7000},
    }
    problem = {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": 1440,
        "step": 15,
        "resources": [
            {
                "id": "tractor",
                "kind": "tractor",
                "home": "yard",
                "roams": True,
                "road_cents_per_minute": 95,
                "calendar": DAY,
                "road_calendar": [{"from": 360, "to": 1200}],
                "changeover": {"minutes": 30, "cents": 500},
                "setup_now": "disk",
            },
            {
                "id": "hand",
                "kind": "hand",
                "home": "yard",
                "roams": True,
                "road_factor": 0.5,
                "road_cents_per_minute": 35,
                "calendar": [
                    {"from": 400, "to": 720},
                    {"from": 750, "to": 1000},
                    {"from": 1000, "to": 1200, "extra_cents_per_hour": 900},
                ],
            },
            {"id": "pivot", "kind": "pivot", "calendar": DAY},
        ],
        "places": ["yard", "north", "south"],
        "road_minutes": [[0, 20, 30], [20, 0, 15], [30, 15, 0]],
        "tasks": [
            {
                "id": "north/disk",
                "place": "north",
                "operation": "disk",
                "modes": [modes["disk"]],
                "open": DAY,
            },
            {
                "id": "north/bed",
                "place": "north",
                "operation": "bed",
                "modes": [modes["bed"]],
                "open": [{"from": 0, "to": 700}, {"from": 700, "to": 1440, "chance": 0.75}],
                "after": [{"task": "north/disk", "min_gap": 30, "max_gap": 600}],
                "due": 700,
                "late_cents_per_hour": 1201,
                "hold_limit": 300,
                "leave_cents": 60000,
            },
            {
                "id": "south/disk",
                "place": "south",
                "operation": "disk",
                "modes": [modes["disk"]],
                "open": DAY,
                "fixed": {"mode": "t+h", "from": 901},
                "was": {"mode": "t+h", "from": 900, "change_cents": 50},
            },
            {
                "id": "south/walk",
                "place": "south",
                "operation": "walk",
                "modes": [{"id": "alone", "resources": ["pivot"], "minutes": 300, "cents": 400}],
                "open": [{"from": 60, "to": 1440}],
                "under_way": {"mode": "alone", "minutes_left": 200, "cents_left": 250, "held_for": 100},
                "hold_limit": 500,
            },
            {
                "id": "north/extra",
                "place": "north",
                "operation": "disk",
                "modes": [modes["disk"]],
                "open": [{"from": 0, "to": 100}],
                "leave_cents": 777,
                "was": {"mode": "gone", "from": -60, "change_cents": 20},
            },
        ],
    }
    return cast(dict[str, Any], json.loads(json.dumps(problem)))  # so that nothing in it is shared


def good_plan() -> dict[str, Any]:
    """The plan worked out by hand.

    North: hand on the road 400-410, tractor 360-380; disk 420-540; the change to bedding takes 30 minutes; bed 570-660
    is not late. South: changed back and 15 minutes on the road; fixed at 901, the disk works 901-1021, 21 minutes of
    it at 900 cents an hour on top. The walk has its 200 minutes from 60 to 260, 360 minutes held with those before.
    Trips: tractor (20 + 15) x 95 = 3325; hand (10 + 8) x 35 = 630; changes 2 x 500.
    """
    return {
        "format": "week-plan/1",
        "status": "good",
        "cost": 9000 + 7000 + 9000 + 250 + 315 + 3325 + 630 + 1000 + 50 + 20 + 777,
        "bound": 100,
        "seconds": 1,
        "cost_parts": {
            "direct": 25250,
            "late": 0,
            "extra": 315,
            "road": 4955,
            "change": 70,
            "left": 777,
            "weather": 0,
        },
        "tasks": [
            {"id": "south/walk", "mode": "alone", "from": 0, "to": 260},
            {"id": "north/disk", "mode": "t+h", "from": 420, "to": 540},
            {"id": "north/bed", "mode": "t+h", "from": 570, "to": 660},
            {"id": "south/disk", "mode": "t+h", "from": 901, "to": 1021},
        ],
        "left": [{"id": "north/extra", "why": "It is shut."}],
    }
