"""What the page of addresses shows: to which nothing is sent any more and why, and who stopped a mail."""

from dataclasses import dataclass
from typing import Any

from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.models import User
from farmops.digests.models import SheetKind
from farmops.digests.selectors.bounces import standing_suppressions, stopped_by_link
from farmops.farms.models import Farm, Hand
from farmops.pages import words
from farmops.pages.mail_words import moment_said


@dataclass(frozen=True)
class ShownAddress:
    """An address that mail comes back from, whose it is, since when nothing goes there, and what its server said."""

    pk: int
    address: str
    whose: str
    since: str
    server: str


@dataclass(frozen=True)
class ShownStop:
    """A kind of mail that a person stopped."""

    who: str
    kind: str
    since: str


def addresses_facts(*, farm: Farm) -> dict[str, Any]:
    """Return the addresses and the stops of a farm."""
    names = _names(farm)
    rows = [
        ShownAddress(
            pk=one.pk,
            address=one.address,
            whose=words.listed(names[one.address])
            if one.address in names
            else _("nobody has this address now"),
            since=moment_said(one.since_at, farm.zone),
            server=" ".join(part for part in (one.report.status, one.report.says) if part)
            if one.report
            else "",
        )
        for one in standing_suppressions(farm=farm)
    ]
    stops = [
        ShownStop(
            one.person_name, words.named(SheetKind(one.kind).label), moment_said(one.changed_at, farm.zone)
        )
        for one in stopped_by_link(farm=farm)
    ]
    headline = _("No mail comes back: everybody's address is good.")
    if rows:
        headline = ngettext(
            "{count} address gets nothing: its mail came back.",
            "{count} addresses get nothing: their mail came back.",
            len(rows),
        ).format(count=words.capital(words.count_word(len(rows))))
    return {"headline": headline, "rows": rows, "stops": stops}


def _names(farm: Farm) -> dict[str, list[str]]:
    """Return who has which address, in small letters."""
    found: dict[str, list[str]] = {}
    hands = Hand.objects.filter(farm=farm, works=True).exclude(email="").order_by("name")
    users = User.objects.filter(memberships__farm=farm).exclude(email="").distinct().order_by("username")
    users = users.exclude(
        memberships__farm=farm, memberships__hand__email=F("email")
    )  # named as hands already
    for address, name in [
        *((hand.email, hand.name) for hand in hands),
        *((user.email, user.get_full_name() or user.username) for user in users),
    ]:
        of_address = found.setdefault(address.lower(), [])
        if name not in of_address:
            of_address.append(name)
    return found
