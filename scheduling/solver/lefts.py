"""In words: why a task of a plan is left, and what stands in its way."""

from dataclasses import dataclass

from scheduling.solver import cost, lifting
from scheduling.solver.board import Job, Way
from scheduling.solver.choices import Arrays, Choice, Choices
from scheduling.solver.explain import lasting, why_hopeless
from scheduling.solver.lifting import Rule, Sooner, numbers_of
from scheduling.solver.nexts import NextBest, cheapest_of
from scheduling.solver.schedule import Schedule
from scheduling.solver.telling import Teller, dearer, listed

MOST_WAYS = 6
"""Of a left task's ways, cheapest first, so many are tried for what stands in the way."""


@dataclass(frozen=True, slots=True)
class LeftReason:
    """Why a task is left.

    `cause` is "fixed" (it cannot stand as it is fixed), "predecessor" (what it waits for is left, or ends too late),
    "never" (it could not be done even alone), "price" (doing it costs more than leaving it), "search" (there is room,
    not found in the time given), "successor" (a fixed task that waits for it would have to be done too), or the rule in
    the way: "outfit", "hours", "window", "road", "latest", "earliest",
    "hold". `blocker` is the id of the task or resource in the way. `next_best` is the cheapest way to do it after all.
    """

    task: str
    cause: str
    says: str
    blocker: str | None = None
    next_best: NextBest | None = None


def why_each_left(schedule: Schedule, arrays: Arrays, teller: Teller) -> tuple[LeftReason, ...]:
    """Return the reasons of all left jobs, in the order of the problem."""
    jobs = schedule.board.jobs
    return tuple(
        why_left_now(schedule, job, arrays, teller) for job in jobs if schedule.places[job.number] is None
    )


def why_left_now(schedule: Schedule, job: Job, arrays: Arrays, teller: Teller) -> LeftReason:
    """Return the reason of one left job."""
    name, hopeless = job.task.id, why_hopeless(schedule, job, teller.name)
    if hopeless is not None:
        kind, ahead, says = hopeless
        return LeftReason(name, kind, says, None if ahead is None else schedule.board.jobs[ahead].task.id)
    for behind, _, _ in job.behind:
        other = schedule.board.jobs[behind]
        if other.holds:
            says = f"Were it done, {teller.name(other.task.id)}, which waits for it and is fixed, would have to be done too."
            return LeftReason(name, "successor", says, other.task.id)
    choices = Choices(schedule, job.number, arrays)
    found = cheapest_of(choices)
    if found is None:
        return _in_the_way(choices, teller)
    doing = _as_next(found, teller)
    if found.more_units < 0:
        return LeftReason(
            name, "search", f"Room for it was not found in the time given. {doing.says}", None, doing
        )
    return LeftReason(name, "price", f"Doing it costs more than leaving it. {doing.says}", None, doing)


def _as_next(choice: Choice, teller: Teller) -> NextBest:
    place, units = choice.place, choice.more_units
    mode = place.way.mode.id
    says = f"{teller.at(place.start)} with {teller.name(mode)} it would {_against_leaving(units)}."
    return NextBest(mode, place.start, place.end, cost.cents(units), says)


def _against_leaving(units: int) -> str:
    than = "as" if cost.cents(units) == 0 else "than" if units > 0 else "against"
    return f"{dearer(units)} {than} leaving it"


def _in_the_way(choices: Choices, teller: Teller) -> LeftReason:
    """Name what hinders the way that could start soonest: other work, or else the rule that does so alone, or a set."""
    found = _soonest_way(choices, is_work_only=True)
    opening = "No outfit is free for it in its open hours"
    if found is None:
        late = _too_late(choices, teller)
        if late is not None:
            return late
        found = _soonest_way(choices, is_work_only=False)
        opening = "It could not be done even if other work gave way"
    if found is None:
        says = "No outfit could do it, even if nothing else were to be done."
        return LeftReason(choices.job.task.id, "never", says)
    start, way, rules = found
    taken = numbers_of(rules, lifting.OUTFIT)
    told = [_taken(choices, way, taken, start, teller)] if taken else []
    told += [_hinders(choices, rule, teller) for rule in rules if rule.kind != lifting.OUTFIT]
    mode, when = teller.name(way.mode.id), teller.at(start)
    says = f"{opening}: {mode} could start it {when}, but {listed(told)}."
    return LeftReason(choices.job.task.id, rules[0].kind, says, _blocker(choices, way, rules[0], start))


