"""How numbers, times and money are said on a page, in the language that is on or in the one that is asked for."""

import datetime as dt
import re
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from django.utils.translation import get_language, gettext, ngettext

from ledger.costing.money import usd_said

NUMBERS = (
    "no one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "  # not said
    "eighteen nineteen"
).split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()  # not said
ISO_DATE = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")
DAYS_ES = ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo")
MONTHS_ES = (
    "enero",
    "febrero",
    "marzo",
    "abril",
    "mayo",
    "junio",
    "julio",
    "agosto",
    "septiembre",
    "octubre",
    "noviembre",
    "diciembre",
)


def speaking(language: str | None = None) -> str:
    """Return the language asked for, else the one that is on: `en` or `es`."""
    return (language or get_language() or "en")[:2]


def named(label: object) -> str:
    """Return the reader's word for a label that comes as data: a choice, a kind, a category of the trade."""
    text = str(label)
    return gettext(text) if text else ""


def count_word(count: int) -> str:
    """Return a count as a word below a hundred, as a figure beyond and in Spanish, whose numbers bend with the noun."""
    if speaking() == "es":
        return f"{count:,}"
    if 0 <= count < len(NUMBERS):
        return NUMBERS[count]
    if not 20 <= count < 100:
        return f"{count:,}"
    ten, one = divmod(count, 10)
    return TENS[ten - 2] + (f"-{NUMBERS[one]}" if one else "")


def capital(text: str) -> str:
    """Return a sentence with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def listed(told: Sequence[str]) -> str:
    """Return a few things one after another: one, two and three."""
    if len(told) < 2:
        return "".join(told)
    return gettext("{some} and {last}").format(some=", ".join(told[:-1]), last=told[-1])


def ended(text: str) -> str:
    """Return a sentence with its full stop; where it ends with a short form, as p.m. is, that has one already."""
    return text if text.endswith(".") else f"{text}."


def passes(count: int) -> str:
    """Return a count of passes, in words."""
    return ngettext("{count} pass", "{count} passes", count).format(count=count_word(count))


def clock(instant: dt.datetime, language: str | None = None) -> str:
    """Return a 12-hour time; the instant is already on the farm's clock."""
    half = ("a.m.", "p.m.") if speaking(language) == "es" else ("am", "pm")
    return f"{instant.hour % 12 or 12}:{instant.minute:02d} {half[instant.hour >= 12]}"


def one_stop(sentence: str) -> str:
    """Return a sentence that ends with one point, where its last word has a point of its own, as a.m. has."""
    return sentence[:-1] if sentence.endswith("..") else sentence


def weekday(day: dt.date, language: str | None = None) -> str:
    """Return the name of a day: Monday, or lunes."""
    return DAYS_ES[day.weekday()] if speaking(language) == "es" else f"{day:%A}"


def short_weekday(day: dt.date, language: str | None = None) -> str:
    """Return the short name of a day: Mon, or lun."""
    return _short_weekday(day, speaking(language))


@lru_cache(maxsize=1024)
def _short_weekday(day: dt.date, spoken: str) -> str:
    return DAYS_ES[day.weekday()][:3] if spoken == "es" else f"{day:%a}"


def short_month(day: dt.date, language: str | None = None) -> str:
    """Return the short name of a month: Sep, or sep."""
    return MONTHS_ES[day.month - 1][:3] if speaking(language) == "es" else f"{day:%b}"


def month_and_year(day: dt.date, language: str | None = None) -> str:
    """Return a month of a year: April 2026, or abril de 2026."""
    if speaking(language) == "es":
        return f"{MONTHS_ES[day.month - 1]} de {day.year}"
    return f"{day:%B} {day.year}"


def month_and_day(day: dt.date, language: str | None = None) -> str:
    """Return a day without its year: April 6, or 6 de abril."""
    if speaking(language) == "es":
        return f"{day.day} de {MONTHS_ES[day.month - 1]}"
    return f"{day:%B} {day.day}"


def full_date(day: dt.date, language: str | None = None) -> str:
    """Return a day with its year: April 6, 2026, or 6 de abril de 2026."""
    if speaking(language) == "es":
        return f"{day.day} de {MONTHS_ES[day.month - 1]} de {day.year}"
    return f"{day:%B} {day.day}, {day.year}"


def table_date(day: dt.date, language: str | None = None) -> str:
    """Return a day as a cell of a table: Apr 6, 2026, or 6 abr 2026."""
    if speaking(language) == "es":
        return f"{day.day} {short_month(day, language)} {day.year}"
    return f"{day:%b} {day.day}, {day.year}"


def tick_date(day: dt.date, language: str | None = None) -> str:
    """Return a day as a mark of an axis: Apr 6, or 6 abr."""
    if speaking(language) == "es":
        return f"{day.day} {short_month(day, language)}"
    return f"{day:%b} {day.day}"


def long_date(day: dt.date, language: str | None = None) -> str:
    """Return a date with its weekday: Monday, April 6, or lunes 6 de abril."""
    between = " " if speaking(language) == "es" else ", "
    return f"{weekday(day, language)}{between}{month_and_day(day, language)}"


def short_date(day: dt.date, language: str | None = None) -> str:
    """Return a date as a column heading: Mon Apr 6, or lun 6 abr."""
    return _short_date(day, speaking(language))


@lru_cache(maxsize=1024)
def _short_date(day: dt.date, spoken: str) -> str:
    return f"{short_weekday(day, spoken)} {tick_date(day, spoken)}"


def dates_said(text: str, language: str | None = None) -> str:
    """Return a sentence with its dates said as people say them; what is no date stays."""

    def said(found: re.Match[str]) -> str:
        try:
            day = dt.date.fromisoformat(found[0])
        except ValueError:
            return found[0]
        return full_date(day, language)

    return ISO_DATE.sub(said, text)


def dollars(cents: int | None) -> str:
    """Return whole cents as dollars and cents."""
    if cents is None:
        return "–"
    return usd_said(cents)


def whole_dollars(cents: int | None) -> str:
    """Return whole cents rounded to dollars, for a headline."""
    if cents is None:
        return "–"
    rounded = int((Decimal(cents) / 100).to_integral_value())
    return f"{'−' if rounded < 0 else ''}${abs(rounded):,}"


def exact_dollars(usd: Decimal | None) -> str:
    """Return dollars with the decimals that they have, for a price of a unit."""
    if usd is None:
        return "–"
    return f"{'−' if usd < 0 else ''}${abs(usd):,f}"
