"""What a manager supposes of a week, as it is written: `hand:+1@thursday`, `overtime:+1h`, `disk:+1=$30/h`, `rain@friday`.

    hand:+1@DAY          one more hand, who does what any hand of the farm does; hand:-1@DAY one fewer, the least missed
    CODE:-1@DAY          this hand away, this machine or implement down
    CODE:+1@DAY          one more like it; the kind of machine, or the work an implement does, may stand for the code
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
from scheduling.solver.problem import Problem, Resource

HAND, IMPLEMENT, OVERTIME, RAIN = "hand", "implement", "overtime", "rain"
CARE = "care"
"""What a service stop's operation is called: no work that somebody could be hired for, nor one that rain stops."""
MORE, FEWER = "more", "fewer"
MOST_COPIES, MOST_OVERTIME_H, MOST_USD_PER_H = 9, 8, 10_000
MOST_LISTED, MOST_LETTERS = 12, 120
_FORM = re.compile(
    r"(?P<what>[^@=]+?)"
    r"(:(?P<sign>[+-])(?P<number>\d{1,4}(\.\d{1,4})?)(?P<is_hours>h)?)?"
    r"(=\$?(?P<usd>\d{1,6}(\.\d{1,2})?)/h)?"
    r"(@(?P<day>[^@=]+))?",
    re.IGNORECASE,
)
_SHAPES = "hand:+1@thursday, tractor-1:-1, disk:+1=$30/h, overtime:+1h or rain@friday"


class SuppositionError(ValueError):
    """What is supposed is not understood, or the farm has no such thing; the sentence says what it has."""


@dataclass(frozen=True, slots=True)
class Supposition:
    """One thing supposed of a problem.

    `resources` are those it is about: the ones of which one more is had, the ones of which `count` are missing, the
    hands who may go on for `minutes` longer; of rain there are none. `cents_per_h` comes on top. With
    `is_work` the subject is the work that an implement does.
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
    if form["is_hours"] or word == OVERTIME:
        return _overtime(problem, names, text, what, number, adds, bool(form["is_hours"]), cents, day)
    if number != int(number) or not 1 <= number <= MOST_COPIES:
        raise SuppositionError(f"{text!r}: {number} is not a whole number from 1 to {MOST_COPIES}.")
    if cents is not None and not adds:
        raise SuppositionError(f"{text!r}: what is missing has no price an hour.")
    subject, found = _resources(problem, names, text, what)
    present = tuple(one for one in found if _works_on(problem, one, day))
    if not present:
        raise SuppositionError(f"{text!r}: {_no_hours(subject, day)}")
    if not adds and number > len(present):
        raise SuppositionError(f"{text!r}: there is only {len(present)} of {subject} to be missed.")
    kind = MORE if adds else FEWER
    is_work = subject not in problem.resource_of and present[0].kind == IMPLEMENT
    ids = tuple(one.id for one in present)
    return Supposition(text, kind, subject, ids, int(number), 0, cents, day, is_work)


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
    named = supposition.resources == (supposition.subject,)
    if supposition.is_work:
        subject = f"{'implement' if supposition.count == 1 else 'implements'} to {subject}"
    elif not named and supposition.count > 1:
        subject = f"{subject}s"
    count = "One" if supposition.count == 1 else str(supposition.count)
    if supposition.kind == FEWER:
        return f"{subject} missing {when}" if named else f"{count} {subject} fewer {when}"
    return f"{count} more like {subject} {when}{price}" if named else f"{count} more {subject} {when}{price}"


def usual_suppositions(problem: Problem) -> tuple[str, ...]:
    """Return what is asked first: an hour more of overtime, a hand more on each day with hands, each implement twice."""
    hands = [one for one in problem.resources if one.kind == HAND]
    found = []
    if any(one.calendar for one in hands):
        found.append(f"{OVERTIME}:+1h")
    for day in days_of(problem):
        if any(_works_on(problem, one, day) for one in hands):
            found.append(f"{HAND}:+1@{name_of(problem, day)}")
    found += [f"{operation}:+1" for operation, ids in _implements_of(problem).items() if ids]
    return tuple(found)


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
