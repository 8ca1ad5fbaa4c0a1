"""Classic job shops written as planning problems.

Of the ten shops orb01 to orb10, orb07 is not among them: an operation of it takes no time, and a pass takes a minute.

Machines are resources that do not roam, the step is one minute, calendars are open throughout, and each operation comes
after the one before it in its job. A last task of one minute, which needs nobody, comes after every job's last
operation; it is due at minute 1 and a minute late costs one cent, so the cost in cents is its start: the makespan.
"""

import json
from functools import cache
from typing import Any

from farmops.bench.children import ROOT

PUBLISHED = ROOT / "fixtures" / "published" / "job_shops.json"
EASY = ("ft06", "la01", "la02", "la03", "la04", "la05", "la16")
"""Shops whose optimum is to be found and proved."""
TEN_BY_TEN = tuple(
    "ft10 la16 la17 la18 la19 la20 abz5 abz6 orb01 orb02 orb03 orb04 orb05 orb06 orb08 orb09 orb10".split()
)


@cache
def shops() -> dict[str, dict[str, Any]]:
    """Return the published shops by name: `jobs`, `optimum_makespan` and where they were published."""
    return {item["name"]: item for item in json.loads(PUBLISHED.read_text(encoding="utf-8"))["instances"]}


def as_problem(jobs: list[list[list[int]]]) -> dict[str, Any]:
    """Return the planning problem of jobs given as [machine, minutes] pairs in order."""
    horizon = sum(minutes for job in jobs for _, minutes in job) + 1
    whole = [{"from": 0, "to": horizon}]
    machines = sorted({machine for job in jobs for machine, _ in job})
    tasks: list[dict[str, Any]] = []
    for j, job in enumerate(jobs):
        for o, (machine, minutes) in enumerate(job):
            mode = {
                "id": f"machine-{machine}",
                "resources": [f"machine-{machine}"],
                "minutes": minutes,
                "cents": 0,
            }
            task = _task(f"job-{j}/{o}", mode, whole)
            task["after"] = [{"task": f"job-{j}/{o - 1}"}] if o else []
            tasks.append(task)
    last = _task("done", {"id": "nobody", "resources": [], "minutes": 1, "cents": 0}, whole)
    last.update(due=1, late_cents_per_hour=60)
    last["after"] = [{"task": f"job-{j}/{len(job) - 1}"} for j, job in enumerate(jobs)]
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": 1,
        "resources": [
            {"id": f"machine-{machine}", "kind": "machine", "calendar": whole} for machine in machines
        ],
        "places": ["shop"],
        "road_minutes": [[0]],
        "tasks": [*tasks, last],
    }


def _task(task_id: str, mode: dict[str, Any], whole: list[dict[str, int]]) -> dict[str, Any]:
    return {"id": task_id, "place": "shop", "operation": "work", "modes": [mode], "open": whole}
