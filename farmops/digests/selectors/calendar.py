"""Reading what stands in calendars."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Q

from farmops.core.clock import local_date
from farmops.digests.calendar_file import CalendarEntry
from farmops.digests.models import CalendarEvent, PersonLink, Purpose
from farmops.farms.models import Farm, Hand

KEPT = dt.timedelta(days=14)
"""Farm judgement: calendars that look but once a week still learn what was taken out of them."""


def events_of_day(*, farm: Farm, day: dt.date) -> dict[int, list[CalendarEvent]]:
    """Return what stands in the calendars on a day of the farm's clock, by the id of the hand."""
    found: dict[int, list[CalendarEvent]] = defaultdict(list)
    for one in CalendarEvent.objects.filter(farm=farm, local_day=day, is_cancelled=False):
        found[one.hand_id].append(one)
    return found


def events_of_feed(*, hand: Hand, now: dt.datetime) -> list[CalendarEvent]:
    """Return a hand's events of the last two weeks and of all days to come; cancelled ones for two weeks after."""
    since = local_date(now, hand.farm.zone) - KEPT
    shown = Q(is_cancelled=False) | Q(changed_at__gte=now - KEPT)
    return list(CalendarEvent.objects.filter(shown, farm=hand.farm_id, hand=hand, local_day__gte=since))


def entries_of(events: Iterable[CalendarEvent]) -> list[CalendarEntry]:
    """Return events as they are written to a file."""
    return [
        CalendarEntry(
            uid=one.uid,
            starts_at=one.starts_at,
            ends_at=one.ends_at,
            changed_at=one.changed_at,
            summary=one.summary,
            place=one.place,
            says=one.says,
            sequence_no=one.sequence_no,
            is_cancelled=one.is_cancelled,
        )
        for one in events
    ]


def farms_with_calendars() -> list[Farm]:
    """Return the farms of which somebody reads a calendar by a link."""
    links = PersonLink.objects.filter(purpose=Purpose.CALENDAR, revoked_at=None, hand__works=True)
    return list(Farm.objects.filter(pk__in=links.values("farm")).order_by("code"))
