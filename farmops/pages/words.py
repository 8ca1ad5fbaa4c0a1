"""How numbers, times and money are said on a page."""

import datetime as dt
from decimal import Decimal

NUMBERS = (
    "no one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty"
).split()
DAYS_ES = ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo")
MONTHS_ES = "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre".split()


def count_word(count: int) -> str:
    """Return a count as a word up to twenty, as a figure beyond."""
    return NUMBERS[count] if 0 <= count < len(NUMBERS) else str(count)


def passes(count: int) -> str:
    """Return a count of passes, in words."""
    return f"{count_word(count)} pass" if count == 1 else f"{count_word(count)} passes"


def clock(instant: dt.datetime) -> str:
    """Return a 12-hour time; the instant is already on the farm's clock."""
    hour = instant.hour % 12 or 12
    return f"{hour}:{instant.minute:02d} {'am' if instant.hour < 12 else 'pm'}"


def long_date(day: dt.date, language: str = "en") -> str:
    """Return a date with its weekday."""
    if language == "es":
        return f"{DAYS_ES[day.weekday()]} {day.day} de {MONTHS_ES[day.month - 1]}"
    return f"{day:%A}, {day:%B} {day.day}"


def short_date(day: dt.date) -> str:
    """Return a date as a column heading."""
    return f"{day:%a} {day:%b} {day.day}"


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


def span(minutes: int) -> str:
    """Return a stretch of work as hours."""
    return f"{Decimal(minutes) / 60:.1f} h"
