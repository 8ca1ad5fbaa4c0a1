"""What owning machines takes in a year, for management; booked into their pools once the year is over."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.boxes import plain
from farmops.pages.machine_year_page import FIRST_YEAR, LAST_YEAR, machine_year_facts
from ledger.services.machine_years import book_machine_years

YEAR_DIGITS = 4


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def machine_years(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show a calendar year of every machine and implement on GET; on POST book it, once."""
    now = clock.now()
    today = clock.local_date(now, farm.zone)
    if request.method == "POST":
        year = _year(request.POST.get("year", ""), today.year)
        try:
            done = book_machine_years(farm=farm, year=year, made_by=request.user, now=now)
        except DomainError as error:
            messages.error(request, plain(error.says))
        else:
            said = _("{booked} booked, {known} known before, {left_out} left out.")
            messages.success(
                request,
                said.format(booked=len(done.booked), known=len(done.known), left_out=len(done.left_out)),
            )
        return redirect(f"{reverse('pages:machine_years', args=[farm.code])}?year={year}")
    year = _year(request.GET.get("year", ""), today.year)
    context = {"farm": farm, "place": "costs", **machine_year_facts(farm=farm, year=year, today=today)}
    return render(request, "pages/machine_years.html", context)


def _year(asked: str, otherwise: int) -> int:
    if (
        asked.isascii()
        and asked.isdecimal()
        and len(asked) == YEAR_DIGITS
        and FIRST_YEAR <= int(asked) <= LAST_YEAR
    ):
        return int(asked)
    return otherwise
