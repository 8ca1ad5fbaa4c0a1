"""Days, years and pages of a list that an address or a form asks for; what makes no sense is a page that is not there."""

import datetime as dt
from collections.abc import Mapping

from django.http import Http404
from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.farms.models import Farm, Season
from farmops.pages import words

NEAR_YEARS = 10
FIRST, LAST = dt.date(1990, 1, 1), dt.date(2100, 12, 31)


class DaysTurned(Http404):
    """Days that end before they begin: an address that is none, and on a form of days a sentence at its box."""

    def __init__(self, first: dt.date, last: dt.date) -> None:
        super().__init__()
        self.first, self.last = first, last

    @property
    def says(self) -> str:
        """Return the sentence."""
        says = _("The days end on {last}, before they begin on {first}.")
        return says.format(first=words.full_date(self.first), last=words.full_date(self.last))


def asked_day(query: Mapping[str, str], name: str, otherwise: dt.date) -> dt.date:
    """Return the day under a name, or another one where nothing is asked for."""
    text = query.get(name, "")
    if not text:
        return otherwise
    try:
        day = dt.date.fromisoformat(text)
    except ValueError as error:
        raise Http404 from error
    if not FIRST <= day <= LAST:
        raise Http404
    return day


def asked_days(query: Mapping[str, str], farm: Farm) -> tuple[dt.date, dt.date]:
    """Return the days under `from` and `to`: without them, this year up to the farm's today. Raises DaysTurned."""
    last = asked_day(query, "to", clock.local_date(clock.now(), farm.zone))
    first = asked_day(query, "from", dt.date(last.year, 1, 1))
    if last < first:
        raise DaysTurned(first, last)
    return first, last


def asked_year(query: Mapping[str, str], farm: Farm) -> int:
    """Return the crop year under `year`: without it, the newest one of the farm."""
    asked = query.get("year", "")
    if asked.isascii() and asked.isdecimal() and len(asked) == 4 and FIRST.year <= int(asked) <= LAST.year:
        return int(asked)
    newest = (
        Season.objects.filter(farm=farm).order_by("-crop_year").values_list("crop_year", flat=True).first()
    )
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return newest or today.year


def is_near(year: int, farm: Farm) -> bool:
    """Return whether a year is near the farm's day, so that somebody may ask for it again."""
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return abs(year - today.year) <= NEAR_YEARS


def asked_page(query: Mapping[str, str], named: str = "page") -> int:
    """Return which page of a list is asked for, from 1, by the word that names it."""
    asked = query.get(named, "1")
    if not (asked.isascii() and asked.isdecimal() and len(asked) <= 6 and int(asked) > 0):
        raise Http404
    return int(asked)
