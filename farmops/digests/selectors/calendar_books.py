"""Read what a bookkeeper's calendar shows: the weekly look at the books, months to close, and forms at the year's turn."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from farmops.core.models import User
from farmops.digests.calendar_told import Told
from farmops.digests.models import SheetKind
from farmops.digests.selectors.choices import choice_of, mail_times
from farmops.digests.wording import say, say_count
from farmops.farms.models import Farm
from ledger.models import Bill, Entry
from ledger.selectors.bills import unpaid_bills
from ledger.selectors.pending import waiting_postings
from ledger.selectors.periods import closed_through, month_of
from scheduling.slips.words import MONTHS

ONE_DAY = dt.timedelta(days=1)
LOOK = dt.timedelta(minutes=30)
"""Farm judgement: how long a look at the week's books takes."""
FORMS_ON = (1, 15)
"""Payees and the tax office get their forms 1099-NEC by January 31 (instructions of the form); half a month to write them."""


def told_of_books(*, farm: Farm, user: User, first: dt.date, last: dt.date) -> dict[str, Told]:
    """Return what stands in a bookkeeper's calendar on some days, by what names it. No amount and no payee is among it."""
    days = [first + ONE_DAY * number for number in range((last - first).days + 1)]
    return {
        **_weeks(farm, user, days),
        **_months(farm, user, days),
        **_forms(farm, user, days),
    }


def _weeks(farm: Farm, user: User, days: Sequence[dt.date]) -> dict[str, Told]:
    times = mail_times(farm=farm)
    own = choice_of(farm=farm, person=user, kind=SheetKind.COSTS).send_at
    looks = [day for day in days if day.weekday() == times.cost_weekday]
    found = {}
    for day in looks:
        starts_at = dt.datetime.combine(day, own or times.cost_at, tzinfo=ZoneInfo(farm.zone))
        found[f"books week {day.isoformat()}"] = Told(
            local_day=day,
            starts_at=starts_at,
            ends_at=(starts_at.astimezone(dt.UTC) + LOOK).astimezone(starts_at.tzinfo),
            summary=say("calendar_week", user.language),
            says=_standing(farm, user.language) if day == looks[0] else "",
        )
    return found


def _standing(farm: Farm, language: str) -> str:
    counts = {
        "calendar_unpaid": len(unpaid_bills(farm=farm)),
        "calendar_waits": waiting_postings(farm).count(),
    }
    return " ".join(say_count(key, language, count) for key, count in counts.items() if count)


def _months(farm: Farm, user: User, days: Sequence[dt.date]) -> dict[str, Told]:
    """Return a day for each month that ended and is not closed, on the first day after it."""
    begins = [day for day in days if day.day == 1]
    if not begins or not Entry.objects.filter(farm=farm).exists():
        return {}
    closed = closed_through(farm=farm)
    found = {}
    for day in begins:
        month = month_of(day - ONE_DAY)
        if closed is not None and month <= closed:
            continue
        name = MONTHS[month.month - 1].in_(user.language)
        found[f"books month {month:%Y-%m}"] = _whole_day(
            farm, day, say("calendar_close", user.language, month=name)
        )
    return found


def _forms(farm: Farm, user: User, days: Sequence[dt.date]) -> dict[str, Told]:
    begins = [day for day in days if (day.month, day.day) == FORMS_ON]
    if not begins or not Bill.objects.filter(farm=farm).exists():
        return {}
    says = say("calendar_forms_ask", user.language)
    return {
        f"books forms {day.year}": _whole_day(farm, day, say("calendar_forms", user.language), says)
        for day in begins
    }


def _whole_day(farm: Farm, day: dt.date, summary: str, says: str = "") -> Told:
    begins, ends = (
        dt.datetime.combine(at, dt.time(), tzinfo=ZoneInfo(farm.zone)) for at in (day, day + ONE_DAY)
    )
    return Told(day, begins, ends, summary, says=says, is_all_day=True)
