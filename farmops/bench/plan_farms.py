"""Farms of any size from a seed, as planning problems: what the bench of plans and the planner's tests plan.

Fields lie in clusters around a yard. Ground is shut for a quarter of the half days, and later days are less sure.
Outfits are mixed: each field can be worked by some of the tractors (every second one slower and dearer), some of the
implements and some of the hands. A field's work is a chain of one to six passes; long passes are cut into parts of a
day. Under some fields a pivot has to be moved first: two hands start it and look, it walks alone, two hands stop it
and look. The same fields, seed and days give the same farm.
"""

import math
from itertools import combinations, product
from random import Random
from typing import Any

RATE_AC_PER_H = {"disk": 12.0, "rip": 9.0, "plant": 11.0}
ORDERS = [
    ["disk"],
    ["disk", "disk"],
    ["disk", "rip"],
    ["disk", "disk", "rip"],
    ["rip", "plant"],
    ["plant"],
    ["disk", "rip", "plant"],
]
DAY_PART_MIN = 540


class Farm:
    """A farm of `fields` fields (1 or more) over some days; `problem` is its planning problem as JSON."""

    def __init__(self, fields: int, seed: int, days: int = 7) -> None:
        self.rng = Random(seed)
        self.days, self.horizon = days, days * 1440
        self.tractors, self.hands = max(3, fields // 5), max(4, fields // 4)
        self.implements = {
            "disk": max(2, fields // 7),
            "rip": max(1, fields // 10),
            "plant": max(1, fields // 10),
        }
        self.tasks: list[dict[str, Any]] = []
        self.pivots = [number for number in range(fields) if number % 3 == 0]
        places, roads = self._map(fields)
        resources = self._resources()
        for number in range(fields):
            self._field(number)
        self.problem: dict[str, Any] = {
            "format": "planning-problem/1",
            "start": "2027-04-05T00:00:00-04:00",
            "zone": "America/New_York",
            "horizon": self.horizon,
            "step": 15,
            "resources": resources,
            "places": places,
            "road_minutes": roads,
            "tasks": self.tasks,
        }

    def _map(self, fields: int) -> tuple[list[str], list[list[int]]]:
        rng = self.rng
        centers = [(rng.uniform(0, 20), rng.uniform(0, 20)) for _ in range(max(2, fields // 6))]
        points = [(10.0, 10.0)]
        for _ in range(fields):
            x, y = rng.choice(centers)
            points.append((x + rng.gauss(0, 1.5), y + rng.gauss(0, 1.5)))
        roads = [[0 if a is b else 3 + round(2 * math.dist(a, b)) for b in points] for a in points]
        size = range(len(points))
        for k, i, j in product(size, size, size):
            roads[i][j] = min(roads[i][j], roads[i][k] + roads[k][j])
        return ["yard", *(f"field-{number}" for number in range(fields))], roads

    def _resources(self) -> list[dict[str, Any]]:
        whole = [{"from": 0, "to": self.horizon}]
        daylight = [{"from": day * 1440 + 400, "to": day * 1440 + 1180} for day in range(self.days)]
        shifts: list[dict[str, int]] = []
        for day in range(self.days):
            if day % 7 != 6:
                for a, b, extra in ((420, 720, 0), (750, 1080, 0), (1080, 1200, 900)):
                    stretch = {"from": day * 1440 + a, "to": day * 1440 + b}
                    shifts.append({**stretch, "extra_cents_per_hour": extra} if extra else stretch)
        roams = {"home": "yard", "roams": True}
        found: list[dict[str, Any]] = [
            {
                "id": f"tractor-{number}",
                "kind": "tractor",
                **roams,
                "road_cents_per_minute": 95,
                "calendar": whole,
                "changeover": {"minutes": 30, "cents": 500},
            }
            for number in range(self.tractors)
        ]
        for kind, count in self.implements.items():
            found += [
                {
                    "id": f"{kind}-{number}",
                    "kind": "implement",
                    **roams,
                    "road_factor": 2.0 if kind == "disk" else 1.5,
                    "calendar": whole,
                    "road_calendar": daylight,
                }
                for number in range(count)
            ]
        found += [
            {"id": f"hand-{number}", "kind": "hand", **roams, "road_cents_per_minute": 35, "calendar": shifts}
            for number in range(self.hands)
        ]
        found += [{"id": f"pivot-{number}", "kind": "pivot", "calendar": whole} for number in self.pivots]
        return found

    def _field(self, number: int) -> None:
        rng = self.rng
        area_ac = rng.uniform(30, 140)
        stretches = []
        for day, (a, b) in product(range(self.days), ((0, 780), (780, 1440))):
            if rng.random() >= 0.25:
                chance = round(1 - 0.075 * day * rng.random(), 3)
                stretches.append({"from": day * 1440 + a, "to": day * 1440 + b, "chance": max(0.4, chance)})
        late = rng.choice([300, 600, 1500, 3000])
        shared = {
            "place": f"field-{number}",
            "due": rng.randint(1, self.days + 2) * 1440,
            "late_cents_per_hour": late,
            "leave_cents": 150_000 + 60 * late,
        }
        ahead: str | None = None
        if number in self.pivots and rng.random() < 0.5:
            ahead = self._move(number, shared)
        for turn, operation in enumerate(rng.choice(ORDERS)):
            minutes = area_ac / RATE_AC_PER_H[operation] * 60
            parts = max(1, math.ceil(minutes / DAY_PART_MIN))
            for part in range(parts):
                task: dict[str, Any] = {
                    "id": f"field-{number}/{operation}-{turn}#{part + 1}",
                    "operation": operation,
                    "modes": self._modes(operation, minutes / parts),
                    "open": stretches,
                    "hold_limit": 2880,
                    **shared,
                }
                if ahead is not None:
                    task["after"] = [{"task": ahead}]
                self.tasks.append(task)
                ahead = task["id"]

    def _move(self, number: int, shared: dict[str, Any]) -> str:
        """Start and look, walk, stop and look: two hands, one at the center and one at the end tower, at both ends."""
        rng, pivot = self.rng, f"pivot-{number}"
        ahead: str | None = None
        for name in ("look", "walk", "stop"):
            modes = [
                {
                    "id": f"{pivot}+hand-{one}+hand-{other}",
                    "resources": [pivot, f"hand-{one}", f"hand-{other}"],
                    "minutes": 20,
                    "cents": 1200,
                }
                for one, other in combinations(sorted(rng.sample(range(self.hands), 4)), 2)
            ]
            if name == "walk":
                modes = [{"id": pivot, "resources": [pivot], "minutes": rng.randint(200, 500), "cents": 100}]
            task: dict[str, Any] = {
                "id": f"field-{number}/pivot-{name}",
                "operation": "move",
                "modes": modes,
                "open": [{"from": 0, "to": self.horizon}],
                **shared,
            }
            if ahead is not None:
                task["after"] = [{"task": ahead, "max_gap": 720}]
            self.tasks.append(task)
            ahead = task["id"]
        assert ahead is not None
        return ahead

    def _modes(self, operation: str, minutes: float) -> list[dict[str, Any]]:
        rng, count = self.rng, self.implements[operation]
        tractors = sorted(rng.sample(range(self.tractors), 3))
        implements = sorted(rng.sample(range(count), min(count, 2)))
        hands = range(4) if operation == "plant" else sorted(rng.sample(range(self.hands), 4))
        found = []
        for tractor, implement, hand in product(tractors, implements, hands):
            names = [f"tractor-{tractor}", f"{operation}-{implement}", f"hand-{hand}"]
            needed = round(minutes * (1 + 0.15 * (tractor % 2)))
            found.append(
                {
                    "id": "+".join(names),
                    "resources": names,
                    "setup": names[1],
                    "minutes": needed,
                    "cents": round(needed * 130 * (1 + 0.1 * (tractor % 2))),
                }
            )
        return found
