"""What the page of sign-in links shows: who has links that work, how old they are and when they were last used."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm, Hand, SignInLink
from farmops.farms.selectors import unrevoked_links
from farmops.farms.services.links import STAYS
from farmops.pages import words


@dataclass(frozen=True)
class ShownLink:
    """One link, by its days."""

    pk: int
    made: str
    says: str


@dataclass(frozen=True)
class LinkedHand:
    """A hand with the links that are not taken back."""

    pk: int
    name: str
    works_here: bool
    says: str
    links: list[ShownLink]


def links_facts(*, farm: Farm, now: dt.datetime) -> dict[str, Any]:
    """Return every hand with links that sign in, or by which somebody may still be signed in."""
    zone = ZoneInfo(farm.zone)
    of_hand: dict[int, list[SignInLink]] = {}
    for link in unrevoked_links(farm=farm, since=now - STAYS):
        of_hand.setdefault(link.hand_id, []).append(link)
    hands = [
        _hand(one, of_hand.get(one.pk, []), zone, now)
        for one in Hand.objects.filter(farm=farm)
        if one.works or one.pk in of_hand
    ]
    return {"headline": _headline(of_hand, now), "hands": hands, "has_links": bool(of_hand)}


def _headline(of_hand: Mapping[int, list[SignInLink]], now: dt.datetime) -> str:
    count = sum(any(link.expires_at > now for link in links) for links in of_hand.values())
    if not count:
        return _("No link is out by which a hand could sign in.")
    told = ngettext("{count} hand can sign in by a link.", "{count} hands can sign in by a link.", count)
    return told.format(count=words.capital(words.count_word(count)))


def _hand(hand: Hand, links: list[SignInLink], zone: ZoneInfo, now: dt.datetime) -> LinkedHand:
    shown = [ShownLink(link.pk, _said(link.made_at, zone), _link_says(link, zone, now)) for link in links]
    used_at = max((link.last_used_at for link in links if link.last_used_at is not None), default=None)
    told = (
        ngettext("{count} link, last used {day}", "{count} links, last used {day}", len(links))
        if used_at
        else ngettext("{count} link, none used yet", "{count} links, none used yet", len(links))
    )
    says = told.format(
        count=words.capital(words.count_word(len(links))), day=_said(used_at, zone) if used_at else ""
    )
    return LinkedHand(hand.pk, hand.name, hand.works, says if links else _("no link"), shown)


def _link_says(link: SignInLink, zone: ZoneInfo, now: dt.datetime) -> str:
    works = (
        _("works until {day}").format(day=_said(link.expires_at, zone))
        if link.expires_at > now
        else _("too old to sign in by")
    )
    used = (
        _("last used {day}").format(day=_said(link.last_used_at, zone))
        if link.last_used_at
        else _("not used yet")
    )
    told = _("Made {made}; {works}; {used}.").format(made=_said(link.made_at, zone), works=works, used=used)
    return words.one_stop(told)


def _said(instant: dt.datetime, zone: ZoneInfo) -> str:
    local = instant.astimezone(zone)
    return f"{words.long_date(local.date())}, {words.clock(local)}"
