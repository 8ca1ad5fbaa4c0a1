"""Compose what is mailed to a person for a day, in the person's language: one door for every kind of mail."""

import datetime as dt
import hashlib
from dataclasses import dataclass, replace

from django.template.loader import render_to_string

from farmops.core.problems import DomainError
from farmops.digests.digest_page import lay_out_digest
from farmops.digests.facts import SheetDay
from farmops.digests.farm_facts import ShutField
from farmops.digests.models import OnEmptyDay, OutboxRow, SheetKind
from farmops.digests.page import Page, lay_out, subject_of
from farmops.digests.selectors.choices import choice_of
from farmops.digests.selectors.day import FarmDay, farm_day, sheet_day
from farmops.digests.selectors.digest import digest_day
from farmops.digests.selectors.shut import shut_fields
from farmops.digests.services.reporting_at import ReportAt, plain_address
from farmops.digests.text import as_text
from farmops.farms.models import Farm, Hand

LATE_AFTER = dt.timedelta(minutes=30)
"""A mail that goes out this much after its hour says so in its first line."""

COMPOSING_TROUBLE = (DomainError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError)
"""What may go wrong with the facts of one farm or one person; the others' mail goes on."""


@dataclass(frozen=True)
class Sheet:
    """A sheet in one language: a subject, a text that is complete by itself, and the same as HTML."""

    subject: str
    text: str
    html: str
    language: str


@dataclass(frozen=True)
class Composed:
    """What goes out for a row, the plan it was read from, and a hash of what it tells (not of links and lateness)."""

    sheet: Sheet
    plan_no: int | None
    told_hash: str


class FarmDays:
    """The days of one farm, each read once for all its rows; the next farm's push them out."""

    def __init__(self) -> None:
        self._farm_id: int | None = None
        self._read: dict[dt.date, FarmDay] = {}
        self._shut: dict[dt.date, tuple[ShutField, ...] | None] = {}

    def of(self, farm: Farm, day: dt.date) -> FarmDay:
        """Return a day of a farm."""
        self._turn_to(farm)
        if day not in self._read:
            self._read[day] = farm_day(farm=farm, day=day)
        return self._read[day]

    def shut(self, farm: Farm, day: dt.date) -> tuple[ShutField, ...] | None:
        """Return what is shut on a farm's day."""
        facts = self.of(farm, day)
        if day not in self._shut:
            planned = {slip.pass_id for slips in facts.slips.values() for slip in slips}
            self._shut[day] = shut_fields(farm=farm, day=day, planned=planned)
        return self._shut[day]

    def _turn_to(self, farm: Farm) -> None:
        if farm.pk != self._farm_id:
            self._farm_id, self._read, self._shut = farm.pk, {}, {}


def compose_row(
    *, row: OutboxRow, now: dt.datetime, days: FarmDays, report_at: ReportAt | None = None
) -> Composed | None:
    """Return what goes out for a row now, or None when there is nothing to tell and the person wants no word of that.

    `report_at` is where a hand reports; without it, it is the page that asks for a name and a password. Nothing is
    written.
    """
    if row.kind == SheetKind.HAND:
        return _sheet_of_hand(row, now, days, report_at)
    return _OF_USERS[SheetKind(row.kind)](row, now, days)


def is_late(row: OutboxRow, now: dt.datetime) -> bool:
    """Say whether a mail goes out so much after its hour that it says so."""
    return now - row.due_at > LATE_AFTER


def _sheet_of_hand(
    row: OutboxRow, now: dt.datetime, days: FarmDays, report_at: ReportAt | None
) -> Composed | None:
    hand = row.hand
    assert hand is not None  # a check in the database says so
    facts = days.of(row.farm, row.local_day)
    if hand.pk not in facts.busy and not _wants_short(row):
        return None
    at = report_at or plain_address(farm=row.farm)
    day = sheet_day(
        facts=facts,
        hand=hand,
        language=hand.language,
        is_late=is_late(row, now),
        report_at=at.address,
        is_own_link=at.is_own_link,
    )
    page = lay_out(day, hand.language)
    return Composed(print_page(page), facts.plan_number, told_by(page))


def _digest_of_manager(row: OutboxRow, now: dt.datetime, days: FarmDays) -> Composed | None:
    user = row.user
    assert user is not None  # a check in the database says so
    facts = days.of(row.farm, row.local_day)
    day = digest_day(
        facts=facts,
        user=user,
        language=user.language,
        shut=days.shut(row.farm, row.local_day),
        now=now,
        is_late=is_late(row, now),
    )
    if day.is_quiet and not _wants_short(row):
        return None
    page = lay_out_digest(day, user.language)
    return Composed(print_page(page), facts.plan_number, told_by(page))


_OF_USERS = {SheetKind.DIGEST: _digest_of_manager}


def _wants_short(row: OutboxRow) -> bool:
    """Say whether there is something to send even with nothing to tell: the person chose so, or somebody asked for it."""
    if row.asked_at is not None:
        return True
    return choice_of(farm=row.farm, person=row.person, kind=row.kind).on_empty_day == OnEmptyDay.SHORT


def told_by(page: Page) -> str:
    """Return a hash of what a page tells, the same whether it comes late and whatever the link in it."""
    told = replace(page, late="", report_at="", report_title="", report_says="")
    return hashlib.sha256(repr(told).encode()).hexdigest()


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
    return print_page(lay_out(day, language))


def print_page(page: Page) -> Sheet:
    """Return a page that is laid out as subject, text and HTML."""
    return Sheet(
        subject=subject_of(page),
        text=as_text(page),
        html=render_to_string("digests/sheet.html", {"page": page}),
        language=page.language,
    )
