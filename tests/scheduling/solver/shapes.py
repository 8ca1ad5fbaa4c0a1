"""Problems in many shapes, each of which makes much of one part of the rule book, drawn from a seed.

Small enough to try everything, open enough that most of them have plans.
"""

import copy
from collections.abc import Callable
from itertools import product
from random import Random
from typing import Any

Json = dict[str, Any]
Turn = Callable[[Random, Json], None]


def _pieces(rng: Random, horizon: int, gaps: int) -> list[Json]:
    """Cover the horizon but for some short gaps."""
    found, at = [], 0
    for cut in sorted(rng.sample(range(1, horizon - 1), gaps)):
        if cut > at:
            found.append({"from": at, "to": cut})
            at = cut + rng.choice([0, 1, 1, 2, 3])
    if at < horizon:
        found.append({"from": at, "to": horizon})
    return found


def plain(rng: Random, *, tasks: int, horizon: int, step: int) -> Json:
    """Return a problem with few of the keys: some places, some that roam, tasks that may be left."""
    places = ["yard", "north", "south", "west"][: rng.randint(2, 4)]
    size = len(places)
    roads = [[0 if i == j else rng.randint(1, 4) for j in range(size)] for i in range(size)]
    for k, i, j in product(range(size), repeat=3):
        roads[i][j] = min(roads[i][j], roads[i][k] + roads[k][j])
    resources: list[Json] = []
    for number in range(rng.randint(2, 3)):
        resource: Json = {"id": f"r{number}", "kind": rng.choice(["tractor", "hand", "implement"])}
        resource["calendar"] = _pieces(rng, horizon, rng.choice([0, 0, 1]))
        if rng.random() < 0.7:
            resource.update(roams=True, home=rng.choice(places[:2]))
            resource["road_cents_per_minute"] = rng.choice([0, 2, 7, 31])
        resources.append(resource)
    found: list[Json] = []
    for number in range(tasks):
        modes = []
        for way in range(rng.randint(1, 2)):
            names = rng.sample([r["id"] for r in resources], rng.randint(1, 2))
            minutes = rng.randint(1, max(2, horizon // 6))
            modes.append(
                {
                    "id": f"m{way}",
                    "resources": names,
                    "minutes": minutes,
                    "cents": rng.choice([0, 15, 90, 210]),
                }
            )
        found.append(
            {
                "id": f"t{number}",
                "place": rng.choice(places),
                "operation": "work",
                "modes": modes,
                "open": _pieces(rng, horizon, rng.choice([0, 0, 1, 2])),
                "due": rng.randint(-3, horizon),
                "late_cents_per_hour": rng.choice([0, 60, 310, 1111]),
                "leave_cents": rng.choice([50, 400, 900, 900, None]),
            }
        )
        if rng.random() < 0.3:
            found[-1].update(earliest=rng.randint(0, horizon // 2), latest=rng.randint(horizon // 2, horizon))
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": step,
        "resources": resources,
        "places": places,
        "road_minutes": roads,
        "tasks": found,
    }


def _changes(rng: Random, problem: Json) -> None:
    for resource in problem["resources"]:
        resource["changeover"] = {"minutes": rng.randint(0, 4), "cents": rng.choice([0, 25, 80])}
        resource["setup_now"] = rng.choice([None, "x", "y"])
    for task in problem["tasks"]:
        for mode in task["modes"]:
            mode["setup"] = rng.choice(["x", "y", "z"])


def _carried(rng: Random, problem: Json) -> None:
    _changes(rng, problem)
    for task in problem["tasks"]:
        for mode in task["modes"]:
            if rng.random() < 0.5:
                mode["setup"] = None


def _slow_roads(rng: Random, problem: Json) -> None:
    for resource in problem["resources"]:
        resource.update(roams=True, home=problem["places"][0], road_cents_per_minute=rng.choice([1, 13]))
        resource["road_factor"] = rng.choice([0, 0.5, 1.1, 1.25, 1.7, 2.0])
        resource["road_calendar"] = _pieces(rng, problem["horizon"], rng.choice([1, 2, 3]))


def _detours(rng: Random, problem: Json) -> None:
    size = len(problem["places"])
    problem["road_minutes"] = [
        [0 if i == j else rng.choice([0, 1, 1, 6]) for j in range(size)] for i in range(size)
    ]
    for resource in problem["resources"]:
        resource.update(roams=True, home=rng.choice(problem["places"]), road_cents_per_minute=9)


def _was(rng: Random, problem: Json) -> None:
    for task in problem["tasks"]:
        start = problem["step"] * rng.randint(-1, problem["horizon"] // problem["step"] - 1)
        cents = rng.choice([0, 20, 150])
        task["was"] = {"mode": rng.choice(["m0", "m0", "m1", "sold"]), "from": start, "change_cents": cents}


def _under_way(rng: Random, problem: Json) -> None:
    busy: set[str] = set()
    for task in rng.sample(problem["tasks"], 2):
        mode = rng.choice(task["modes"])
        if busy & {*mode["resources"]} and rng.random() < 0.8:
            continue
        busy |= {*mode["resources"]}
        task["place"] = problem["places"][0]
        for name in mode["resources"]:
            resource = next(r for r in problem["resources"] if r["id"] == name)
            if "home" in resource:
                resource["home"] = task["place"]
        held = rng.randint(0, 4)
        task["under_way"] = {
            "mode": mode["id"],
            "minutes_left": rng.randint(1, 5),
            "cents_left": rng.choice([0, 17]),
            "held_for": held,
        }
        task["hold_limit"] = rng.choice([None, held + rng.randint(2, 9)])


def _fixed(rng: Random, problem: Json) -> None:
    for task in rng.sample(problem["tasks"], len(problem["tasks"]) - 1):
        mode = rng.choice([*(mode["id"] for mode in task["modes"])] * 4 + ["sold"])
        task["fixed"] = {"mode": mode, "from": rng.randint(0, problem["horizon"] - 4)}


def _gaps(rng: Random, problem: Json) -> None:
    for ahead, task in zip(problem["tasks"], problem["tasks"][1:]):
        least = rng.choice([0, 0, 1, 3])
        task["after"] = [{"task": ahead["id"], "min_gap": least, "max_gap": least + rng.randint(0, 5)}]
        if rng.random() < 0.3:
            task["after"] = [{"task": problem["tasks"][0]["id"], "max_gap": None}, *task["after"]]
            if ahead is problem["tasks"][0]:
                del task["after"][1]


def _prices(rng: Random, problem: Json) -> None:
    for resource in problem["resources"]:
        resource["calendar"] = _pieces(rng, problem["horizon"], rng.choice([1, 2, 3]))
        for stretch in resource["calendar"]:
            stretch["extra_cents_per_hour"] = rng.choice([0, 70, 333, 1000])
    for task in problem["tasks"]:
        task["open"] = _pieces(rng, problem["horizon"], rng.choice([1, 2, 3]))
        for stretch in task["open"]:
            stretch["chance"] = rng.choice([0, 0.25, 0.9, 0.3333, 0.0001, 1])
        task["hold_limit"] = rng.choice([None, 2, 6, 11])
        task["late_cents_per_hour"] = rng.choice([7, 601, 1234])


def _fixed_beside_others(rng: Random, problem: Json) -> None:
    """Fixed ones with changes and carried setups, some of them beside work that is under way."""
    _carried(rng, problem)
    if rng.random() < 0.5:
        _under_way(rng, problem)
    for task in rng.sample(problem["tasks"], len(problem["tasks"]) - 1):
        task["fixed"] = {"mode": "m0", "from": rng.randint(0, problem["horizon"] - 4)}


def _one_after_all(rng: Random, problem: Json) -> None:
    """The last task waits for all others; some of them are fixed, and some under way."""
    *ahead, last = problem["tasks"]
    last["after"] = [{"task": task["id"], "min_gap": rng.choice([0, 2])} for task in ahead]
    for task in ahead:
        if rng.random() < 0.4:
            task["fixed"] = {"mode": "m0", "from": rng.randint(0, problem["horizon"] // 2)}
    if rng.random() < 0.5:
        last["fixed"] = {"mode": "m0", "from": rng.randint(problem["horizon"] // 2, problem["horizon"] - 3)}


def _alike(rng: Random, problem: Json) -> None:
    """Three resources of which any will do, for some tasks any two; now and then none of them is worth its price."""
    first = problem["resources"][0]
    turn = rng.choice([_carried, _slow_roads, _changes, SHAPES["plain"]])
    turn(rng, problem)
    problem["resources"] = [{**copy.deepcopy(first), "id": f"r{number}"} for number in range(3)]
    for task in problem["tasks"]:
        mode = task["modes"][0]
        sets = [["r0"], ["r1"], ["r2"]] if rng.random() < 0.6 else [["r0", "r1"], ["r2", "r0"], ["r1", "r2"]]
        task["modes"] = [
            {**mode, "id": f"m{number}", "resources": names} for number, names in enumerate(sets)
        ]
        task["leave_cents"] = rng.choice([1, 40, 300, 900])
    if rng.random() < 0.4:
        _under_way(rng, problem)


def _must(rng: Random, problem: Json) -> None:
    for task in problem["tasks"]:
        task["leave_cents"] = None


def _everything_at_once(rng: Random, problem: Json) -> None:
    for turn in (_carried, _slow_roads, _was, _gaps, _prices):
        if rng.random() < 0.6:
            turn(rng, problem)
    if rng.random() < 0.5:
        _under_way(rng, problem)
    if rng.random() < 0.5:
        task = rng.choice(problem["tasks"])
        task["fixed"] = {"mode": "m0", "from": rng.randint(0, problem["horizon"] - 3)}


SHAPES: dict[str, Turn] = {
    "plain": lambda rng, problem: None,
    "changes": _changes,
    "carried": _carried,
    "slow roads": _slow_roads,
    "detours": _detours,
    "was": _was,
    "under way": _under_way,
    "fixed": _fixed,
    "fixed beside others": _fixed_beside_others,
    "one after all": _one_after_all,
    "gaps": _gaps,
    "alike": _alike,
    "prices": _prices,
    "must": _must,
    "everything at once": _everything_at_once,
}


def draw(shape: str, seed: int, *, tasks: int = 3, horizon: int = 24, step: int = 3) -> Json:
    """Return a problem of that shape as JSON, the same for the same seed."""
    rng = Random(f"{shape} {seed}")
    problem = plain(rng, tasks=tasks, horizon=horizon, step=step)
    SHAPES[shape](rng, problem)
    return problem
