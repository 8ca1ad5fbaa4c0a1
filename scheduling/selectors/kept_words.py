"""What is kept or worked out in English and told to whoever reads: why a report waits, notes on weather, refused limits.

Each sentence is known again by its form, whose braces stand for what is filled in: `work` a pass with its field,
`stretch` days in a row, `apart` a length of time, `why`, `because` and `placed` sentences with forms of their own; anything
else stays as it is. A sentence of no known form stays whole.
"""

import re
from collections.abc import Callable
from functools import cache

from django.utils.translation import gettext, gettext_noop

from farmops.farms.operations import WORDS
from scheduling.selectors.speaking import ENGLISH, speaking

WAITING = (
    gettext_noop("{work} was called off: {why}"),
    gettext_noop("{work} was called off."),
    gettext_noop("Not walked after all."),
    gettext_noop("The plan gives {work} to {names}, not to {hand}."),
    gettext_noop("{hand} reported {hours} h on {work} for the same hours."),
    gettext_noop("{hand} reported the same hours of {day} before."),
    gettext_noop("It is about {day}, {days} days back; more than {most} are looked at first."),
    gettext_noop("These hours end when it is not yet that late; is it morning for evening, or another day?"),
    gettext_noop(
        "The phone's clock was set after this was written, so when that was cannot be worked out: it says {apart} "
        "from now."
    ),
    gettext_noop("The phone says that it was written on {day}, {apart} ago."),
    gettext_noop("It looks like one that you sent before."),
    gettext_noop("{who} reported this work done on {day}: is this another?"),
    gettext_noop("{who} reported this work done on {day}: is this another? {over}"),
    gettext_noop("{who} told of the same about that hour: was it done twice?"),
    gettext_noop("{who} told of the same about that hour: did it happen twice?"),
    gettext_noop("A check of {thing} is not fine: {note}"),
    gettext_noop("A check of {thing} is not fine."),
    gettext_noop("A check is not fine: {note}"),
    gettext_noop("A check is not fine."),
    gettext_noop("{work} has {acres} acres; with this record {done} would be done."),
    gettext_noop("{who} would have {hours} on {day}; a day has 24 ({before} are recorded already)."),
    gettext_noop("{hand} would have {hours} h worked on {day}; a day has 24."),
    gettext_noop("{hand} would have {hours} h offered on {day}; a day has 24."),
    gettext_noop("{who} would have {hours} on {day}; a day has 24."),
    gettext_noop("The meter of {machine} cannot go back: {hours} h after {before} h."),
    gettext_noop("The meter of {machine} cannot go back: {hours} h before {later} h, read later."),
    gettext_noop(
        "The meter of {machine} was entered with {first} h; is the point in {hours} h where it belongs?"
    ),
    gettext_noop("The meter of {machine} would gain {gained} h in {passed} h: {hours} h after {before} h."),
    gettext_noop("{products}: restricted-use, and {name} has no license that is valid on {day}."),
    gettext_noop("{acres} acres sprayed on {field}, which has {holds}."),
    gettext_noop("The spraying ends after it began, and within 24 hours; write a record for each day."),
    gettext_noop("{gallons} gallons out of {tank}, which holds {holds}."),
    gettext_noop("From start to stop it is {hours} h; is the stop before the start?"),
    gettext_noop("{worked} h worked from start to stop, which are {span} h apart."),
    gettext_noop("The day has no start, and no hours worked."),
    gettext_noop("A break of {minutes} minutes is longer than the day."),
    gettext_noop("{day} has not come yet at the farm."),
    gettext_noop("{day}: is the year right?"),
    gettext_noop("There was no {hour} on {day}: the clock was put forward."),
    gettext_noop("Engine minutes without a machine."),
    gettext_noop("The record says nothing: no hours, no acres, not finished, and not why."),
    gettext_noop("The report names no machine."),
    gettext_noop("The report does not say which service was done."),
    gettext_noop("{farm} has no machine {code}."),
    gettext_noop("{farm} has no implement {code}."),
    gettext_noop("{farm} has no such pass."),
    gettext_noop("{farm} has no fuel tank {code}."),
    gettext_noop("{farm} has no field {code}."),
    gettext_noop("{farm} has no service {code}."),
    gettext_noop("{field} has no such zone."),
)
"""Why a report waits for the manager."""
NOTES = (
    gettext_noop("{stretch}: not all was read; the usual of the season stands in."),
    gettext_noop("{stretch}: nothing was read; the usual weather stands in."),
    gettext_noop(
        "{count} days from {day} on: too little history for that time of year; the mean of the nearest 14 known days "
        "stands in, for rain of the nearest 60. Bet no day on them."
    ),
    gettext_noop(
        "The newest forecast is of {day} and tells no day after {last}; the usual weather stands in."
    ),
    gettext_noop("The newest forecast is of {day}, more than a day before {today}."),
    gettext_noop(
        "{field} was sprayed on {day} and no label's re-entry hours are kept: read the label before anybody goes in."
    ),
    gettext_noop("A choice of some day is not followed: {because}"),
    gettext_noop("A choice of {day} is not followed: {because}"),
)
"""Notes on the weather, on sprayings and on limits, which stand with a week's windows."""
LIMITS = (
    gettext_noop("{key}: there is no such limit; known are {known}."),
    gettext_noop("{key}: how sure an hour must be has a number; it cannot be left out."),
    gettext_noop("{key}: the label wins; it can be made stricter, never left out."),
    gettext_noop("{key}: the number is {number}; {quantity} is told from {least} to {most} {unit}."),
    gettext_noop("{name} is {value}; it is {least} to {most}."),
)
"""Why a choice about a limit, or a number of a walk, is refused."""
LATE = (
    gettext_noop("{value} is outside {least} to {most}"),
    gettext_noop("{crop}: a curve has 1 to {most} losses."),
    gettext_noop("{crop}: the loss after {day} does not come after {before}."),
    gettext_noop("{crop}: loss {row}: {fact} is {value}, no number."),
    gettext_noop("{crop}: loss {row}: {fact} is {value}; it is 0 to {most}."),
    gettext_noop("{crop}: loss {row}: {fact} is {value}; it has at most three decimals."),
    gettext_noop("{crop}: loss {row}: {value} is no day such as 05-20."),
    gettext_noop("{crop}: loss {row}: not every year has a February 29."),
    gettext_noop("{crop}: the curve {key} counts in {unit}, and the yield in {own}."),
)
"""Why what planting late takes is refused."""
PLACES = (
    gettext_noop(
        "The place lies {far} km from the farm (at most {most}); are latitude and longitude in order, and is west "
        "negative?"
    ),
    gettext_noop("{name} is {value}; it is {least} to {most}."),
    gettext_noop("Place not kept: latitude {degrees} alone."),
    gettext_noop("Place not kept: longitude {degrees} alone."),
    gettext_noop("Place not kept: {latitude}, {longitude}. {placed}"),
)
"""What became of a place that cannot be."""
FACTS = {"per_day": gettext_noop("lost each day"), "at_once": gettext_noop("lost once, the day after")}
STRETCHES = (
    gettext_noop("{first} to {last} ({count} days)"),
    gettext_noop("{count} more stretches of days"),
)
LENGTHS = (gettext_noop("{count} minutes"), gettext_noop("{count} hours"), gettext_noop("{count} days"))
FORMS = (*LATE, *WAITING, *NOTES, *LIMITS, *PLACES)


