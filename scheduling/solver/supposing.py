"""What a manager supposes of a week, as it is written: `hand:+1@thursday`, `overtime:+1h`, `disk:+1=$30/h`, `rain@friday`.

    hand:+1@DAY          one more hand, who does what any hand of the farm does; hand:-1@DAY one fewer, the least missed
    CODE:-1@DAY          this hand away, this machine or implement down
    CODE:+1@DAY          one more like it; the kind of machine, or the work an implement does, may stand for the code
    outfit:WORK:+1@DAY   a whole outfit hired for one kind of work: implement, machine and driver, who work together only
    overtime:+1h@DAY     the hands may go on so much longer; CODE:+1h@DAY this hand may
    rain@DAY             the work on the ground is rained out

A DAY is a weekday, the first in the days planned, or a date; without `@DAY` it is all the days planned. What is added
costs what its like costs, and `=$N/h` says what each hour of it costs on top.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from scheduling.solver.days import day_named, days_of, minutes_of, name_of, spoken, within
from scheduling.solver.plan import Plan
from scheduling.solver.problem import Problem, Resource

HAND, IMPLEMENT, OVERTIME, RAIN = "hand", "implement", "overtime", "rain"
CARE = "care"
"""What a service stop's operation is called: no work that somebody could be hired for, nor one that rain stops."""
MORE, FEWER, OUTFIT = "more", "fewer", "outfit"
DRIVER = "driver"
MOST_COPIES, MOST_OVERTIME_H, MOST_USD_PER_H = 9, 8, 10_000
MOST_LISTED, MOST_LETTERS = 12, 120
_FORM = re.compile(
    r"(?P<what>[^@=]+?)"
    r"(:(?P<sign>[+-])(?P<number>\d{1,4}(\.\d{1,4})?)(?P<is_hours>h)?)?"
    r"(=\$?(?P<usd>\d{1,6}(\.\d{1,2})?)/h)?"
    r"(@(?P<day>[^@=]+))?",
    re.IGNORECASE,
)
_SHAPES = "hand:+1@thursday, tractor-1:-1, disk:+1=$30/h, outfit:disk:+1, overtime:+1h or rain@friday"


class SuppositionError(ValueError):
    """What is supposed is not understood, or the farm has no such thing; the sentence says what it has."""


@dataclass(frozen=True, slots=True)
class Supposition:
    """One thing supposed of a problem.

    `resources` are those it is about: the ones of which one more is had, the ones of which `count` are missing, the
    hands who may go on for `minutes` longer, those that a hired outfit is like; of rain there are none. `cents_per_h`
    comes on top. With `is_work` the subject is the work that an implement does. Of an outfit `leads` is its
    implement, and `kinds` tells the rest of it.
    """

    text: str
    kind: str
    subject: str
    resources: tuple[str, ...] = ()
    count: int = 1
    minutes: int = 0
    cents_per_h: int | None = None
    day: date | None = None
    is_work: bool = False
    leads: str = ""
    kinds: tuple[str, ...] = ()

    @property
    def is_loss(self) -> bool:
        """Whether something is taken away, so that no plan can become cheaper."""
        return self.kind in (FEWER, RAIN)


