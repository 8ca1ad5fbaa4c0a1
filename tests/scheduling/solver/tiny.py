"""Small random problems that use every key of the format, and the answer found by trying everything."""

from itertools import product
from random import Random
from typing import Any

from scheduling.solver import Plan, Problem, check
from scheduling.solver.plan import LeftTask, PlacedTask


def stretches(rng: Random, horizon: int, most: int) -> list[dict[str, Any]]:
    cuts = sorted(rng.sample(range(horizon + 1), 2 * rng.randint(1, most)))
    return [{"from": a, "to": b} for a, b in zip(cuts[::2], cuts[1::2])]


def _resource(rng: Random, number: int, horizon: int, places: list[str]) -> dict[str, Any]:
    whole = [{"from": 0, "to": horizon}]
    item: dict[str, Any] = {"id": f"r{number}", "kind": rng.choice(["tractor", "implement", "hand"])}
    item["calendar"] = whole if rng.random() < 0.4 else stretches(rng, horizon, 2)
    for stretch in item["calendar"]:
        if rng.random() < 0.3:
            stretch["extra_cents_per_hour"] = rng.choice([70, 300, 1000])
    if rng.random() < 0.7:
        item.update(roams=True, home=rng.choice(places), road_cents_per_minute=rng.choice([0, 3, 11]))
        if rng.random() < 0.4:
            item["road_factor"] = rng.choice([0.5, 1.3, 2.0])
    if rng.random() < 0.4:
        item["road_calendar"] = stretches(rng, horizon, 2)
    if rng.random() < 0.5:
        item["changeover"] = {"minutes": rng.randint(0, 6), "cents": rng.choice([0, 40])}
        item["setup_now"] = rng.choice([None, "x", "y"])
    return item


def _task(rng: Random, number: int, horizon: int, step: int, places: list[str], count: int) -> dict[str, Any]:
    modes = []
    for m in range(rng.randint(1, 2)):
        mode = {
            "id": f"m{m}",
            "resources": [f"r{r}" for r in sorted(rng.sample(range(count), rng.randint(1, min(2, count))))],
            "minutes": rng.randint(1, horizon // 4),
            "cents": rng.choice([0, 10, 55, 200]),
        }
        if rng.random() < 0.6:
            mode["setup"] = rng.choice(["x", "y", None])
        modes.append(mode)
    item: dict[str, Any] = {
        "id": f"t{number}",
        "place": rng.choice(places),
        "operation": "work",
        "modes": modes,
        "open": [{"from": 0, "to": horizon}] if rng.random() < 0.5 else stretches(rng, horizon, 2),
        "late_cents_per_hour": rng.choice([0, 90, 1234]),
        "leave_cents": rng.choice([None, 30, 400, 2000]) if rng.random() < 0.5 else rng.choice([250, 800]),
    }
    for stretch in item["open"]:
        if rng.random() < 0.4:
            stretch["chance"] = rng.choice([0, 0.25, 0.9, 0.3333])
    if number and rng.random() < 0.5:
        after: dict[str, Any] = {"task": f"t{rng.randrange(number)}", "min_gap": rng.choice([0, 0, 4])}
        if rng.random() < 0.3:
            after["max_gap"] = rng.randint(4, horizon // 2)
        item["after"] = [after]
    if rng.random() < 0.5:
        item["due"] = rng.randint(-5, horizon)
    if rng.random() < 0.2:
        item["earliest"] = rng.randint(0, horizon // 2)
    if rng.random() < 0.2:
        item["latest"] = rng.randint(0, horizon)
    if rng.random() < 0.2:
        item["hold_limit"] = rng.randint(1, horizon)
    if rng.random() < 0.3:
        mode_id = rng.choice(["m0", "m1", "gone"])
        item["was"] = {
            "mode": mode_id,
            "from": step * rng.randint(-2, horizon // step - 1),
            "change_cents": 35,
        }
    pick = rng.random()
    if pick < 0.15:
        item["fixed"] = {"mode": rng.choice(["m0", "m0", "m1"]), "from": rng.randrange(horizon)}
    elif pick < 0.25:
        item["under_way"] = {"mode": "m0", "minutes_left": rng.randint(1, 6), "cents_left": 9, "held_for": 3}
    return item


def random_problem(seed: int, *, tasks: int = 3, horizon: int = 24, step: int = 4) -> dict[str, Any]:
    """Return a problem of the format, as JSON, drawn from the seed."""
    rng = Random(seed)
    places = ["p0", "p1", "p2"][: rng.randint(1, 3)]
    resources = [_resource(rng, i, horizon, places) for i in range(rng.randint(1, 3))]
    size = len(places)
    table = [[0 if i == j else rng.randint(1, 4) for j in range(size)] for i in range(size)]
    # Shortest ways, as on a map, so that a detour never helps.
    for k, i, j in product(range(size), repeat=3):
        table[i][j] = min(table[i][j], table[i][k] + table[k][j])
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": step,
        "resources": resources,
        "places": places,
        "road_minutes": table,
        "tasks": [_task(rng, i, horizon, step, places, len(resources)) for i in range(tasks)],
    }


def _end(problem: Problem, task_no: int, mode_id: str, start: int) -> int:
    task = problem.tasks[task_no]
    mode = task.mode(mode_id)
    assert mode is not None
    need = mode.minutes if task.under_way is None else task.under_way.minutes_left
    lists = [task.open, *(problem.resource_of[name].calendar for name in mode.resources)]
    minute = start
    while need and minute < problem.horizon:
        need -= all(any(s.start <= minute < s.end for s in stretches) for stretches in lists)
        minute += 1
    return minute


def everything(problem: Problem) -> list[list[PlacedTask | None]]:
    """Return for each task every way it could stand, and None for leaving it."""
    choices: list[list[PlacedTask | None]] = []
    for number, task in enumerate(problem.tasks):
        options: list[PlacedTask | None] = [None]
        for mode in task.modes:
            starts = set(range(0, problem.horizon, problem.step))
            if task.fixed is not None:
                starts = {task.fixed.start}
            if task.under_way is not None:
                starts = {0}
            for start in sorted(starts):
                if 0 <= start < problem.horizon:
                    options.append(PlacedTask(task.id, mode.id, start, _end(problem, number, mode.id, start)))
        choices.append(options)
    return choices


def try_everything(problem: Problem) -> int | None:
    """Return the cost of the cheapest plan that the check lets stand, or None when there is none."""
    best: int | None = None
    choices = []
    for number, options in enumerate(everything(problem)):
        task = problem.tasks[number]
        alone = []
        for option in options:
            if option is not None:
                found = check(problem, _plan(problem, [option]))
                rules = {v.rule for v in found.violations if v.task == task.id} - {"after"}
                if rules:
                    continue
            alone.append(option)
        choices.append(alone)
    for picked in product(*choices):
        placed = [option for option in picked if option is not None]
        result = check(problem, _plan(problem, placed))
        if {v.rule for v in result.violations} <= {"cost", "cost_parts", "bound"}:
            assert result.cost is not None
            best = result.cost if best is None else min(best, result.cost)
    return best


def _plan(problem: Problem, placed: list[PlacedTask]) -> Plan:
    standing = {p.id for p in placed}
    left = tuple(LeftTask(task.id, "tried") for task in problem.tasks if task.id not in standing)
    return Plan("good", 0, 0, 0.0, None, tuple(placed), left)
