"""What a bookkeeper goes through before a month is closed: each point in order or not, with the page that settles it.

What it is for: to close a month without leaving something out that belongs to it. Its user decides there what to settle
first, and when the month closes all the same: nothing on the list forbids it.
"""

import calendar
import datetime as dt
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.selectors.bills import unpaid_bills
from ledger.selectors.fixed_costs import left_to_book
from ledger.selectors.pending import waiting_postings
from ledger.selectors.periods import month_of
from ledger.selectors.pools import pool_balances
from scheduling.selectors.reports import waiting_reports

LAST_MONTH = 12


@dataclass(frozen=True)
class Point:
    """One point: what it asks, whether it is in order, what is left, and the page where that is settled."""

    asks: str
    is_done: bool
    says: str
    address: str


def close_list(*, farm: Farm, month: dt.date) -> list[Point]:
    """Return the points of a month, in the order in which they are best settled."""
    last_on = month.replace(day=calendar.monthrange(month.year, month.month)[1])
    points = [_reports(farm), _prices(farm, last_on), _bills(farm, month)]
    if month.month == LAST_MONTH:
        points.append(_machine_years(farm, month))
    return [*points, _pools(farm, last_on)]


def _reports(farm: Farm) -> Point:
    count = waiting_reports(farm=farm).count()
    says = (
        ngettext(
            "{count} report waits for the manager: its hours are in no cost yet.",
            "{count} reports wait for the manager: their hours are in no cost yet.",
            count,
        ).format(count=count)
        if count
        else _("No report waits.")
    )
    return Point(_("Reports from the field"), not count, says, reverse("pages:waiting", args=[farm.code]))


def _prices(farm: Farm, last_on: dt.date) -> Point:
    count = waiting_postings(farm).filter(happened_on__lte=last_on).count()
    says = (
        ngettext(
            "{count} source up to this month waits for a price; it goes to the month that is open when it has one.",
            "{count} sources up to this month wait for a price; they go to the month that is open when they have one.",
            count,
        ).format(count=count)
        if count
        else _("Everything up to this month has a price.")
    )
    return Point(_("Prices and rates"), not count, says, reverse("pages:costs", args=[farm.code]))


def _bills(farm: Farm, month: dt.date) -> Point:
    """Bills count as cost by their own day, paid or not: what is unpaid is told, and is in order."""
    unpaid = [bill for bill in unpaid_bills(farm=farm) if month_of(bill.bill_on) <= month]
    says = (
        ngettext(
            "{count} bill is unpaid; it is in the costs all the same. Is each bill of the month in?",
            "{count} bills are unpaid; they are in the costs all the same. Is each bill of the month in?",
            len(unpaid),
        ).format(count=len(unpaid))
        if unpaid
        else _("Every bill that is in is paid. Is each bill of the month in?")
    )
    return Point(_("Bills"), True, says, reverse("pages:bills", args=[farm.code]))


def _machine_years(farm: Farm, month: dt.date) -> Point:
    count = left_to_book(farm=farm, month=month)
    says = (
        ngettext(
            "What owning one machine took this year is not booked: once December is closed it cannot be.",
            "What owning {count} machines took this year is not booked: once December is closed it cannot be.",
            count,
        ).format(count=count)
        if count
        else _("What owning the machines took this year is booked.")
    )
    address = f"{reverse('pages:machine_years', args=[farm.code])}?year={month.year}"  # not said
    return Point(_("Machine years"), not count, says, address)


def _pools(farm: Farm, last_on: dt.date) -> Point:
    """Pools are shared out at the end of a year: in other months what they hold is told, and is in order."""
    pools = pool_balances(farm=farm, through=last_on, carry=True)
    left = sum(pool.left_cents for pool in pools)
    said = (
        ngettext(
            "Fields were charged {amount} more than {count} pool cost so far.",
            "Fields were charged {amount} more than {count} pools cost so far.",
            len(pools),
        )
        if left < 0
        else ngettext(
            "{count} pool holds {amount} in no field’s cost.",
            "{count} pools hold {amount} in no field’s cost.",
            len(pools),
        )
    )
    says = (
        said.format(count=len(pools), amount=words.dollars(abs(left)))
        if pools
        else _("Nothing is left in a pool.")
    )
    if pools and last_on.month != LAST_MONTH:
        says = _("{says} They are usually shared out in December.").format(says=says)
    is_done = not pools or last_on.month != LAST_MONTH
    return Point(_("Pools shared out"), is_done, says, reverse("pages:share_outs", args=[farm.code]))