def parse_supposition(text: str, problem: Problem, *, names: Mapping[str, str] | None = None) -> Supposition:
    """Return what a text supposes of a problem; SuppositionError says what of it is not understood.

    `names` tells what people call a resource, which may stand for its id. Letter case does not matter.
    """
    if len(text) > MOST_LETTERS or not text.isprintable():
        raise SuppositionError(f"That is nothing that can be supposed. Say {_SHAPES}.")
    tight = re.sub(r"\s*([:@=/])\s*", r"\1", text.strip())
    form = _FORM.fullmatch(re.sub(r"(@[^@=]+)(=[^@=]+)$", r"\2\1", tight))
    if form is None:
        raise SuppositionError(f"{text!r} is not understood. Say {_SHAPES}.")
    what, word = form["what"].strip(), form["what"].strip().lower()
    day = _day(problem, text, form["day"])
    cents = None if form["usd"] is None else int(Decimal(form["usd"]) * 100)
    if cents is not None and cents > MOST_USD_PER_H * 100:
        raise SuppositionError(f"{text!r}: ${form['usd']} an hour is more than anything costs.")
    if form["sign"] is None:
        if word != RAIN:
            raise SuppositionError(f"{text!r} does not say how many more or fewer. Say {_SHAPES}.")
        if cents is not None:
            raise SuppositionError(f"{text!r}: rain has no price an hour.")
        return Supposition(text, RAIN, RAIN, day=day)
    number, adds = Decimal(form["number"]), form["sign"] == "+"
    if word == RAIN:
        raise SuppositionError(f"{text!r}: rain is not counted. Say rain@friday.")
    head, _, work = what.partition(":")
    if head.lower() == OUTFIT and what not in problem.resource_of:
        if not adds or form["is_hours"]:
            raise SuppositionError(f"{text!r}: an outfit is hired whole and only added. Say outfit:disk:+1.")
        return _outfit(problem, names, text, work.strip(), _count(text, number), cents, day)
    if form["is_hours"] or word == OVERTIME:
        return _overtime(problem, names, text, what, number, adds, bool(form["is_hours"]), cents, day)
    count = _count(text, number)
    if cents is not None and not adds:
        raise SuppositionError(f"{text!r}: what is missing has no price an hour.")
    subject, found = _resources(problem, names, text, what)
    present = tuple(one for one in found if _works_on(problem, one, day))
    if not present:
        raise SuppositionError(f"{text!r}: {_no_hours(subject, day)}")
    if not adds and count > len(present):
        raise SuppositionError(f"{text!r}: there is only {len(present)} of {subject} to be missed.")
    kind = MORE if adds else FEWER
    is_work = subject not in problem.resource_of and present[0].kind == IMPLEMENT
    ids = tuple(one.id for one in present)
    return Supposition(text, kind, subject, ids, count, 0, cents, day, is_work)


def in_words(supposition: Supposition, *, names: Mapping[str, str] | None = None) -> str:
    """Return what is supposed as a page or a terminal says it, without a full stop."""
    when = "on all days" if supposition.day is None else f"on {spoken(supposition.day)}"
    price = (
        "" if supposition.cents_per_h is None else f" at ${_dollars(supposition.cents_per_h)} an hour on top"
    )
    subject = (names or {}).get(supposition.subject, supposition.subject)
    if supposition.kind == RAIN:
        return f"Rain {when}"
    if supposition.kind == OVERTIME:
        whose = "" if supposition.subject == OVERTIME else f" for {subject}"
        hours = Decimal(supposition.minutes) / 60
        told = "One more hour" if hours == 1 else f"{hours.normalize():f} more hours"
        return f"{told} of overtime{whose} {when}{price}"
    if supposition.kind == OUTFIT:
        return f"{_hired(supposition, names or {})} to {subject} {when}{price}"
    named = supposition.resources == (supposition.subject,)
    if supposition.is_work:
        subject = f"{'implement' if supposition.count == 1 else 'implements'} to {subject}"
    elif not named and supposition.count > 1:
        subject = f"{subject}s"
    count = "One" if supposition.count == 1 else str(supposition.count)
    if supposition.kind == FEWER:
        return f"{subject} missing {when}" if named else f"{count} {subject} fewer {when}"
    return f"{count} more like {subject} {when}{price}" if named else f"{count} more {subject} {when}{price}"


def usual_suppositions(problem: Problem, plan: Plan | None = None) -> tuple[str, ...]:
    """Return what is asked first: an hour more of overtime, a hand more on each day with hands, each implement twice,
    and each with what pulls it and who drives it, as a grower hires it.

    With a plan, implements are asked about only where it has work left or late, or work that such work waits for.
    """
    hands = [one for one in problem.resources if one.kind == HAND]
    found = []
    if any(one.calendar for one in hands):
        found.append(f"{OVERTIME}:+1h")
    for day in days_of(problem):
        if any(_works_on(problem, one, day) for one in hands):
            found.append(f"{HAND}:+1@{name_of(problem, day)}")
    wanted = None if plan is None else _wanted(problem, plan)
    for operation, ids in _implements_of(problem).items():
        if not ids or (wanted is not None and operation not in wanted):
            continue
        if any(_works_on(problem, problem.resource_of[name], None) for name in ids):
            found.append(f"{operation}:+1")
        if _model_way(problem, operation, None) is not None:
            found.append(f"{OUTFIT}:{operation}:+1")
    return tuple(found)


def outfit_key(problem: Problem, names: Iterable[str]) -> tuple[frozenset[str], int]:
    """Return what makes two ways the same but for who drives: all that is no hand, and how many hands there are."""
    rest = [name for name in names if problem.resource_of[name].kind != HAND]
    return frozenset(rest), sum(problem.resource_of[name].kind == HAND for name in names)