def _too_late(choices: Choices, teller: Teller) -> LeftReason | None:
    """Return the reason where what it waits for ends too late for each of its ways; None where it is more than that."""
    jobs, places = choices.schedule.board.jobs, choices.schedule.places
    ready = []
    for ahead, least, _ in choices.job.before:
        place = places[ahead]
        assert place is not None
        ready.append((place.end + least, place.end, least, jobs[ahead].task.id))
    if not ready:
        return None
    low, end, least, name = max(ready)
    if any(int(way.options.starts[-1]) >= low for way in choices.job.ways):
        return None
    rest = f", and {lasting(least)} must lie between" if least else ""
    says = f"It comes after {teller.name(name)}, which ends {teller.at(end)}{rest}: too late to do it in these days."
    return LeftReason(choices.job.task.id, lifting.PREDECESSOR, says, name)


def _soonest_way(choices: Choices, *, is_work_only: bool) -> tuple[int, Way, tuple[Rule, ...]] | None:
    """Return the start, the way and the fewest rules that hinder it, of the way hindered by the fewest; or None."""
    horizon, best = choices.schedule.board.horizon, None
    for way in choices.job.ways[:MOST_WAYS]:
        sooner = Sooner(choices, way, horizon)
        kept = [rule for rule in sooner.rules if is_work_only and rule.kind != lifting.OUTFIT]
        rules = sooner.binding(kept=kept)
        start = sooner.soonest(frozenset(rules)) if rules else None
        if start is not None and (best is None or (len(rules), start) < (len(best[2]), best[0])):
            best = (start, way, rules)
    return best


def _taken(choices: Choices, way: Way, resources: list[int], start: int, teller: Teller) -> str:
    groups: dict[tuple[str, ...], list[str]] = {}
    for r in resources:
        name = choices.schedule.board.problem.resources[r].id
        groups.setdefault(tuple(_takers(choices, way, r, start)), []).append(name)
    return listed(
        f"{teller.all(names)} {'is' if len(names) == 1 else 'are'} taken by {teller.all(tasks)}"
        for tasks, names in groups.items()
    )


def _takers(choices: Choices, way: Way, resource: int, start: int) -> list[str]:
    """Return the tasks that hold the resource while the job would, or else the ones on either side."""
    end = start + way.mode.minutes
    stops = choices.line(resource).stops
    over = [stop for stop in stops if stop.start < end and start < stop.end]
    if not over:
        over = [
            *[stop for stop in stops if stop.end <= start][-1:],
            *[s for s in stops if s.start >= end][:1],
        ]
    return [choices.schedule.board.jobs[stop.job].task.id for stop in over]


def _blocker(choices: Choices, way: Way, rule: Rule, start: int) -> str | None:
    board = choices.schedule.board
    if rule.kind == lifting.OUTFIT:
        takers = _takers(choices, way, rule.number, start)
        return takers[0] if takers else board.problem.resources[rule.number].id
    if rule.kind == lifting.PREDECESSOR:
        return board.jobs[rule.number].task.id
    return board.problem.resources[rule.number].id if rule.number >= 0 else None


def _hinders(choices: Choices, rule: Rule, teller: Teller) -> str:
    board, task = choices.schedule.board, choices.job.task
    if rule.kind == lifting.PREDECESSOR:
        place = choices.schedule.places[rule.number]
        assert place is not None
        return (
            f"{teller.name(board.jobs[rule.number].task.id)}, which it waits for, ends {teller.at(place.end)}"
        )
    if rule.kind == lifting.LATEST and task.latest is not None:
        return f"it may start no later than {teller.at(task.latest)}"
    if rule.kind == lifting.EARLIEST:
        return f"it may not start before {teller.at(task.earliest)}"
    if rule.kind == lifting.WINDOW:
        return "it is not open for long enough then"
    if rule.kind == lifting.HOLD:
        return "it would not be done as soon after its beginning as it must"
    who = teller.name(board.problem.resources[rule.number].id)
    return f"{who} {'is not at work for long enough' if rule.kind == lifting.HOURS else 'cannot get there in time'}"
