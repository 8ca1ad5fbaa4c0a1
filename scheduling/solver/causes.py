"""In words: what keeps a task of a plan from starting sooner than it does."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.solver import lifting
from scheduling.solver.choices import Choice, Choices
from scheduling.solver.explain import lasting
from scheduling.solver.lifting import Rule, Sooner, numbers_of
from scheduling.solver.nexts import difference
from scheduling.solver.problem import Stretch
from scheduling.solver.telling import Teller, differing, listed, money
from scheduling.solver.timeline import UNITS_PER_CENT


@dataclass(frozen=True, slots=True)
class Cause:
    """The kind of the reason, a sentence or two, and the id of the task or resource that is in the way."""

    cause: str
    says: str
    blocker: str | None = None


def cause_of(choices: Choices, sooner: Choice | None, teller: Teller) -> Cause:
    """Return why a job that stands does not start sooner; `sooner` is its outfit's cheapest sooner place."""
    task, place = choices.job.task, choices.place
    assert place is not None
    if task.under_way is not None:
        return Cause("under_way", "It is under way.")
    if task.fixed is not None:
        return Cause("fixed", "It is fixed to this outfit and hour.")
    if sooner is not None:
        return _price(choices, sooner, teller)
    if place.start < choices.schedule.board.problem.step:
        return Cause("first", "It starts with the first minute that is planned.")
    found = _Binding(choices, teller).cause()
    return (
        found if found is not None else Cause("first", "No start before it would leave it time to be done.")
    )


def _price(choices: Choices, sooner: Choice, teller: Teller) -> Cause:
    task, place = choices.job.task, choices.place
    assert place is not None
    when, more = teller.at(sooner.place.start), sooner.more_units
    parts = difference(choices, sooner)
    if task.was is not None and parts["change"] > 0 and more - parts["change"] <= 0:
        saved, change = money(more - parts["change"]), money(task.was.change_cents * UNITS_PER_CENT)
        gain = f"save {saved}" if saved != "$0.00" else "save nothing"
        return Cause(
            "was", f"The sent plan has it so. Starting it {when} would {gain}, and the change costs {change}."
        )
    says = f"Its outfit could start it sooner, {when}, and that would {differing(more, parts)}."
    return Cause("price", says)


