"""Keep what stands in the calendars of hands equal to the plan, and write a day of it as a file.

Calendars take a change of an event by its identity and a number that grows (RFC 5545 section 3.8.7.4), so both outlive
the plan that the event came from.
"""

import datetime as dt
import hashlib
import logging
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings
from django.db.models import F

from farmops.core.clock import local_date
from farmops.core.problems import DomainError
from farmops.digests.calendar_file import calendar_file
from farmops.digests.change_facts import PlannedStop
from farmops.digests.models import CalendarEvent
from farmops.digests.selectors.calendar import (
    entries_of,
    events_of_day,
    events_of_feed,
    farms_with_calendars,
)
from farmops.digests.selectors.changes import day_of_hands
from farmops.digests.services.mailing import domain_of
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass
from scheduling.selectors.plans import plans_of_days

logger = logging.getLogger(__name__)

AHEAD = dt.timedelta(days=13)
"""How far ahead the calendars that are read by a link are held against the plan."""


@dataclass(frozen=True)
class _Told:
    """What a calendar shows of one stretch of work."""

    local_day: dt.date
    starts_at: dt.datetime
    ends_at: dt.datetime
    summary: str
    place: str
    says: str

    @property
    def told_hash(self) -> str:
        hours = (self.starts_at.astimezone(dt.UTC).isoformat(), self.ends_at.astimezone(dt.UTC).isoformat())
        return hashlib.sha256(repr((*hours, self.summary, self.place, self.says)).encode()).hexdigest()


def refresh_events(*, farm: Farm, first: dt.date, last: dt.date, now: dt.datetime) -> int:
    """Hold the calendars of some days against the plan and write what differs; return how many events that is.

    What moved keeps its identity and gets the next number; what is not planned any more is cancelled, unless it has
    begun. Safe to run twice at the same time: an event is changed only by who has seen it as it stands.
    """
    planned = _planned(farm, first, last)
    standing = {
        (one.hand_id, one.key): one
        for one in CalendarEvent.objects.filter(farm=farm, local_day__gte=first, local_day__lte=last)
    }
    fresh = [
        _new(farm, hand_id, key, told, now)
        for (hand_id, key), told in planned.items()
        if (hand_id, key) not in standing
    ]
    written = len(CalendarEvent.objects.bulk_create(fresh, ignore_conflicts=True)) if fresh else 0
    for whose, event in standing.items():
        told = planned.get(whose)
        if told is not None and (event.is_cancelled or event.told_hash != told.told_hash):
            written += _change(event, now, **_columns(told), is_cancelled=False)
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
        except DomainError as error:
            logger.warning("The calendars of %s stay as they were: %s", farm.code, error.says)
    return written


def day_file(*, hand: Hand, day: dt.date) -> bytes:
    """Return a hand's day as a file for a calendar; nothing for a day on which no event stands."""
    return file_of(events_of_day(farm=hand.farm, day=day).get(hand.pk, ()), zone=hand.farm.zone)


def file_of(events: Iterable[CalendarEvent], *, zone: str) -> bytes:
    """Return events that are already read as a file for a calendar; nothing without any."""
    entries = entries_of(events)
    return calendar_file(entries=entries, zone=zone) if entries else b""


def feed_of(*, hand: Hand, now: dt.datetime) -> bytes:
    """Return a hand's calendar as it is read by a link."""
    name = f"{one_line(hand.name)}, {one_line(hand.farm.name)}"
    events = events_of_feed(hand=hand, now=now)
    return calendar_file(entries=entries_of(events), zone=hand.farm.zone, name=name)


def _planned(farm: Farm, first: dt.date, last: dt.date) -> dict[tuple[int, str], _Told]:
    days = [first + dt.timedelta(days=number) for number in range((last - first).days + 1)]
    ruled = [day for day, plan in plans_of_days(farm=farm, days=days).items() if plan is not None]
    stops = {day: day_of_hands(farm=farm, day=day).stops for day in ruled}
    hands = Hand.objects.in_bulk({hand_id for of_day in stops.values() for hand_id in of_day})
    places = _places(one for of_day in stops.values() for rows in of_day.values() for one in rows)
    found: dict[tuple[int, str], _Told] = {}
    for day, of_day in stops.items():
        for hand_id, rows in of_day.items():
            numbers: Counter[str] = Counter()
            for stop in sorted(rows, key=lambda one: one.starts_at):
                work = _work(stop)
                numbers[work] += 1
                told = _told(stop, day, hands[hand_id].language, places.get(work, ""))
                found[hand_id, f"{work} {day.isoformat()} {numbers[work]}"] = told
    return found


def _work(stop: PlannedStop) -> str:
    """Return what names the work across plans: its pass or care rule; day parts are counted anew by each plan."""
    return " ".join(stop.key.split()[:2])


def _places(stops: Iterable[PlannedStop]) -> dict[str, str]:
    """Return the way in and the road address of each pass's field."""
    ids = {int(_work(one).split()[1]) for one in stops if one.key.startswith("pass ")}
    fields = FieldPass.objects.filter(pk__in=ids).annotate(
        entrance=F("season__field__entrance"), road=F("season__field__road_address")
    )
    return {
        f"pass {pk}": one_line(", ".join(part for part in (entrance, road) if part), longest=300)
        for pk, entrance, road in fields.values_list("pk", "entrance", "road")
    }


def _told(stop: PlannedStop, day: dt.date, language: str, place: str) -> _Told:
    outfit = stop.outfit.in_(language)
    last_word = say("sheet_has_last_word", language)
    return _Told(
        local_day=day,
        starts_at=stop.starts_at,
        ends_at=stop.ends_at,
        summary=one_line(stop.title.in_(language)),
        place=place,
        says=one_line(f"{outfit}. {last_word}" if outfit else last_word, longest=400),
    )


def _columns(told: _Told) -> dict[str, object]:
    return {
        "local_day": told.local_day,
        "starts_at": told.starts_at,
        "ends_at": told.ends_at,
        "summary": told.summary,
        "place": told.place,
        "says": told.says,
        "told_hash": told.told_hash,
    }


def _new(farm: Farm, hand_id: int, key: str, told: _Told, now: dt.datetime) -> CalendarEvent:
    digest = hashlib.sha256(f"{farm.pk}\n{hand_id}\n{key}".encode()).hexdigest()[:32]
    return CalendarEvent(
        farm=farm,
        hand_id=hand_id,
        key=key,
        uid=f"{digest}@{domain_of(settings.DEFAULT_FROM_EMAIL)}",
        made_at=now,
        changed_at=now,
        **_columns(told),
    )


def _change(event: CalendarEvent, now: dt.datetime, **columns: object) -> int:
    as_seen = CalendarEvent.objects.filter(pk=event.pk, sequence_no=event.sequence_no)
    return as_seen.update(sequence_no=event.sequence_no + 1, changed_at=now, **columns)