def company_of(problem: Problem, operation: str, kind: str) -> tuple[str, ...]:
    """Return the resources of a kind that some way of some work names, in the order of the ways."""
    found = {
        name: None
        for task in problem.tasks
        if task.operation == operation
        for mode in task.modes
        for name in mode.resources
        if problem.resource_of[name].kind == kind
    }
    return tuple(found)


def _wanted(problem: Problem, plan: Plan) -> frozenset[str]:
    """Return the kinds of work that a plan leaves or does late, and of what that waits for."""
    held_up = [one.id for one in plan.left]
    for placed in plan.tasks:
        task = problem.task_of[placed.id]
        if task.due is not None and task.due < placed.end and task.late_cents_per_hour:
            held_up.append(placed.id)
    seen: set[str] = set()
    while held_up:
        name = held_up.pop()
        if name not in seen:
            seen.add(name)
            held_up += [link.task for link in problem.task_of[name].after]
    return frozenset(problem.task_of[name].operation for name in seen)


def _day(problem: Problem, text: str, told: str | None) -> date | None:
    if told is None:
        return None
    day, days = day_named(problem, told), list(days_of(problem))
    span = f"the days planned are {spoken(days[0])} to {spoken(days[-1])}"
    if day is None:
        raise SuppositionError(
            f"{text!r}: {told.strip()!r} names none of the days. Say a weekday such as thursday, or a date such as "
            f"{days[0]}; {span}."
        )
    if day not in days:
        raise SuppositionError(f"{text!r}: {day} lies outside; {span}.")
    return day


def _overtime(
    problem: Problem,
    names: Mapping[str, str] | None,
    text: str,
    what: str,
    number: Decimal,
    adds: bool,
    is_hours: bool,
    cents: int | None,
    day: date | None,
) -> Supposition:
    if not is_hours:
        raise SuppositionError(f"{text!r}: overtime is told in hours. Say overtime:+1h.")
    if not adds:
        raise SuppositionError(f"{text!r}: overtime can only be added. Say overtime:+1h.")
    minutes = number * 60
    if minutes != int(minutes) or not 0 < number <= MOST_OVERTIME_H:
        raise SuppositionError(
            f"{text!r}: {number} hours are not whole minutes, more than none and at most {MOST_OVERTIME_H} hours."
        )
    if what.lower() in (OVERTIME, HAND):
        subject, found = OVERTIME, [one for one in problem.resources if one.kind == HAND]
    else:
        subject, found = _resources(problem, names, text, what)
        if any(one.kind != HAND for one in found):
            raise SuppositionError(f"{text!r}: only hands work overtime. {_what_there_is(problem, names)}")
    present = tuple(one.id for one in found if _works_on(problem, one, day))
    if not present:
        raise SuppositionError(f"{text!r}: {_no_hours(subject, day)}")
    return Supposition(text, OVERTIME, subject, present, 1, int(minutes), cents, day)


def _count(text: str, number: Decimal) -> int:
    if number != int(number) or not 1 <= number <= MOST_COPIES:
        raise SuppositionError(f"{text!r}: {number} is not a whole number from 1 to {MOST_COPIES}.")
    return int(number)


def _outfit(
    problem: Problem,
    names: Mapping[str, str] | None,
    text: str,
    work: str,
    count: int,
    cents: int | None,
    day: date | None,
) -> Supposition:
    implements = _implements_of(problem)
    called = [one for one in implements if work.lower() in (one.lower(), (names or {}).get(one, one).lower())]
    known = [one for one in called if implements[one]]
    if not known:
        told = (
            f"no implement is used to {called[0]}."
            if called
            else f"there is no work {work!r} to hire for here."
        )
        raise SuppositionError(f"{text!r}: {told} {_what_there_is(problem, names)}")
    way = _model_way(problem, known[0], day)
    if way is None:
        raise SuppositionError(f"{text!r}: {_no_hours(known[0], day)}")
    rest = [problem.resource_of[name].kind for name in way]
    leads = next(name for name in way if problem.resource_of[name].kind == IMPLEMENT)
    rest.remove(IMPLEMENT)
    kinds = tuple(DRIVER if kind == HAND else kind for kind in rest)
    return Supposition(text, OUTFIT, known[0], way, count, 0, cents, day, True, leads, kinds)


