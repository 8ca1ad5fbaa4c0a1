"""Compose the morning sheet of a hand for a day, in a language."""

import datetime as dt
from dataclasses import dataclass

from django.template.loader import render_to_string

from farmops.digests.facts import SheetDay
from farmops.digests.page import lay_out, subject_of
from farmops.digests.selectors.day import FarmDay, farm_day, sheet_day
from farmops.digests.services.reporting_at import ReportAt, plain_address
from farmops.digests.text import as_text
from farmops.farms.models import Farm, Hand


@dataclass(frozen=True)
class Sheet:
    """A sheet in one language: a subject, a text that is complete by itself, and the same as HTML."""

    subject: str
    text: str
    html: str
    language: str


def compose_sheet(
    *,
    farm: Farm,
    hand: Hand,
    day: dt.date,
    language: str | None = None,
    is_late: bool = False,
    facts: FarmDay | None = None,
    report_at: ReportAt | None = None,
) -> Sheet:
    """Return the sheet of a hand; `facts` saves reading the farm's day again for each hand.

    `report_at` is where this hand reports; without it, it is the page that asks for a name and a password.
    """
    language = language or hand.language
    facts = facts or farm_day(farm=farm, day=day)
    at = report_at or plain_address(farm=farm)
    day_of_hand = sheet_day(
        facts=facts,
        hand=hand,
        language=language,
        is_late=is_late,
        report_at=at.address,
        is_own_link=at.is_own_link,
    )
    return print_sheet(day_of_hand, language)


def print_sheet(day: SheetDay, language: str) -> Sheet:
    """Return the sheet of facts that are already read."""
    page = lay_out(day, language)
    return Sheet(
        subject=subject_of(page),
        text=as_text(page),
        html=render_to_string("digests/sheet.html", {"page": page}),
        language=language,
    )
