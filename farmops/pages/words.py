"""How numbers, times and money are said on a page."""

import datetime as dt
import re
from decimal import Decimal

NUMBERS = (
    "no one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
ISO_DATE = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")
DAYS_ES = ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo")
MONTHS_ES = "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre".split()


def count_word(count: int) -> str:
    """Return a count as a word below a hundred, as a figure beyond."""
    if 0 <= count < len(NUMBERS):
        return NUMBERS[count]
    if not 20 <= count < 100:
        return f"{count:,}"
    ten, one = divmod(count, 10)
    return TENS[ten - 2] + (f"-{NUMBERS[one]}" if one else "")


def capital(text: str) -> str:
    """Return a sentence with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def passes(count: int) -> str:
    """Return a count of passes, in words."""
    return f"{count_word(count)} pass" if count == 1 else f"{count_word(count)} passes"


def clock(instant: dt.datetime, language: str = "en") -> str:
    """Return a 12-hour time; the instant is already on the farm's clock."""
    half = ("a.m.", "p.m.") if language == "es" else ("am", "pm")
    return f"{instant.hour % 12 or 12}:{instant.minute:02d} {half[instant.hour >= 12]}"


def long_date(day: dt.date, language: str = "en") -> str:
    """Return a date with its weekday."""
    if language == "es":
        return f"{DAYS_ES[day.weekday()]} {day.day} de {MONTHS_ES[day.month - 1]}"
    return f"{day:%A}, {day:%B} {day.day}"


def short_date(day: dt.date) -> str:
    """Return a date as a column heading."""
    return f"{day:%a} {day:%b} {day.day}"


def dates_said(text: str, language: str = "en") -> str:
    """Return a sentence with its dates said as people say them; what is no date stays."""

    def said(found: re.Match[str]) -> str:
        try:
            day = dt.date.fromisoformat(found[0])
        except ValueError:
            return found[0]
        if language == "es":
            return f"{day.day} de {MONTHS_ES[day.month - 1]} de {day.year}"
        return f"{day:%B} {day.day}, {day.year}"

    return ISO_DATE.sub(said, text)


def dollars(cents: int | None) -> str:
    """Return whole cents as dollars and cents."""
    if cents is None:
        return "–"
    sign = "−" if cents < 0 else ""
    return f"{sign}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


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