class _Binding:
    """Puts the rules that bind into words, and where they end before the task starts, what binds from there on."""

    def __init__(self, choices: Choices, teller: Teller) -> None:
        assert choices.place is not None
        self.choices, self.teller, self.place = choices, teller, choices.place
        self.board, self.task = choices.schedule.board, choices.job.task
        self.start = self.place.start
        self.sooner = Sooner(choices, self.place.way, self.start)
        self.jobs = self.board.jobs
        self.resources = self.board.problem.resources

    def cause(self) -> Cause | None:
        rules = self.sooner.binding()
        if not rules:
            return None
        says, clear = self.say(rules)
        passed: set[Rule] = set()
        while clear < self.start:
            # The rules end before the task starts: what binds from there on is the nearer reason.
            passed |= set(rules)
            nearer = self.sooner.binding(clear, kept=passed)
            if not nearer:
                if self.sooner.binding(clear):
                    says = f"{says} {self.tight(rules)}".strip()
                break
            rules = nearer
            says, clear = self.say(rules)
        main = self.main(rules)
        off = self.off_since(rules)
        if off is not None:
            before = self.sooner.binding(0, off, kept=rules)
            if before:
                says = f"{says} Before that: {self.say(before, off)[0]}"
        return Cause(main.kind, says, self.blocker(main))

    def main(self, rules: Sequence[Rule]) -> Rule:
        """Return the rule of a set that ends last; what it waits for comes before the outfit that does it."""
        order = (lifting.PREDECESSOR, lifting.OUTFIT, lifting.WINDOW, lifting.EARLIEST)
        return max(
            rules,
            key=lambda rule: (self.say([rule])[1], -order.index(rule.kind) if rule.kind in order else -9),
        )

    def off_since(self, rules: Sequence[Rule]) -> int | None:
        """Return where the off or shut stretch began that ends with the task's start, if it is only that."""
        ends = []
        for rule in rules:
            if rule.kind not in (lifting.HOURS, lifting.WINDOW):
                return None
            mine = rule.kind == lifting.WINDOW
            stretches = self.task.open if mine else self.resources[rule.number].calendar
            since = _since(stretches, self.start)
            ends.append(max((stretch.end for stretch in stretches if stretch.end < since), default=0))
        return min(ends) or None

    def blocker(self, rule: Rule) -> str | None:
        if rule.kind in (lifting.PREDECESSOR, lifting.SUCCESSOR):
            return self.jobs[rule.number].task.id
        if rule.kind == lifting.OUTFIT:
            before = self.before(rule.number)
            return None if before is None else self.jobs[before[0]].task.id
        return self.resources[rule.number].id if rule.number >= 0 else None

    def before(self, resource: int, until: int | None = None) -> tuple[int, int] | None:
        """Return the last job in a resource's row that starts before this one, or before a minute; and its end."""
        found = None
        for stop in self.choices.line(resource).stops:
            if stop.start >= (self.start if until is None else until):
                break
            found = (stop.job, stop.end)
        return found

    def say(self, rules: Sequence[Rule], off: int | None = None) -> tuple[str, int]:
        """Return sentences for the rules, and the minute from which none of them binds any more.

        With `off`, they tell why the task did not start before that minute.
        """
        told: list[str] = []
        clear = 0
        for sentence, until in (
            *self._outfit(rules, off),
            *self._hours(rules),
            *self._roads(rules),
            *(self._one(rule) for rule in rules if not self._is_told_as_shut(rule, rules)),
        ):
            if sentence:
                told.append(sentence)
                clear = max(clear, until)
        return " ".join(told), clear

    def _is_told_as_shut(self, rule: Rule, rules: Sequence[Rule]) -> bool:
        """Whether a rule says no more than that it is shut until the same minute."""
        is_both = rule.kind == lifting.EARLIEST and any(one.kind == lifting.WINDOW for one in rules)
        return is_both and _since(self.task.open, self.start) == self.task.earliest

    def _outfit(self, rules: Sequence[Rule], off: int | None) -> list[tuple[str, int]]:
        groups: dict[tuple[int, int], list[int]] = {}
        for r in numbers_of(rules, lifting.OUTFIT):
            before = self.before(r, off)
            if before is not None:
                groups.setdefault(before, []).append(r)
        waited = numbers_of(rules, lifting.PREDECESSOR)
        found = []
        for (job, end), members in groups.items():
            who = self.teller.all(self.resources[r].id for r in members)
            task = self.teller.name(self.jobs[job].task.id)
            says = f"{who} {'is' if len(members) == 1 else 'are'} taken by {task} until {self.teller.at(end)}"
            if off is not None:
                found.append((f"{says}.", end))
                continue
            needed, there = max(map(self.needed, members)), max(map(self.there, members))
            if job in waited and there == end:
                continue  # that it waits for that task tells it all
            if needed:
                says += f", and then {'needs' if len(members) == 1 else 'need'} {lasting(needed)} to get ready here"
                says += "" if there <= end + needed else f", which is not before {self.teller.at(there)}"
            found.append((f"{says}.", there))
        return found

    def _roads(self, rules: Sequence[Rule]) -> list[tuple[str, int]]:
        groups: dict[tuple[int, int], list[int]] = {}
        for r in numbers_of(rules, lifting.ROAD):
            groups.setdefault((self.needed(r), self.there(r)), []).append(r)
        found = []
        for (needed, there), members in groups.items():
            who = self.teller.all(self.resources[r].id for r in members)
            says = f"{who} {'needs' if len(members) == 1 else 'need'} {lasting(needed)} to get ready here"
            found.append((f"{says}, and can be there {self.teller.at(there)} at the soonest.", there))
        return found

    def needed(self, resource: int) -> int:
        """Return the minutes of road and changeover before the job in a resource's row."""
        line = self.choices.schedule.lines[resource]
        index = next(i for i, stop in enumerate(line.stops) if stop.job == self.choices.job.number)
        return line.needed(index)

    def there(self, resource: int) -> int:
        """Return the soonest minute the resource can be there, after what stands before the job in its row."""
        line, before = self.choices.schedule.lines[resource], self.before(resource)
        reached = line.road.clock.reach(0 if before is None else before[1], self.needed(resource))
        return self.start if reached is None else min(self.start, reached)

    def _hours(self, rules: Sequence[Rule]) -> list[tuple[str, int]]:
        groups: dict[tuple[int, bool, int], list[int]] = {}
        for r in numbers_of(rules, lifting.HOURS):
            since = _since(self.resources[r].calendar, self.start)
            # Where its road has no hours of its own, it sets out when it starts work.
            needed = self.needed(r) if self.resources[r].road_calendar is None else 0
            sets_out = needed if self.there(r) >= since + needed else 0
            groups.setdefault((since, self.resources[r].kind == "hand", sets_out), []).append(r)
        found = []
        for (since, are_hands, needed), members in groups.items():
            who, one = self.teller.all(self.resources[r].id for r in members), len(members) == 1
            at = self.teller.at(since)
            says = (
                f"{who} {'is' if one else 'are'} not at work before {at}"
                if are_hands
                else f"{who} cannot be used before {at}"
            )
            if needed:
                says += f", and then {'needs' if one else 'need'} {lasting(needed)} to get ready here"
            found.append((f"{says}.", min(self.start, since + needed)))
        return found

    def _one(self, rule: Rule) -> tuple[str, int]:
        name, at = self.teller.name, self.teller.at
        if rule.kind == lifting.WINDOW:
            since = _since(self.task.open, self.start)
            return f"It is shut until {at(since)}.", since
        if rule.kind == lifting.EARLIEST:
            return f"It may not start before {at(self.task.earliest)}.", self.task.earliest
        if rule.kind == lifting.PREDECESSOR:
            place = self.choices.schedule.places[rule.number]
            assert place is not None
            least = next(least for ahead, least, _ in self.choices.job.before if ahead == rule.number)
            says = f"It waits for {name(self.jobs[rule.number].task.id)}, which ends {at(place.end)}"
            says += f", and for {lasting(least)} after that." if least else "."
            return says, place.end + least
        if rule.kind == lifting.SUCCESSOR:
            behind = self.jobs[rule.number]
            place = self.choices.schedule.places[behind.number]
            assert place is not None
            most = next(most for other, _, most in self.choices.job.behind if other == rule.number)
            assert most is not None
            says = f"{name(behind.task.id)} starts {at(place.start)}, and no more than {lasting(most)} may lie between."
            return says, self.start
        if rule.kind == lifting.HOLD:
            assert self.task.hold_limit is not None
            return (
                f"Begun sooner, it would not be done within the {lasting(self.task.hold_limit)} it may take.",
                self.start,
            )
        return "", 0

    def tight(self, rules: Sequence[Rule]) -> str:
        """Return the words for rules that bind by where their hours end, not by where they begin."""
        who = [
            "the hours it is open"
            if rule.kind == lifting.WINDOW
            else f"the hours of {self.teller.name(self.resources[rule.number].id)}"
            for rule in rules
            if rule.kind in (lifting.WINDOW, lifting.HOURS)
        ]
        return f"Started sooner, it would not be over in time in {listed(who)}." if who else ""


def _since(stretches: Sequence[Stretch], minute: int) -> int:
    """Return where the run of touching stretches begins that holds this minute."""
    since = minute
    for stretch in reversed(stretches):
        if stretch.start < since <= stretch.end or stretch.start <= minute < stretch.end:
            since = stretch.start
    return since