def _model_way(problem: Problem, operation: str, day: date | None) -> tuple[str, ...] | None:
    """Return what the outfit is of that the most ways of some work are like, of equals the first; None if none has hours."""
    times: dict[tuple[frozenset[str], int], int] = {}
    first: dict[tuple[frozenset[str], int], tuple[str, ...]] = {}
    for task in problem.tasks:
        for mode in task.modes if task.operation == operation else ():
            kinds = {problem.resource_of[name].kind for name in mode.resources}
            if IMPLEMENT in kinds and all(_is_there(problem, operation, kind, day) for kind in kinds):
                key = outfit_key(problem, mode.resources)
                times[key] = times.get(key, 0) + 1
                first.setdefault(key, mode.resources)
    return first[max(times, key=lambda key: times[key])] if times else None


def _is_there(problem: Problem, operation: str, kind: str, day: date | None) -> bool:
    return any(
        _works_on(problem, problem.resource_of[name], day) for name in company_of(problem, operation, kind)
    )


def _hired(supposition: Supposition, names: Mapping[str, str]) -> str:
    """Return a hired outfit in words, such as `A hired 28 ft disk with its tractor and driver`."""
    leads = names.get(supposition.leads, supposition.leads)
    rest = [kind.replace("_", " ") for kind in supposition.kinds]
    if supposition.count > 1:
        return f"{supposition.count} hired outfits, each {_anded([leads, *rest])},"
    return f"A hired {leads} with its {_anded(rest)}" if rest else f"A hired {leads}"


def _anded(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _resources(
    problem: Problem, names: Mapping[str, str] | None, text: str, what: str
) -> tuple[str, list[Resource]]:
    """Return the subject in the problem's own words, and its resources: one by its id or name, or all of a kind."""
    word = what.lower()
    if word == HAND:
        return HAND, [one for one in problem.resources if one.kind == HAND]
    for one in problem.resources:
        if one.id.lower() == word:
            return one.id, [one]
    called = [one for one in problem.resources if (names or {}).get(one.id, "").lower() == word]
    if len(called) == 1:
        return called[0].id, called
    if len(called) > 1:
        ids = ", ".join(one.id for one in called)
        raise SuppositionError(f"{text!r}: {what!r} may be any of {ids}. Say which.")
    for operation, implements in _implements_of(problem).items():
        if operation.lower() == word:
            if not implements:
                raise SuppositionError(f"{text!r}: no implement is used to {operation}.")
            return operation, [problem.resource_of[name] for name in implements]
    of_kind = [one for one in problem.resources if one.kind.lower() == word and word != IMPLEMENT]
    if of_kind:
        return of_kind[0].kind, of_kind
    raise SuppositionError(f"{text!r}: there is no {what!r} here. {_what_there_is(problem, names)}")


def _implements_of(problem: Problem) -> dict[str, tuple[str, ...]]:
    """Return for each operation the implements that do it, in the order of the tasks."""
    found: dict[str, dict[str, None]] = {}
    for task in problem.tasks:
        if task.operation == CARE:
            continue
        ids = found.setdefault(task.operation, {})
        for mode in task.modes:
            ids |= {name: None for name in mode.resources if problem.resource_of[name].kind == IMPLEMENT}
    return {operation: tuple(ids) for operation, ids in found.items()}


def _works_on(problem: Problem, resource: Resource, day: date | None) -> bool:
    return bool(resource.calendar if day is None else within(resource.calendar, minutes_of(problem, day)))


def _no_hours(subject: str, day: date | None) -> str:
    when = "on any of the days" if day is None else f"on {spoken(day)}"
    return f"nobody and nothing of {subject!r} is at work {when}, so there are no hours to go by."


def _what_there_is(problem: Problem, names: Mapping[str, str] | None) -> str:
    of_kind: dict[str, list[str]] = {}
    for one in problem.resources:
        of_kind.setdefault(one.kind, []).append(one.id)
    told = [f"{kind}: {_listed(ids)}" for kind, ids in of_kind.items()]
    work = [operation for operation, ids in _implements_of(problem).items() if ids]
    told += [f"work with an implement: {_listed(work)}"] if work else []
    return f"There is {'; '.join(told)}." if told else "There is nothing to work with."


def _listed(words: Iterable[str]) -> str:
    first = list(words)
    more = len(first) - MOST_LISTED
    return ", ".join(first[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")


def _dollars(cents: int) -> str:
    return f"{cents // 100:,}.{cents % 100:02d}"
