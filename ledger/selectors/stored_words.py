"""Sentences of the books that were stored in English, said again in the reader's language.

A line keeps its words for ever, and the digest of its entry holds them; so does the reason of an entry, and the sentence
by which a posting waits. They are stored in English, whoever was reading when they were written. Here each is known by
its form and said again with what it names: a hand, a machine, a day. What has another form stays as it is: a person's
own words, names, and what another database wrote.
"""

import re
from functools import cache

from django.utils.translation import get_language, gettext, gettext_noop

ENGLISH = "en"
NUMBERS = frozenset(
    "minutes hours years yearly_hours gallons of_gallons horsepower share whole meter percent year number quantity short "
    "count places amount".split()
)
"""What stands for a number in a form."""
SENTENCES = frozenset({"line", "wages", "what"})
"""What stands for words that have a form of their own."""
LABELS = frozenset({"kind", "unit"})
"""What stands for a label, which the catalogue has by itself."""

FORMS = (
    gettext_noop("superseded by a corrected opening stock"),
    gettext_noop("superseded by a corrected bill"),
    gettext_noop("its bill was corrected"),
    gettext_noop("superseded by the work record of {day} {clock} UTC"),
    gettext_noop("the service was taken back on {day} {clock} UTC"),
    gettext_noop("the service was corrected on {day} {clock} UTC"),
    gettext_noop("the time lost, or the work it was lost in, is said otherwise now"),
    gettext_noop("no time was lost in hours that stand in the books"),
    gettext_noop("{minutes} min of the hours in entry {number}"),
    gettext_noop("its fuel is shared over work otherwise now"),
    gettext_noop("the fill-up was corrected or taken back"),
    gettext_noop("shared over {places} places, {digest}"),
    gettext_noop("closed with {count} entry"),
    gettext_noop("closed with {count} entries"),
    gettext_noop("shared out over seasons"),
    gettext_noop("share of the farm as a whole: {share} of {whole} {unit}"),
    gettext_noop("share of {pool}: {share} of {whole} {unit}"),
    gettext_noop("owning {thing} in {year}, capital recovery by ASAE EP496"),
    gettext_noop("{thing}, ownership by ASAE EP496 over {years} years at {yearly_hours} h"),
    gettext_noop("{thing}, average repairs by ASAE D497"),
    gettext_noop("{thing}, own rate with fuel"),
    gettext_noop("{thing}, own rate"),
    gettext_noop("{machine}, run on no work record by its meter at {meter} h"),
    gettext_noop("{machine}, average of {horsepower} hp over {minutes} min: {what}"),
    gettext_noop("{machine}, average of {horsepower} hp over {minutes} min"),
    gettext_noop("{machine}, {gallons} of {of_gallons} gal filled up on {day}: {what}"),
    gettext_noop("{machine}, {gallons} of {of_gallons} gal filled up on {day}"),
    gettext_noop("{machine}, 15 % of its fuel"),
    gettext_noop("on the wages: {wages}"),
    gettext_noop("{hand}, {minutes} min lost: {kind}"),
    gettext_noop("{item} lot {lot}, bought {day}: {line}"),
    gettext_noop("{item}, bought {day}: {line}"),
    gettext_noop("{item}, average of {quantity} in stock"),
    gettext_noop("there on {day}"),
    gettext_noop("bill of {payee} no. {invoice}"),
    gettext_noop("bill of {payee}"),
    gettext_noop("paid to {payee} by check {check}"),
    gettext_noop("paid to {payee}"),
    gettext_noop("parts: {service}"),
    gettext_noop("{landlord} bears {percent} %"),
    gettext_noop("{landlord} for {ground} {kind} {year}"),
    gettext_noop(
        "No hourly rate of {thing} holds on {day}, and no cost facts to work one out from; "
        "set one from that day or earlier (0 is allowed)."
    ),
    gettext_noop("No {what} holds on {day}; set one from that day or earlier (0 is allowed)."),
    gettext_noop("wage of {hand}"),
    gettext_noop("price of fuel"),
    gettext_noop("price of the input {item}"),
    gettext_noop("price of hired work ({operation})"),
    gettext_noop("{amount} {unit} of {item} were reported on {day}, but it is in stock by the {other}."),
    gettext_noop("{amount} {unit} of {item} were reported on {day}, but its price is for one {other}."),
    gettext_noop(
        "{amount} {unit} of {item} were used on {day}, {short} {same} more than is in stock; "
        "enter the bill that is missing, or set a price from that day or earlier."
    ),
    gettext_noop("There is no season of crop year {year} to share the bill over."),
)
"""The forms in English, the longer before the shorter that would hold it too. Braces stand for what is filled in."""


AVERAGE = "{item}, average of {quantity} in stock"  # one of the forms above


def said_again(text: str) -> str:
    """Return a stored sentence in the language that is on; what has no known form stays."""
    if not text or (get_language() or ENGLISH)[:2] == ENGLISH:
        return text
    for form in FORMS:
        found = _pattern(form).fullmatch(text)
        if found is not None:
            return gettext(form).format(
                **{name: _said(name, part) for name, part in found.groupdict().items()}
            )
    return text


def is_average(text: str) -> bool:
    """Say whether a line of the books has left the stock at its average, which stands in no row of prices."""
    return _pattern(AVERAGE).fullmatch(text) is not None


def line_said(text: str, *, unit: str) -> str:
    """Return the stored sentence of a line of the books in the language that is on; an average of stock has its unit."""
    found = _pattern(AVERAGE).fullmatch(text)
    if found is None or not unit:
        return said_again(text)
    return gettext("{item}, average of {quantity} {unit} in stock").format(**found.groupdict(), unit=unit)


def _said(name: str, part: str) -> str:
    if name in SENTENCES:
        return said_again(part)
    return gettext(part) if name in LABELS else part


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """Return a pattern that knows a form again, with a group for each brace."""
    pieces = re.split(r"\{(\w+)\}", form)
    return re.compile("".join(_group(one) if at % 2 else re.escape(one) for at, one in enumerate(pieces)))


def _group(name: str) -> str:
    if name == "day":
        what = r"\d{4}-\d\d-\d\d"
    elif name == "clock":
        what = r"\d\d:\d\d"
    else:
        what = r"-?[0-9][0-9.,]*" if name in NUMBERS else r".+"
    return f"(?P<{name}>{what})"
