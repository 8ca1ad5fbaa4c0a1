"""Compose what is mailed to a person for a day, in the person's language: one door for every kind of mail."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings

from farmops.digests.change_facts import ChangeDay, beside, hash_of
from farmops.digests.change_page import lay_out_change
from farmops.digests.cost_page import lay_out_costs
from farmops.digests.digest_page import lay_out_digest
from farmops.digests.models import OnEmptyDay, OutboxRow, SheetKind, Units
from farmops.digests.page import lay_out
from farmops.digests.selectors.changes import day_bounds
from farmops.digests.selectors.choices import choice_of, mail_times
from farmops.digests.selectors.costs import cost_week
from farmops.digests.selectors.day import FarmDay, farm_day, sheet_day
from farmops.digests.selectors.digest import digest_day, troubles_said
from farmops.digests.selectors.told import last_told_at, notices_of_day, told_count
from farmops.digests.selectors.troubles import standing_troubles, untold_troubles
from farmops.digests.services.farm_days import COMPOSING_TROUBLE, FarmDays
from farmops.digests.services.printing import Sheet, print_page, print_sheet, told_by
from farmops.digests.services.reporting_at import ReportAt, plain_address
from farmops.digests.trouble_page import lay_out_trouble
from farmops.farms.models import Farm, Hand

__all__ = [
    "COMPOSING_TROUBLE",
    "Composed",
    "FarmDays",
    "Sheet",
    "compose_row",
    "compose_sheet",
    "print_sheet",
]

LATE_AFTER = dt.timedelta(minutes=30)
"""A mail that goes out this much after its hour says so in its first line."""


@dataclass(frozen=True)
class Composed:
    """What goes out for a row, the plan it was read from, and a hash of what it tells (not of links and lateness).

    `troubles` are the row ids of those it tells.
    """

    sheet: Sheet
    plan_no: int | None
    told_hash: str
    troubles: tuple[int, ...] = ()


def compose_row(
    *, row: OutboxRow, now: dt.datetime, days: FarmDays, report_at: ReportAt | None = None
) -> Composed | None:
    """Return what goes out for a row now, or None when there is nothing to tell and the person wants no word of that.

    `report_at` is where a hand reports; without it, it is the page that asks for a name and a password. Nothing is
    written.
    """
    if row.kind == SheetKind.HAND:
        return _sheet_of_hand(row, now, days, report_at)
    return _COMPOSERS[SheetKind(row.kind)](row, now, days)


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
        is_metric=days.reader_of(row.farm, row.local_day, hand).units == Units.METRIC,
        has_changed=days.changed_since_evening(row.farm, hand, row.local_day),
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


def _change_of_hand(row: OutboxRow, now: dt.datetime, days: FarmDays) -> Composed | None:
    hand, farm = row.hand, row.farm
    assert hand is not None  # a check in the database says so
    tomorrow = row.local_day + dt.timedelta(days=1)
    told = notices_of_day(farm=farm, day=row.local_day).get(hand.pk, [])
    began = day_bounds(farm, row.local_day)[0]
    since = last_told_at(told, before_number=row.number) or days.first_told_at(farm, tomorrow, began)
    stands = days.of_hands(farm, tomorrow)
    stops, gone = beside(stands.of(hand.pk), days.of_hands(farm, tomorrow, since).of(hand.pk))
    before = told_count(one for one in told if one.number < row.number)
    day = ChangeDay(
        farm_name=farm.name,
        hand_name=hand.name,
        day=tomorrow,
        stops=stops,
        gone=gone,
        boss_name=farm.boss_name,
        boss_phone=farm.boss_phone,
        is_last=before + 1 >= mail_times(farm=farm).most_notices_per_day,
        is_late=is_late(row, now),
    )
    if not day.is_any and row.asked_at is None:
        return None
    page = lay_out_change(day, hand.language)
    return Composed(print_page(page), stands.plan_no, hash_of(stands.of(hand.pk)))


def _costs_of_bookkeeper(row: OutboxRow, now: dt.datetime, _days: FarmDays) -> Composed | None:
    user = row.user
    assert user is not None  # a check in the database says so
    week = cost_week(
        farm=row.farm, user=user, day=row.local_day, language=user.language, is_late=is_late(row, now)
    )
    if week.is_quiet and not _wants_short(row):
        return None
    page = lay_out_costs(week, user.language)
    return Composed(print_page(page), None, told_by(page))


def _trouble_of_manager(row: OutboxRow, _now: dt.datetime, _days: FarmDays) -> Composed | None:
    user = row.user
    assert user is not None  # a check in the database says so
    untold = list(untold_troubles(farm=row.farm, since=row.created_at))
    told = untold or (list(standing_troubles(farm=row.farm)) if row.asked_at is not None else [])
    if not told:
        return None
    page = lay_out_trouble(
        farm_name=row.farm.name,
        manager_name=row.person_name,
        day=row.local_day,
        troubles=troubles_said(farm=row.farm, only=told),
        language=user.language,
        mail_at=f"{settings.SITE_ADDRESS}/farms/{row.farm.code}/mail/" if settings.SITE_ADDRESS else "",
    )
    return Composed(print_page(page), None, told_by(page), tuple(one.pk for one in told))


_COMPOSERS = {
    SheetKind.DIGEST: _digest_of_manager,
    SheetKind.CHANGE: _change_of_hand,
    SheetKind.COSTS: _costs_of_bookkeeper,
    SheetKind.TROUBLE: _trouble_of_manager,
}


def _wants_short(row: OutboxRow) -> bool:
    """Say whether there is something to send even with nothing to tell: the person chose so, or somebody asked for it."""
    if row.asked_at is not None:
        return True
    return choice_of(farm=row.farm, person=row.person, kind=row.kind).on_empty_day == OnEmptyDay.SHORT


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
