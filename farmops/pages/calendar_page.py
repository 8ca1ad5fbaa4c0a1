"""What the pages of calendar links show: a person's own link, and those of everybody."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.models import PersonLink, Purpose
from farmops.digests.selectors.calendar import users_with_calendar
from farmops.digests.services.calendar import AHEAD, refresh_events
from farmops.digests.services.person_links import open_link, path_of, revoke, standing_link
from farmops.farms.models import Farm, Hand
from farmops.pages import words
from farmops.pages.mail_words import moment_said

Absolute = Callable[[str], str]


@dataclass(frozen=True)
class ShownCalendar:
    """A person's calendar link: the address, the same for a press on a phone, and since when; all empty without one.

    `box` names the person in a form: hand or user, and the id.
    """

    box: str
    name: str
    address: str
    press: str
    since: str


def shown_calendar(*, farm: Farm, person: Hand | User, absolute: Absolute) -> ShownCalendar:
    """Return a person's calendar link. `absolute` makes an address of a path where the settings name none."""
    link = standing_link(farm=farm, person=person, purpose=Purpose.CALENDAR)
    return _shown(farm, person, link, absolute)


def calendars_facts(*, farm: Farm, viewer: User, absolute: Absolute) -> dict[str, Any]:
    """Return the calendar links of a farm's hands, and of its users: their address is shown to themselves only."""
    hands = list(Hand.objects.filter(farm=farm, works=True).select_related("farm").order_by("name"))
    links = PersonLink.objects.filter(farm=farm, purpose=Purpose.CALENDAR, revoked_at=None)
    found = {(link.hand_id, link.user_id): link for link in links}
    shown = [_shown(farm, hand, found.get((hand.pk, None)), absolute) for hand in hands]
    users = [
        _shown(farm, user, found.get((None, user.pk)), absolute) for user in users_with_calendar(farm=farm)
    ]
    count = sum(bool(one.address) for one in (*shown, *users))
    headline = _("Nobody reads the work in a calendar of the phone.")
    if count:
        headline = ngettext(
            "{count} person has a link to read the work in a calendar.",
            "{count} people have a link to read the work in a calendar.",
            count,
        ).format(count=words.capital(words.count_word(count)))
    own = _box(viewer)
    return {
        "headline": headline,
        "calendars": shown,
        "users": [one if one.box == own else replace(one, address="", press="") for one in users],
        "own": own,
    }


def person_of_box(*, farm: Farm, box: str) -> Hand | User | None:
    """Return the person that a form names, of those who have a calendar on a farm; None for anybody else."""
    of, _dash, number = box.partition("-")
    if not number.isascii() or not number.isdecimal() or len(number) > 18:
        return None
    if of == "hand":
        return Hand.objects.select_related("farm").filter(farm=farm, works=True, pk=int(number)).first()
    return next(
        (one for one in users_with_calendar(farm=farm) if one.pk == int(number) and of == "user"), None
    )


def make_calendar(*, farm: Farm, person: Hand | User, now: dt.datetime) -> None:
    """Make a person's link, and have the calendar filled at once."""
    open_link(farm=farm, person=person, purpose=Purpose.CALENDAR, now=now)
    today = local_date(now, farm.zone)
    refresh_events(farm=farm, first=today, last=today + AHEAD, now=now)


def take_calendar_back(*, farm: Farm, person: Hand | User, by: User, now: dt.datetime) -> bool:
    """Take a person's link back; False where there is none."""
    link = standing_link(farm=farm, person=person, purpose=Purpose.CALENDAR)
    return link is not None and revoke(link=link, by=by, now=now)


def _box(person: Hand | User) -> str:
    return f"{'hand' if isinstance(person, Hand) else 'user'}-{person.pk}"


def _shown(farm: Farm, person: Hand | User, link: PersonLink | None, absolute: Absolute) -> ShownCalendar:
    name = person.name if isinstance(person, Hand) else person.get_full_name() or person.username
    if link is None:
        return ShownCalendar(_box(person), name, "", "", "")
    path = path_of(link)
    address = settings.SITE_ADDRESS + path if settings.SITE_ADDRESS else absolute(path)
    press = urlsplit(address)._replace(scheme="webcal").geturl()
    return ShownCalendar(_box(person), name, address, press, moment_said(link.made_at, farm.zone))
