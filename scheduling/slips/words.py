"""Words that slips and sheets share, English beside Spanish: days, clock, lengths, the wetness of the ground. Pure.

Data: a speaker of the crew has the last word and changes it here.
"""

import datetime as dt
from dataclasses import dataclass

from farmops.farms.operations import WORDS, Operation


@dataclass(frozen=True)
class Said:
    """One thing said in both languages."""

    en: str
    es: str

    def in_(self, language: str) -> str:
        return self.es if language == "es" else self.en


# How wet the topsoil is, as a share of the most this work bears: the shares are the farm's judgement.
GROUND_WORDS: tuple[tuple[float, Said], ...] = (
    (0.60, Said("dry on top", "seco arriba")),
    (0.85, Said("a little damp", "apenas húmedo")),
    (1.00, Said("damp, still fit", "húmedo, aún se puede")),
    (1.15, Said("sticks to the boot", "se pega a la bota")),
)
WETTEST = Said("wet", "mojado")

WEEKDAYS = (
    Said("Monday", "lunes"),
    Said("Tuesday", "martes"),
    Said("Wednesday", "miércoles"),
    Said("Thursday", "jueves"),
    Said("Friday", "viernes"),
    Said("Saturday", "sábado"),
    Said("Sunday", "domingo"),
)
MONTHS = (
    Said("January", "enero"),
    Said("February", "febrero"),
    Said("March", "marzo"),
    Said("April", "abril"),
    Said("May", "mayo"),
    Said("June", "junio"),
    Said("July", "julio"),
    Said("August", "agosto"),
    Said("September", "septiembre"),
    Said("October", "octubre"),
    Said("November", "noviembre"),
    Said("December", "diciembre"),
)


def work_words(operation: Operation, language: str) -> str:
    """Return the verb of an operation."""
    words = WORDS[operation]
    return words.spanish if language == "es" else words.english


def day_words(day: dt.date, language: str) -> str:
    """Return a date with its weekday, as said."""
    weekday, month = WEEKDAYS[day.weekday()].in_(language), MONTHS[day.month - 1].in_(language)
    return f"{weekday} {day.day} de {month}" if language == "es" else f"{weekday}, {month} {day.day}"


def clock_words(instant: dt.time, language: str) -> str:
    """Return a time of day on the twelve-hour clock, in both languages; midnight and noon are 12."""
    half = ("a.m.", "p.m.") if language == "es" else ("am", "pm")
    return f"{instant.hour % 12 or 12}:{instant.minute:02d} {half[instant.hour >= 12]}"


def moment_words(at: dt.datetime, language: str) -> str:
    """Return a day and its hour, as said."""
    return f"{day_words(at.date(), language)}, {clock_words(at.time(), language)}"


def span_words(minutes: int) -> str:
    """Return a length of work in hours and minutes."""
    hours, rest = divmod(minutes, 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{rest} min"] if rest or not hours else [])
    return " ".join(parts)


def ground_words(share: float, language: str) -> str:
    """Return the word for topsoil water as a share of the most that the work bears."""
    for below, said in GROUND_WORDS:
        if share < below:
            return said.in_(language)
    return WETTEST.in_(language)
