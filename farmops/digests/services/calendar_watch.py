"""Have the calendars follow the plans within a minute: only farms of which something has changed are looked at."""

import datetime as dt
import logging
import time

from farmops.digests.models import CalendarMark
from farmops.digests.selectors.calendar import farms_with_calendars
from farmops.digests.selectors.calendar_marks import calendar_marks
from farmops.digests.selectors.clocks import farm_clocks
from farmops.digests.services.calendar import AHEAD, refresh_events
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.farms.models import Farm

logger = logging.getLogger(__name__)

MOST_S = 10.0
"""A look takes up no farm after this long, so that the mail is not kept waiting: the next look goes on."""


def refresh_changed(*, now: dt.datetime, most_s: float = MOST_S) -> int:
    """Hold the calendars against the plans and the books where those have changed; return how much was written.

    Level-triggered: what a farm's calendars depend on is kept as a hash when they have been looked at. Of farms where
    somebody reads a calendar by a link the next two weeks are held, of others today, which goes out as a file. Farms
    whose calendars are read come first, and one whose plan cannot be read keeps no other from being right.
    """
    clocks = {one.farm.pk: one for one in farm_clocks(now=now)}
    marks = calendar_marks(clocks=list(clocks.values()), now=now)
    seen = dict(CalendarMark.objects.values_list("farm_id", "mark"))
    changed = [pk for pk, mark in marks.items() if seen.get(pk) != mark]
    if not changed:
        return 0
    read = {one.pk for one in farms_with_calendars()}
    written, began = 0, time.monotonic()
    for pk in sorted(changed, key=lambda one: (one not in read, one)):
        if time.monotonic() - began > most_s:
            break
        clock = clocks[pk]
        last = clock.day + AHEAD if pk in read else clock.day
        written += _refresh(clock.farm, clock.day, last, now)
        CalendarMark.objects.update_or_create(farm=clock.farm, defaults={"mark": marks[pk], "marked_at": now})
    return written


def _refresh(farm: Farm, first: dt.date, last: dt.date, now: dt.datetime) -> int:
    try:
        return refresh_events(farm=farm, first=first, last=last, now=now)
    except COMPOSING_TROUBLE:
        logger.exception("The calendars of %s stay as they were.", farm.code)
        return 0