def kept_said(text: str) -> str:
    """Return a sentence that was kept in English in the language that is on."""
    return text if speaking() == ENGLISH else _by_form(text, FORMS)


def _by_form(text: str, forms: tuple[str, ...]) -> str:
    for form in forms:
        found = _pattern(form).fullmatch(text)
        if found is not None:
            return gettext(form).format(
                **{name: _part(name, part) for name, part in found.groupdict().items()}
            )
    return text


def _part(name: str, part: str) -> str:
    say = SAY.get(name)
    return part if say is None else say(part)


def _work(text: str) -> str:
    """Return a pass with its field, its kind of work said again."""
    for words in WORDS.values():
        if text.endswith(f" {words.english}"):
            return f"{text.removesuffix(words.english)}{words.spanish}"
    return text


SAY: dict[str, Callable[[str], str]] = {
    "work": _work,
    "stretch": lambda text: _by_form(text, STRETCHES),
    "apart": lambda text: _by_form(text, LENGTHS),
    "why": lambda text: _by_form(text, WAITING),
    "over": lambda text: _by_form(text, WAITING),
    "because": lambda text: _by_form(text, LIMITS),
    "placed": lambda text: _by_form(text, PLACES),
    "crop": lambda text: gettext(text),
    "fact": lambda text: gettext(FACTS.get(text, text)),
}


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """Return a pattern that knows a form again, with a group for each brace."""
    pieces = re.split(r"\{(\w+)\}", form)
    return re.compile(
        "".join(f"(?P<{one}>.+?)" if at % 2 else re.escape(one) for at, one in enumerate(pieces)), re.DOTALL
    )
