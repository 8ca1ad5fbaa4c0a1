"""From which day on a manager plans: what makes sense to offer, and what is refused."""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.ready import Ready
from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather
from farmops.weather.selectors import STALE_AFTER
from scheduling.selectors.passes import open_passes
from scheduling.selectors.plan_documents import without_documents
from scheduling.selectors.plans import has_work_left, plans_of_days, sent_plan_in_short
from scheduling.services.planning import BadWeek

MOST_DAYS_AHEAD = 60
"""Farm judgement: a plan further ahead rests on the usual weather alone."""
SOON = dt.timedelta(days=3)
"""Farm judgement: from a Friday evening on, what is said is about the week that begins on Monday."""


LAST = Ready(lambda farm_id: DailyWeather.objects.filter(farm=farm_id).only("day").order_by("-day")[:1], -1)


def observed_to(*, farm: Farm) -> dt.date | None:
    """Return the last day with weather that was observed."""
    last = LAST.ask(farm.pk)
    return last[0].day if last else None


def first_day(*, farm: Farm, today: dt.date) -> dt.date:
    """Return the earliest day that can be planned: today, or the day after the weather ends where that is earlier."""
    known_to = observed_to(farm=farm)
    return today if known_to is None else min(today, known_to + dt.timedelta(days=1))


@dataclass(frozen=True)
class KnownDay:
    """What the record of weather makes of a day: where it ends, and what `weather_as_of` and `working_day` say."""

    known_to: dt.date | None
    as_of: dt.date
    day: dt.date


def known_day(*, farm: Farm, today: dt.date) -> KnownDay:
    """Return all three of a day at once, in one query."""
    known_to = observed_to(farm=farm)
    if known_to is None or known_to + STALE_AFTER >= today:
        return KnownDay(known_to, today, today)
    return KnownDay(known_to, known_to, known_to + dt.timedelta(days=1))


def weather_as_of(*, farm: Farm, today: dt.date) -> dt.date:
    """Return the last day whose weather, forecast and readings count on a day: that day, or where the record is old, the
    last one in it.
    """
    return known_day(farm=farm, today=today).as_of


def working_day(*, farm: Farm, today: dt.date) -> dt.date:
    """Return the day that the pages are about: today, or the day after the weather ends where that is an old record."""
    return known_day(farm=farm, today=today).day


def first_instant(*, farm: Farm, now: dt.datetime) -> dt.datetime:
    """Return the first instant that can still be planned: now, or where the weather's record is old, the midnight after
    its last day.
    """
    today = local_date(now, farm.zone)
    day = working_day(farm=farm, today=today)
    return now if day == today else dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(farm.zone))


def day_to_plan_again(*, farm: Farm, now: dt.datetime) -> dt.date:
    """Return the day from which to plan again after something is said: the day the pages are about.

    Where that day has no more work and the newest plan begins in the next days, as on a Sunday evening, it is the
    first day of that plan: what was said is about its week.
    """
    day = working_day(farm=farm, today=local_date(now, farm.zone))
    ruling = plans_of_days(farm=farm, days=[day])[day]
    if ruling is not None and has_work_left(plan=ruling, day=day, now=first_instant(farm=farm, now=now)):
        return day
    newest = without_documents().filter(farm=farm).order_by("-number").first()
    if newest is None:
        return day
    first = newest.starts_at.astimezone(ZoneInfo(farm.zone)).date()
    return first if day < first <= day + SOON else day


def suggested_day(*, farm: Farm, today: dt.date) -> dt.date:
    """Return the day that a manager most likely plans from.

    In a week that is planned and sent it is tomorrow, else the next Monday, or where nothing may start in that week the
    first day on which something may; where the weather ended days ago, the day after it ends.
    """
    known_to = observed_to(farm=farm)
    if known_to is not None and known_to + STALE_AFTER < today:
        return known_to + dt.timedelta(days=1)
    tomorrow = today + dt.timedelta(days=1)
    sent = sent_plan_in_short(farm=farm)
    if sent is not None:
        first = sent.starts_at.astimezone(ZoneInfo(farm.zone)).date()
        if first <= tomorrow < first + dt.timedelta(days=sent.days):
            return tomorrow
    monday = today + dt.timedelta(days=-today.weekday() % 7)
    starts = open_passes(farm=farm).order_by().values_list("earliest_on", flat=True).distinct()
    first_start = min((one or monday for one in starts), default=monday)
    latest = first_day(farm=farm, today=today) + dt.timedelta(days=MOST_DAYS_AHEAD)
    return first_start if monday + dt.timedelta(days=6) < first_start <= latest else monday


def nothing_before(*, farm: Farm, today: dt.date) -> dt.date | None:
    """Return the first day on which any pass may start, where nothing may in the week that would be planned next."""
    starts = list(open_passes(farm=farm).order_by().values_list("earliest_on", flat=True).distinct())
    known = [one for one in starts if one is not None]
    if not known or len(known) < len(starts):
        return None
    ahead = suggested_day(farm=farm, today=today) + dt.timedelta(days=6)
    return min(known) if ahead < min(known) else None


def refuse_far_day(*, farm: Farm, first_on: dt.date, today: dt.date) -> None:
    """Refuse a first day that is over, or so far ahead that nothing is known of its weather."""
    earliest = first_day(farm=farm, today=today)
    if first_on < earliest:
        says = _("{day} is over; a plan starts on {earliest} at the earliest.")
        raise BadWeek(says.format(day=first_on, earliest=earliest))
    if first_on > earliest + dt.timedelta(days=MOST_DAYS_AHEAD):
        raise BadWeek(
            _(
                "{day} is more than {days} days after {earliest}, the first day that can be planned; nothing is known of "
                "its weather."
            ).format(day=first_on, days=MOST_DAYS_AHEAD, earliest=earliest)
        )
