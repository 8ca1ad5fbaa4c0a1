"""A second judge of plans, written from the rule book alone and on the JSON as it stands in the files.

It lets the clock run minute by minute and writes down what each task and each resource does, where the check reckons
with sums over a row. What both say of a plan must be the same; neither knows the other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

Json = dict[str, Any]
Fault = tuple[str, str]  # a rule and the task, or the two, that break it
PARTS = ("direct", "late", "extra", "road", "change", "left", "weather")
MONEY = {"cost", "cost_parts", "bound"}


@dataclass
class Verdict:
    """The keys of the rules that a plan breaks, and what it costs in exact cents."""

    broken: set[str] = field(default_factory=set)
    parts: dict[str, Fraction] = field(default_factory=lambda: dict.fromkeys(PARTS, Fraction(0)))

    @property
    def cents(self) -> int:
        return to_even(sum(self.parts.values(), Fraction(0)))

    @property
    def breaks_only_money(self) -> bool:
        return self.broken <= MONEY


def to_even(number: Fraction) -> int:
    """Return the whole number next to it; of two that are as near, the even one."""
    below = number.numerator // number.denominator
    rest = number - below
    if rest == Fraction(1, 2):
        return below + below % 2
    return below + (rest > Fraction(1, 2))


def _exact(number: Any) -> Fraction:
    return Fraction(str(number))


def by_minute(stretches: list[Json], horizon: int, key: str, default: Any) -> list[Any]:
    """Return for each minute the value of that key in the stretch that it lies in, or None."""
    minutes: list[Any] = [None] * horizon
    for stretch in stretches:
        value = stretch.get(key, default)
        for minute in range(stretch["from"], stretch["to"]):
            minutes[minute] = value
    return minutes


class Judge:
    """Knows a problem; judges any number of plans of it."""

    def __init__(self, problem: Json) -> None:
        self.problem = problem
        self.horizon: int = problem["horizon"]
        self.tasks: dict[str, Json] = {task["id"]: task for task in problem["tasks"]}
        self.resources: dict[str, Json] = {item["id"]: item for item in problem["resources"]}
        self.chance = {
            name: by_minute(t["open"], self.horizon, "chance", 1) for name, t in self.tasks.items()
        }
        self.at_work: dict[str, list[Any]] = {}
        self.on_road: dict[str, list[Any]] = {}
        for name, item in self.resources.items():
            shifts = item["calendar"]
            self.at_work[name] = by_minute(shifts, self.horizon, "extra_cents_per_hour", 0)
            roads: Any = item.get("road_calendar", shifts)
            self.on_road[name] = by_minute(roads, self.horizon, "from", 0)

    def mode(self, task: Json, name: str) -> Json | None:
        for mode in task["modes"]:
            if mode["id"] == name:
                return dict(mode)
        return None

    def works_at(self, task: Json, mode: Json, minute: int) -> tuple[float, int] | None:
        """Return the chance of that minute and what an hour of it costs on top; None when nobody can work."""
        chance = self.chance[task["id"]][minute]
        extras = [self.at_work[name][minute] for name in mode["resources"]]
        return None if chance is None or None in extras else (chance, sum(extras))

    def watch(self, task: Json, mode: Json, start: int) -> tuple[int | None, set[str], Fraction, Fraction]:
        """Let the task run alone: its end (None: not in this horizon), rules broken, extra and weather cents."""
        broken: set[str] = set()
        if start < 0 or start >= self.horizon:
            return None, {"horizon"}, Fraction(0), Fraction(0)
        extra_cents_per_hour = 0
        minutes_at: dict[float, int] = {}  # of each chance
        way = task.get("under_way")
        still_to_do = mode["minutes"] if way is None else way["minutes_left"]
        if way is None:
            if self.works_at(task, mode, start) is None:
                broken.add("workable")
            if task.get("fixed") is None and start % self.problem["step"] != 0:
                broken.add("step")
            if start < task.get("earliest", 0):
                broken.add("earliest")
            if task.get("latest") is not None and start > task["latest"]:
                broken.add("latest")
        clock = start
        while still_to_do > 0:
            if clock == self.horizon:
                broken.add("horizon")
                break
            minute = self.works_at(task, mode, clock)
            clock += 1
            if minute is not None:
                chance, cents_per_hour = minute
                still_to_do -= 1
                extra_cents_per_hour += cents_per_hour
                minutes_at[chance] = minutes_at.get(chance, 0) + 1
        held = clock - start + (0 if way is None else way["held_for"])
        if task.get("hold_limit") is not None and held > task["hold_limit"]:
            broken.add("hold_limit")
        shut_minutes = sum((1 - _exact(chance)) * minutes for chance, minutes in minutes_at.items())
        weather = shut_minutes * Fraction(task.get("late_cents_per_hour", 0), 60)
        end = None if "horizon" in broken else clock
        return end, broken, Fraction(extra_cents_per_hour, 60), weather

    def end_of(self, entry: Json) -> int | None:
        """Return the minute at which a plan's entry truly ends."""
        task = self.tasks[entry["id"]]
        mode = self.mode(task, entry["mode"])
        return None if mode is None else self.watch(task, mode, entry["from"])[0]

    def ride(self, name: str, entries: Iterable[Json]) -> tuple[set[Fault], Fraction]:
        """Follow one resource through its days: who holds it, where it stands, what it is set up for.

        Return what is broken, each with the task at which it is, and what trips and changes cost.
        """
        resource = self.resources[name]
        change = resource.get("changeover")
        mine = sorted(
            (e for e in entries if name in self._needs(e)), key=lambda entry: (entry["from"], entry["to"])
        )
        broken: set[Fault] = set()
        cents = Fraction(0)
        place, setup = resource.get("home"), resource.get("setup_now")
        road_minutes_had = 0
        holder: Json | None = None
        for clock in range(self.horizon):
            if holder is not None and holder["to"] <= clock:
                holder, road_minutes_had = None, 0
            while mine and mine[0]["from"] <= clock:
                entry = mine.pop(0)
                if holder is not None:
                    broken.add(("resources", entry["id"]))
                task = self.tasks[entry["id"]]
                needs = 0
                if resource.get("roams", False) and place is not None and place != task["place"]:
                    needs = self._road(place, task["place"], resource)
                    cents += needs * resource.get("road_cents_per_minute", 0)
                mode = self.mode(task, entry["mode"])
                wanted = None if mode is None else mode.get("setup")
                if change is not None and wanted is not None and setup is not None and wanted != setup:
                    needs += change["minutes"]
                    cents += change["cents"]
                if holder is None and road_minutes_had < needs:
                    broken.add(("road", entry["id"]))
                place = task["place"]
                setup = setup if wanted is None else wanted
                if holder is None or entry["to"] > holder["to"]:
                    holder = entry
            if holder is None and self.on_road[name][clock] is not None:
                road_minutes_had += 1
        return broken, cents

    def _needs(self, entry: Json) -> list[str]:
        mode = self.mode(self.tasks[entry["id"]], entry["mode"])
        return [] if mode is None else list(mode["resources"])

    def _road(self, one: str, other: str, resource: Json) -> int:
        places = self.problem["places"]
        minutes = self.problem["road_minutes"][places.index(one)][places.index(other)]
        exact = minutes * _exact(resource.get("road_factor", 1))
        return -(-exact.numerator // exact.denominator)

    def gaps(self, entries: list[Json]) -> set[Fault]:
        broken: set[Fault] = set()
        standing = {entry["id"]: entry for entry in entries}
        for entry in entries:
            for after in self.tasks[entry["id"]].get("after", []):
                ahead = standing.get(after["task"])
                if ahead is None:
                    continue
                gap = entry["from"] - ahead["to"]
                most = after.get("max_gap")
                if gap < after.get("min_gap", 0) or (most is not None and gap > most):
                    broken.add(("after", f"{entry['id']} {ahead['id']}"))
        return broken

    def among(self, entries: list[Json]) -> set[Fault]:
        """Return what is broken between these entries when nobody else stands."""
        return self.gaps(entries).union(*(self.ride(name, entries)[0] for name in self.resources))

    def hindered(self, task: Json, standing: dict[str, Json]) -> bool:
        """Whether a fixed task could not stand: by itself, or beside the fixed and under-way ones that do."""
        fixed = task["fixed"]
        mode = self.mode(task, fixed["mode"])
        if mode is None:
            return True
        end, broken, _, _ = self.watch(task, mode, fixed["from"])
        if broken:
            return True
        here = {"id": task["id"], "mode": fixed["mode"], "from": fixed["from"], "to": end}
        others = [
            entry
            for name, entry in standing.items()
            if self.tasks[name].get("fixed") is not None or self.tasks[name].get("under_way") is not None
        ]
        return bool(self.among([here]) or self.among([*others, here]) - self.among(others))

    def judge(self, plan: Json) -> Verdict:
        """Return which rules the plan breaks and what it costs; for a plan that plans (not of status none)."""
        found = Verdict()
        times = [entry["id"] for entry in [*plan["tasks"], *plan["left"]]]
        if sorted(times) != sorted(self.tasks):
            found.broken.add("tasks")
        if plan["status"] not in ("best", "good"):
            found.broken.add("status")
        if plan.get("why"):
            found.broken.add("why")
        standing = {entry["id"]: entry for entry in plan["tasks"] if entry["id"] in self.tasks}
        for name, entry in standing.items():
            self._judge_one(self.tasks[name], entry, found)
        found.broken |= {key for key, _ in self.gaps(list(standing.values()))}
        for name in self.resources:
            broken, cents = self.ride(name, standing.values())
            found.broken |= {key for key, _ in broken}
            found.parts["road"] += cents
        self._judge_left(plan, standing, found)
        self._judge_money(plan, found)
        return found

    def _judge_one(self, task: Json, entry: Json, found: Verdict) -> None:
        mode = self.mode(task, entry["mode"])
        if mode is None:
            found.broken.add("mode")
            return
        end, broken, extra, weather = self.watch(task, mode, entry["from"])
        found.broken |= broken
        if end is not None and end != entry["to"]:
            found.broken.add("to")
        way, fixed, was = task.get("under_way"), task.get("fixed"), task.get("was")
        if way is not None:
            if entry["from"] != 0 or entry["mode"] != way["mode"]:
                found.broken.add("under_way")
        elif fixed is not None and (entry["from"] != fixed["from"] or entry["mode"] != fixed["mode"]):
            found.broken.add("fixed")
        found.parts["direct"] += mode["cents"] if way is None else way["cents_left"]
        if task.get("due") is not None and entry["to"] > task["due"]:
            hours = Fraction(entry["to"] - task["due"], 60)
            found.parts["late"] += hours * task.get("late_cents_per_hour", 0)
        found.parts["extra"] += extra
        found.parts["weather"] += weather
        if was is not None and not (was["mode"] == entry["mode"] and was["from"] == entry["from"]):
            found.parts["change"] += was["change_cents"]

    def _judge_left(self, plan: Json, standing: dict[str, Json], found: Verdict) -> None:
        for name in standing:
            if any(after["task"] not in standing for after in self.tasks[name].get("after", [])):
                found.broken.add("after")
        for entry in plan["left"]:
            if entry["id"] in self.tasks and entry["why"].strip() == "":
                found.broken.add("why")
        for name, task in self.tasks.items():
            if name in standing:
                continue
            found.parts["left"] += task.get("leave_cents") or 0
            found.parts["change"] += (task.get("was") or {"change_cents": 0})["change_cents"]
            if all(entry["id"] != name for entry in plan["left"]):
                continue
            may = task.get("leave_cents") is not None
            if task.get("fixed") is not None and task.get("under_way") is None:
                follows_a_left_one = any(after["task"] not in standing for after in task.get("after", []))
                if not self.hindered(task, standing) and not (may and follows_a_left_one):
                    found.broken.add("fixed")
            elif not may:
                found.broken.add("leave_cents")

    def _judge_money(self, plan: Json, found: Verdict) -> None:
        if plan["cost"] != found.cents:
            found.broken.add("cost")
        if plan["cost_parts"] != {part: to_even(cents) for part, cents in found.parts.items()}:
            found.broken.add("cost_parts")
        cost, bound = plan["cost"], plan["bound"]
        is_above = None not in (cost, bound) and bound > cost
        if bound is None or is_above or (plan["status"] == "best" and bound != cost):
            found.broken.add("bound")
