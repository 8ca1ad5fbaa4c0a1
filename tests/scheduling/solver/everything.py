"""The cheapest plan of a small problem by trying every mode and start, under the second judge.

Cut short only where nothing that follows could mend it: a task that breaks a rule by itself, two that hold one
resource at once, and a sum of costs (none of which is ever negative) that has passed the best plan so far.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tests.scheduling.solver.second_judge import PARTS, Json, Judge, to_even


@dataclass(frozen=True)
class Option:
    """One way for a task to stand, or (entry None) to leave it, and what that costs but for roads."""

    entry: Json | None
    resources: frozenset[str]
    cents: Fraction


def options(judge: Judge, task: Json) -> list[Option]:
    """Return every way the task could stand without breaking a rule by itself, and leaving it; cheapest first."""
    starts = list(range(0, judge.horizon, judge.problem["step"]))
    modes = [mode["id"] for mode in task["modes"]]
    if task.get("under_way") is not None:
        starts, modes = [0], [task["under_way"]["mode"]]
    elif task.get("fixed") is not None:
        starts, modes = [task["fixed"]["from"]], [task["fixed"]["mode"]]
    found = []
    for name in modes:
        mode = judge.mode(task, name)
        for start in starts if mode is not None else []:
            assert mode is not None
            end, broken, _, _ = judge.watch(task, mode, start)
            if not broken:
                entry = {"id": task["id"], "mode": name, "from": start, "to": end}
                found.append(Option(entry, frozenset(mode["resources"]), _cents(judge, [entry], [])))
    found.append(Option(None, frozenset(), _cents(judge, [], [task["id"]])))
    return sorted(found, key=lambda option: option.cents)


def _cents(judge: Judge, entries: list[Json], left: list[str]) -> Fraction:
    """Return what these entries and left tasks cost by themselves, without roads and without the other tasks."""
    ids = {*left, *(entry["id"] for entry in entries)}
    alone = Judge({**judge.problem, "tasks": [task for name, task in judge.tasks.items() if name in ids]})
    parts = alone.judge(as_plan(entries, left)).parts
    return sum((cents for part, cents in parts.items() if part != "road"), Fraction(0))


def as_plan(entries: list[Json], left: list[str]) -> Json:
    """Return a plan that says nothing of its cost yet."""
    return {
        "format": "week-plan/1",
        "status": "good",
        "cost": 0,
        "bound": 0,
        "seconds": 0,
        "cost_parts": dict.fromkeys(PARTS, 0),
        "tasks": entries,
        "left": [{"id": name, "why": "Tried."} for name in left],
    }


def priced(judge: Judge, plan: Json) -> Json:
    """Return the plan with its true cost."""
    found = judge.judge(plan)
    parts = {part: to_even(cents) for part, cents in found.parts.items()}
    return {**plan, "cost": found.cents, "bound": min(0, found.cents), "cost_parts": parts}


def cheapest(problem: Json) -> tuple[int, Json] | None:
    """Return the cost of the cheapest plan and that plan, or None when no plan keeps every rule."""
    return _Trying(problem).run()


class _Trying:
    def __init__(self, problem: Json) -> None:
        self.judge = Judge(problem)
        self.options = [options(self.judge, task) for task in problem["tasks"]]
        self.names = [task["id"] for task in problem["tasks"]]
        # What the tasks from each one on cost at the least.
        self.least = [Fraction(0)]
        for found in reversed(self.options):
            self.least.insert(0, self.least[0] + found[0].cents)
        self.best: tuple[Fraction, Json] | None = None

    def run(self) -> tuple[int, Json] | None:
        self._go_on([], Fraction(0))
        if self.best is None:
            return None
        return to_even(self.best[0]), priced(self.judge, self.best[1])

    def _go_on(self, picked: list[Option], cents: Fraction) -> None:
        number = len(picked)
        if self.best is not None and cents + self.least[number] >= self.best[0]:
            return
        if number == len(self.options):
            self._weigh(picked)
            return
        for option in self.options[number]:
            if not any(_at_once(option, other) for other in picked):
                self._go_on([*picked, option], cents + option.cents)

    def _weigh(self, picked: list[Option]) -> None:
        entries = [option.entry for option in picked if option.entry is not None]
        left = [name for name, option in zip(self.names, picked) if option.entry is None]
        plan = as_plan(entries, left)
        found = self.judge.judge(plan)
        total = sum(found.parts.values(), Fraction(0))
        if found.breaks_only_money and (self.best is None or total < self.best[0]):
            self.best = total, plan


def _at_once(one: Option, other: Option) -> bool:
    if one.entry is None or other.entry is None or not one.resources & other.resources:
        return False
    a, b = one.entry, other.entry
    return bool(a["from"] < b["to"] and b["from"] < a["to"])


def everything_of(problem: Any) -> int:
    """Return in how many ways the tasks could be put together."""
    judge = Judge(problem)
    count = 1
    for task in problem["tasks"]:
        count *= len(options(judge, task))
    return count
