"""Keep what stands in people's calendars equal to the plan and the books, and write a day of it as a file.

Calendars take a change of an event by its identity and a number that grows (RFC 5545 section 3.8.7.4), so both outlive
the plan that the event came from.
"""

import datetime as dt
import hashlib
import logging
from collections.abc import Sequence

from django.conf import settings

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.calendar_file import CalendarEntry, calendar_file
from farmops.digests.calendar_told import Told
from farmops.digests.models import CalendarEvent
from farmops.digests.selectors.calendar import (
    entries_of,
    entries_of_day,
    events_of_feed,
    farms_with_calendars,
    readers_of,
)
from farmops.digests.selectors.calendar_books import told_of_books
from farmops.digests.selectors.calendar_work import planned_days
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.digests.services.mailing import domain_of
from farmops.digests.squash import one_line
from farmops.farms.models import Farm, Hand, Role

logger = logging.getLogger(__name__)

AHEAD = dt.timedelta(days=13)
"""How far ahead the calendars that are read by a link are held against the plan."""
Whose = tuple[int | None, int | None, str]
"""The hand's id or the user's, and what names the event for that person."""


def refresh_events(*, farm: Farm, first: dt.date, last: dt.date, now: dt.datetime) -> int:
    """Hold the calendars of some days against the plan and write what differs; return how many events that is.

    What moved keeps its identity and gets the next number; what is not planned any more is cancelled, unless it has
    begun. Safe to run twice at the same time: an event is changed only by who has seen it as it stands.
    """
    planned = _planned(farm, first, last)
    standing = {
        (one.hand_id, one.user_id, one.key): one
        for one in CalendarEvent.objects.filter(farm=farm, local_day__gte=first, local_day__lte=last)
    }
    fresh = [_new(farm, whose, told, now) for whose, told in planned.items() if whose not in standing]
    written = len(CalendarEvent.objects.bulk_create(fresh, ignore_conflicts=True)) if fresh else 0
    for whose, event in standing.items():
        told = planned.get(whose)
        if told is not None and (event.is_cancelled or event.told_hash != told.told_hash):
            written += _change(event, now, **told.columns(), is_cancelled=False)
        elif told is None and not event.is_cancelled and event.starts_at > now:
            written += _change(event, now, is_cancelled=True)
    return written


def refresh_read_calendars(*, now: dt.datetime) -> int:
    """Refresh the next days of every farm of which somebody reads a calendar by a link; return how much has changed.

    One farm's trouble keeps no other's calendars from being right.
    """
    written = 0
    for farm in farms_with_calendars():
        today = local_date(now, farm.zone)
        try:
            written += refresh_events(farm=farm, first=today, last=today + AHEAD, now=now)
        except COMPOSING_TROUBLE:
            logger.exception("The calendars of %s stay as they were.", farm.code)
    return written


def day_file(*, hand: Hand, day: dt.date) -> bytes:
    """Return a hand's day as a file for a calendar; nothing for a day on which no event stands."""
    return file_of(entries_of_day(farm=hand.farm, day=day).get(hand.pk, ()), zone=hand.farm.zone)


def file_of(entries: Sequence[CalendarEntry], *, zone: str) -> bytes:
    """Return what is already read as a file for a calendar; nothing without any."""
    return calendar_file(entries=entries, zone=zone) if entries else b""


def feed_of(*, farm: Farm, person: Hand | User, now: dt.datetime) -> bytes:
    """Return a person's calendar as it is read by a link."""
    called = person.name if isinstance(person, Hand) else person.get_full_name() or person.username
    name = f"{one_line(called)}, {one_line(farm.name)}"
    events = events_of_feed(farm=farm, person=person, now=now)
    return calendar_file(entries=entries_of(events), zone=farm.zone, name=name)


def _planned(farm: Farm, first: dt.date, last: dt.date) -> dict[Whose, Told]:
    days = planned_days(farm=farm, first=first, last=last)
    found: dict[Whose, Told] = {
        (hand_id, None, key): told for (hand_id, key), told in days.of_hands().items()
    }
    of_farm: dict[str, dict[str, Told]] = {}
    for user, role in readers_of(farm=farm):
        if role == Role.MANAGER:
            told = of_farm.setdefault(user.language, days.of_farm(user.language))
        else:
            told = told_of_books(farm=farm, user=user, first=first, last=last)
        found |= {(None, user.pk, key): one for key, one in told.items()}
    return found


def _new(farm: Farm, whose: Whose, told: Told, now: dt.datetime) -> CalendarEvent:
    hand_id, user_id, key = whose
    person = f"{hand_id}" if hand_id is not None else f"user {user_id}"
    digest = hashlib.sha256(f"{farm.pk}\n{person}\n{key}".encode()).hexdigest()[:32]
    return CalendarEvent(
        farm=farm,
        hand_id=hand_id,
        user_id=user_id,
        key=key,
        uid=f"{digest}@{domain_of(settings.DEFAULT_FROM_EMAIL)}",
        made_at=now,
        changed_at=now,
        **told.columns(),
    )


def _change(event: CalendarEvent, now: dt.datetime, **columns: object) -> int:
    as_seen = CalendarEvent.objects.filter(pk=event.pk, sequence_no=event.sequence_no)
    return as_seen.update(sequence_no=event.sequence_no + 1, changed_at=now, **columns)
