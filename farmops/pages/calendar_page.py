"""What the pages of calendar links show: a hand's own link, and those of all hands."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.models import PersonLink, Purpose
from farmops.digests.services.calendar import AHEAD, refresh_events
from farmops.digests.services.person_links import open_link, path_of, revoke, standing_link
from farmops.farms.models import Farm, Hand
from farmops.pages import words
from farmops.pages.mail_words import moment_said

Absolute = Callable[[str], str]


@dataclass(frozen=True)
class ShownCalendar:
    """A hand's calendar link: the address, the same for a press on a phone, and since when; all empty without one."""

    hand_id: int
    name: str
    address: str
    press: str
    since: str


def shown_calendar(*, hand: Hand, absolute: Absolute) -> ShownCalendar:
    """Return a hand's calendar link. `absolute` makes an address of a path where the settings name none."""
    link = standing_link(farm=hand.farm, person=hand, purpose=Purpose.CALENDAR)
    return _shown(hand, link, absolute)


def calendars_facts(*, farm: Farm, absolute: Absolute) -> dict[str, Any]:
    """Return the calendar links of a farm's hands."""
    hands = list(Hand.objects.filter(farm=farm, works=True).select_related("farm").order_by("name"))
    links = PersonLink.objects.filter(farm=farm, purpose=Purpose.CALENDAR, revoked_at=None)
    of_hand = {link.hand_id: link for link in links}
    shown = [_shown(hand, of_hand.get(hand.pk), absolute) for hand in hands]
    count = sum(bool(one.address) for one in shown)
    headline = _("No hand reads the work in a calendar of the phone.")
    if count:
        headline = ngettext(
            "{count} hand has a link to read the work in a calendar.",
            "{count} hands have a link to read the work in a calendar.",
            count,
        ).format(count=words.capital(words.count_word(count)))
    return {"headline": headline, "calendars": shown}


def make_calendar(*, hand: Hand, now: dt.datetime) -> None:
    """Make a hand's link, and have the calendar filled at once."""
    open_link(farm=hand.farm, person=hand, purpose=Purpose.CALENDAR, now=now)
    today = local_date(now, hand.farm.zone)
    refresh_events(farm=hand.farm, first=today, last=today + AHEAD, now=now)


def take_calendar_back(*, hand: Hand, by: User, now: dt.datetime) -> bool:
    """Take a hand's link back; False where there is none."""
    link = standing_link(farm=hand.farm, person=hand, purpose=Purpose.CALENDAR)
    return link is not None and revoke(link=link, by=by, now=now)


def _shown(hand: Hand, link: PersonLink | None, absolute: Absolute) -> ShownCalendar:
    if link is None:
        return ShownCalendar(hand.pk, hand.name, "", "", "")
    path = path_of(link)
    address = settings.SITE_ADDRESS + path if settings.SITE_ADDRESS else absolute(path)
    press = urlsplit(address)._replace(scheme="webcal").geturl()
    return ShownCalendar(hand.pk, hand.name, address, press, moment_said(link.made_at, hand.farm.zone))
