"""The language of whoever reads, and days and hours said in it."""

import datetime as dt

from django.utils.translation import get_language

from scheduling.slips.words import day_words, moment_words

ENGLISH, SPANISH = "en", "es"


def speaking() -> str:
    """Return the language that is on: `en` or `es`. Commands and the API have none on, and speak English."""
    return SPANISH if (get_language() or ENGLISH)[:2] == SPANISH else ENGLISH


def moment_said(local: dt.datetime) -> str:
    """Return an instant that is on the farm's clock already with its weekday and a 12-hour time."""
    return moment_words(local, speaking())


def day_said(day: dt.date) -> str:
    """Return a day with its weekday."""
    return day_words(day, speaking())


def named_in(row: object) -> str:
    """Return the name of a machine, an implement or a hand; its Spanish one where it has one and that is spoken."""
    spanish = getattr(row, "name_es", "") if speaking() == SPANISH else ""
    return str(spanish or row)
