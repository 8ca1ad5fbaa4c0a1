"""Read a week of the books for the cost note: each entry is told once, in its week's note or as late in a later one."""

import datetime as dt
from collections.abc import Iterable
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, QuerySet, Sum
from django.utils import translation
from django.utils.translation import gettext

from farmops.core.models import User
from farmops.digests.cost_facts import CostLine, CostWeek
from farmops.digests.wording import say
from farmops.farms.models import Farm
from ledger.models import Account, Line
from ledger.selectors.bills import unpaid_bills
from ledger.selectors.categories import category_book
from ledger.selectors.pending import waiting_postings
from ledger.selectors.stored_words import said_again

WEEK = dt.timedelta(days=7)
ONE_DAY = dt.timedelta(days=1)
MOST_TOLD = 5
COSTS = (Account.SEASON, Account.MACHINE_POOL, Account.IRRIGATION, Account.OVERHEAD)
"""Where costs end: sharing out moves them among these and leaves their sum as it is."""
PLACES = {
    Account.MACHINE_POOL: "of_machines",
    Account.IRRIGATION: "of_pumps",
    Account.OVERHEAD: "of_farm",
}


def cost_week(*, farm: Farm, user: User, day: dt.date, language: str, is_late: bool = False) -> CostWeek:
    """Return the seven days before `day` as the books had them when that day began on the farm's clock.

    What was posted in that time for days before the seven came late: it stood in no note yet.
    """
    first, last = day - WEEK, day - ONE_DAY
    until = dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)
    posted = Line.objects.filter(farm=farm, account__in=COSTS, entry__posted_at__lt=until)
    now, before = (
        posted.filter(entry__booked_on__range=(start, end))
        for start, end in ((first, last), (first - WEEK, last - WEEK))
    )
    since = dt.datetime.combine(first, dt.time(), tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)
    late = posted.filter(entry__booked_on__lt=first, entry__posted_at__gte=since)
    told_late = late.aggregate(cents=Sum("cents"), count=Count("entry", distinct=True))
    waits, unpaid = list(waiting_postings(farm)), unpaid_bills(farm=farm)
    with translation.override(language):
        waits_said = tuple(dict.fromkeys(said_again(one.says) for one in waits))[:MOST_TOLD]
        by_category = _lines(_categories(farm, now), _categories(farm, before))
    return CostWeek(
        farm_name=farm.name,
        reader_name=user.get_full_name() or user.username,
        first=first,
        last=last,
        cents=_sum(now),
        before_cents=_sum(before),
        by_category=by_category,
        by_place=_lines(_places(now, language), _places(before, language)),
        late_cents=told_late["cents"] or 0,
        late_count=told_late["count"],
        waits=waits_said,
        waits_count=len(waits),
        unpaid_cents=sum(bill.cents for bill in unpaid),
        unpaid_count=len(unpaid),
        oldest_payee=unpaid[0].payee.name if unpaid else "",
        oldest_on=unpaid[0].bill_on if unpaid else None,
        is_late=is_late,
        farm_at=f"{settings.SITE_ADDRESS}/farms/{farm.code}/" if settings.SITE_ADDRESS else "",
    )


def _sum(lines: QuerySet[Line]) -> int:
    return lines.aggregate(cents=Sum("cents"))["cents"] or 0


def _categories(farm: Farm, lines: QuerySet[Line]) -> dict[str, int]:
    book = category_book(farm=farm)
    found: dict[str, int] = {}
    for code, cents in _summed(lines, "category"):
        label = gettext(book[code].label) if code in book else code
        found[label or say("no_category", translation.get_language() or "en")] = cents
    return found


def _places(lines: QuerySet[Line], language: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for name, cents in _summed(lines.filter(account=Account.SEASON), "season__field__name"):
        found[name or ""] = cents
    for account, cents in _summed(lines.exclude(account=Account.SEASON), "account"):
        found[say(PLACES[Account(account)], language)] = cents
    return found


def _summed(lines: QuerySet[Line], by: str) -> Iterable[tuple[str, int]]:
    rows = lines.order_by().values_list(by).annotate(cents=Sum("cents"))
    return ((key, cents) for key, cents in rows if cents)


def _lines(now: dict[str, int], before: dict[str, int]) -> tuple[CostLine, ...]:
    """Return a line for each label, the dearest of this week first."""
    rows = [CostLine(label, now.get(label, 0), before.get(label, 0)) for label in {**now, **before}]
    return tuple(sorted(rows, key=lambda one: (-one.cents, -one.before_cents, one.label)))
