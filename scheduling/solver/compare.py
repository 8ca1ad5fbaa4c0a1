"""An old plan beside a new one: what changes, whether it had to, and what the change saves.

A change had to be when the old place breaks a rule of the new problem: by itself, beside what is fixed or under way,
because what it waits for cannot end in time, or beside a task that stays and whose hours have changed. Every other
change is a choice: it is put back, with the choices that go with it, and the plan is costed again exactly.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from scheduling.solver import cost
from scheduling.solver.choices import Arrays, PlanMismatchError, place_of, schedule_of
from scheduling.solver.explain import local
from scheduling.solver.forced import Broken, Staying, clashing
from scheduling.solver.greedy import MUST_UNITS, empty
from scheduling.solver.lefts import why_left_now
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.problem import Problem
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.starting import schedule_from
from scheduling.solver.telling import Teller, dearer

FORMAT = "plan-changes/1"
CHANGED = ("hour", "day", "outfit", "left", "planned")
MOST_TOGETHER = 12


@dataclass(frozen=True, slots=True)
class Change:
    """One task in both plans; times are minutes of the new problem, so an old one can lie before 0.

    `kind`: "same", "hour" (moved within its day), "day", "outfit" (another one, perhaps at another hour too), "left"
    (planned before), "planned" (left before), "gone" (no task any more), "new" (no task before).
    `had_to`: its old place breaks `rule` of the new problem; else `saves_cents` is what the plan would cost more with
    it back as it was, with the other choices in `together` that go with it; None where that cannot be told
    apart. `blocker` is the id of what is in its old place.
    """

    task: str
    kind: str
    says: str
    had_to: bool = False
    rule: str | None = None
    blocker: str | None = None
    saves_cents: int | None = None
    together: tuple[str, ...] = ()
    old: PlacedTask | None = None
    new: PlacedTask | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """All changes, in the order of the new problem's tasks, and their count.

    `old_cost_cents` is what the old plan comes to in the new problem, as far as it still stands (`old_stands` of its
    tasks), the rest left; None where something that must be done would be left, or there is no plan to compare.
    """

    changes: tuple[Change, ...]
    changed: int
    had_to: int
    old_stands: int
    old_cost_cents: int | None
    new_cost_cents: int | None
    says: str

    @property
    def by_choice(self) -> int:
        return self.changed - self.had_to


def compare(
    old_problem: Problem,
    old_plan: Plan,
    new_problem: Problem,
    new_plan: Plan,
    *,
    names: Mapping[str, str] | None = None,
) -> Comparison:
    """Return what the new plan changes of the old one, task by task; tasks and modes are the same by their ids.

    The two problems may start at different minutes. PlanMismatchError when a plan is none of its problem.
    """
    for placed in old_plan.tasks:
        if placed.id not in old_problem.task_of:
            raise PlanMismatchError(f"The old plan has {placed.id}, which is no task of its problem.")
    if new_plan.status == "none":
        return Comparison((), 0, 0, 0, None, None, "There is no new plan to compare the old one with.")
    return _Comparing(old_problem, old_plan, new_problem, new_plan, Teller(new_problem, names or {})).run()


class _Comparing:
    def __init__(
        self, old_problem: Problem, old_plan: Plan, new_problem: Problem, new_plan: Plan, teller: Teller
    ) -> None:
        self.problem, self.plan, self.teller = new_problem, new_plan, teller
        self.schedule = schedule_of(new_problem, new_plan)
        self.board, self.arrays = self.schedule.board, Arrays()
        self.old_tasks = old_problem.task_of
        later = (new_problem.start - old_problem.start) // timedelta(minutes=1)
        self.old = {p.id: PlacedTask(p.id, p.mode, p.start - later, p.end - later) for p in old_plan.tasks}
        self.new = {p.id: p for p in new_plan.tasks}
        self.staying = Staying(self.schedule, teller)
        self.kinds = {task.id: self._kind(task.id) for task in new_problem.tasks}
        self.forced: dict[str, Broken] = {}

    def run(self) -> Comparison:
        self._find_forced()
        changes = [self._change(task.id) for task in self.problem.tasks]
        gone = [name for name in self.old_tasks if name not in self.kinds]
        changes += [Change(n, "gone", "It is no longer to be planned.", old=self.old.get(n)) for n in gone]
        kept = self._kept()
        changed = sum(change.kind in CHANGED for change in changes)
        had_to = sum(change.had_to for change in changes)
        stands = sum(place is not None for place in kept.places)
        old_cost = cost.cents(kept.units) if kept.units < MUST_UNITS else None
        says = self._total(changed, had_to, stands, old_cost)
        return Comparison(tuple(changes), changed, had_to, stands, old_cost, self.plan.cost, says)

    def _kind(self, name: str) -> str:
        old, new = self.old.get(name), self.new.get(name)
        if name not in self.old_tasks:
            return "new"
        if old is None or new is None:
            return "same" if old is new else "left" if new is None else "planned"
        if old.mode != new.mode:
            return "outfit"
        if new.start in (old.start, self._goes_on_at(name)):
            return "same"
        days = [local(self.problem, p.start).date() for p in (old, new)]
        return "hour" if days[0] == days[1] else "day"

    def _goes_on_at(self, name: str) -> int | None:
        """Return where a task whose start is over was to go on in the old plan; None where it can still start there.

        It is minute 0 of what is under way, and the `was` of what rests or is at work when the plan is made.
        """
        task, old = self.problem.task_of[name], self.old.get(name)
        if old is None or old.start >= task.earliest:
            return None
        if task.under_way is not None:
            return 0 if old.start < 0 else None
        return task.was.start if task.was is not None and task.was.mode == old.mode else None

    def _find_forced(self) -> None:
        changed = [n for n, kind in self.kinds.items() if kind in CHANGED and n in self.old]
        for name in changed:
            old = self.old[name]
            broken = self.staying.broken(self.board.job_no[name], old.mode, old.start)
            if broken is not None:
                self.forced[name] = broken
        # Old places that clash with each other now, though they did not then: one of the two had to go.
        beside = empty(self.board)
        for name, kind in self.kinds.items():
            place = self.schedule.places[self.board.job_no[name]]
            if kind == "same" and place is not None:
                beside.put(self.board.job_no[name], place)
        for name in sorted(changed, key=lambda name: (self.old[name].start, name)):
            place = self._old_place(name)
            if name in self.forced or place is None:
                continue
            number = self.board.job_no[name]
            beside.put(number, place)
            others = clashing(beside, {number}) - {number}
            others = {other for other in others if beside.places[other] is not None}
            if others:
                beside.take(number)
                self.forced[name] = self._beside(name, place, self.board.jobs[min(others)].task.id)

    def _old_place(self, name: str) -> Place | None:
        old = self.old.get(name)
        return (
            None if old is None else place_of(self.board.jobs[self.board.job_no[name]], old.mode, old.start)
        )

    def _beside(self, name: str, there: Place, other: str) -> Broken:
        """Return in words why a task could not stay beside another that clashes with it only now."""
        told = self.teller.name(other)
        if there.end != self.old[name].end:
            says = f"There it would now last until {self.teller.at(there.end)}, too long beside {told}."
            return Broken("resources", says, other)
        then = self.new.get(other)
        until = f", which now lasts until {self.teller.at(then.end)}" if then is not None else ""
        return Broken("resources", f"It could not stay beside {told}{until}.", other)

    def _put_back(self, names: set[str]) -> tuple[int | None, set[str]]:
        """Return the units more with these tasks in their old places, or None and what is in the way of them."""
        schedule, numbers = self.schedule, {self.board.job_no[name] for name in names}
        saved = schedule.save()
        for number in numbers:
            if schedule.places[number] is not None:
                schedule.take(number)
        for name in sorted(names):
            place = self._old_place(name)
            if place is not None:
                schedule.put(self.board.job_no[name], place)
        more = schedule.units - saved[2]
        others = clashing(schedule, numbers)
        schedule.restore(saved)
        return (None if others else more), {self.board.jobs[number].task.id for number in others}

    def _choice(self, name: str) -> tuple[int | None, tuple[str, ...], tuple[str, ...]]:
        """Return what a choice saves and the choices that go with it, or else what it gives way to.

        That is one task, or two: the choice in its old place, and what that one gives way to in the end.
        """
        group, nearest = {name}, ""
        while len(group) <= MOST_TOGETHER:
            more, others = self._put_back(group)
            if more is not None:
                return more, tuple(sorted(group - {name})), ()
            others -= group
            firm = sorted(n for n in others if self.kinds[n] not in CHANGED or n in self.forced)
            if firm:
                return None, (), (nearest, firm[0]) if nearest else (firm[0],)
            if not others:
                break
            nearest = nearest or min(others)
            group |= others
        return None, (), (nearest,) if nearest else ()

    def _change(self, name: str) -> Change:
        kind, old, new = self.kinds[name], self.old.get(name), self.new.get(name)
        if kind == "new":
            where = "is left" if new is None else f"is planned for {self._where(new)}"
            return Change(name, kind, f"It was not in the old plan, and {where}.", new=new)
        if kind == "same":
            return Change(name, kind, self._same(name, old, new), old=old, new=new)
        says = self._moved(name, kind, old, new)
        broken = self.forced.get(name)
        if broken is not None:
            says = f"{says} It had to: {broken.says[:1].lower()}{broken.says[1:]}"
            return Change(name, kind, says, True, broken.rule, broken.blocker, old=old, new=new)
        saves, together, ways = self._choice(name)
        if saves is not None:
            them = "them" if together else "it"
            back = self.teller.all([name, *together]) if together else "it"
            says = f"{says} With {back} back as the old plan had {them}, this plan would {dearer(saves)}."
        elif ways:
            says = f"{says} It makes room for {self._making_room(ways)}."
        cents = None if saves is None else cost.cents(saves)
        return Change(name, kind, says, False, None, ways[0] if ways else None, cents, together, old, new)

    def _making_room(self, ways: tuple[str, ...]) -> str:
        nearest, last = self.teller.name(ways[0]), ways[-1]
        how = "had to change" if last in self.forced else "stands there now"
        if len(ways) == 1:
            return f"{nearest}, which {how if last in self.forced or self.kinds[last] not in CHANGED else 'changes with others'}"
        return f"{nearest}, and that in the end for {self.teller.name(last)}, which {how}"

    def _where(self, placed: PlacedTask) -> str:
        return f"{self.teller.at(placed.start)} with {self.teller.name(placed.mode)}"

    def _same(self, name: str, old: PlacedTask | None, new: PlacedTask | None) -> str:
        if old is None or new is None:
            return "It is left, as before."
        if old.start != new.start and self.problem.task_of[name].under_way is None:
            return f"It goes on with its outfit, at {self.teller.at(new.start)}, until {self.teller.at(new.end)}."
        if old.end != new.end:
            return f"It stays, and now lasts until {self.teller.at(new.end)}."
        return "It stays as it was."

    def _moved(self, name: str, kind: str, old: PlacedTask | None, new: PlacedTask | None) -> str:
        at = self.teller.at
        if old is None:
            assert new is not None
            return f"It was left, and is now planned for {self._where(new)}."
        if new is None:
            job = self.board.jobs[self.board.job_no[name]]
            why = why_left_now(self.schedule, job, self.arrays, self.teller).says
            return f"It was planned for {self._where(old)}, and is now left. {why}"
        if kind != "outfit":
            return f"It moves from {at(old.start)} to {at(new.start)}."
        outfits = f"from {self.teller.name(old.mode)} to {self.teller.name(new.mode)}"
        hour = (
            "at the same hour" if old.start == new.start else f"and from {at(old.start)} to {at(new.start)}"
        )
        return f"It goes {outfits}, {hour}."

    def _kept(self) -> Schedule:
        """Return the schedule of what still stands of the old plan in the new problem."""
        tasks = []
        for name, old in self.old.items():
            task = self.problem.task_of.get(name)
            if task is not None:
                goes_on = 0 if task.under_way is not None else self._goes_on_at(name)
                tasks.append(old if goes_on is None else replace(old, start=goes_on))
        return schedule_from(self.board, replace(self.plan, tasks=tuple(tasks)))

    def _total(self, changed: int, had_to: int, stands: int, old_cost: int | None) -> str:
        says = counted(changed, len(self.kinds), had_to)
        if old_cost is None:
            return f"{says} The old plan can no longer be kept: something that must be done, or is now fixed, would be left."
        assert self.plan.cost is not None
        return (
            f"{says} The new plan costs {_dollars(self.plan.cost)}; what still stands of the old one, "
            f"{stands} task{'' if stands == 1 else 's'}, would come to {_dollars(old_cost)} with the rest left."
        )


def counted(changed: int, of: int, had_to: int) -> str:
    """Return the sentence that counts the changes, and those of them that had to be."""
    if not changed:
        return "Nothing changes."
    if changed == 1:
        return f"1 task of {of} changes{', and had to' if had_to else ', by choice'}."
    return f"{changed} tasks of {of} change, {had_to} of them because they had to."


def _dollars(cents: int) -> str:
    return f"${cents // 100:,}.{cents % 100:02d}"


def to_json(comparison: Comparison) -> dict[str, Any]:
    """Return the comparison in its JSON form, plan-changes/1; minutes are those of the new problem."""
    return {
        "format": FORMAT,
        "changed": comparison.changed,
        "had_to": comparison.had_to,
        "by_choice": comparison.by_choice,
        "old_stands": comparison.old_stands,
        "old_cost": comparison.old_cost_cents,
        "new_cost": comparison.new_cost_cents,
        "says": comparison.says,
        "tasks": [
            {
                "id": change.task,
                "kind": change.kind,
                "had_to": change.had_to,
                "rule": change.rule,
                "blocker": change.blocker,
                "saves_cents": change.saves_cents,
                "together": list(change.together),
                "says": change.says,
                "old": _place(change.old),
                "new": _place(change.new),
            }
            for change in comparison.changes
        ],
    }


def _place(placed: PlacedTask | None) -> dict[str, Any] | None:
    return None if placed is None else {"mode": placed.mode, "from": placed.start, "to": placed.end}
