"""Where a hand reports: the address that stands on the sheet.

A mailed sheet holds a link of its own, which signs the hand in. What is written to a file may hang on the shop door or
lie in a folder, so it names the page that asks for a name and a password. The bytes of a mail are kept to be sent
again as they are; the link in them works for some days only.
"""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings

from farmops.farms.models import Farm, Hand, SignInLink
from farmops.farms.services.links import new_link, path_of


@dataclass(frozen=True)
class ReportAt:
    """An address, empty where none is known, and whether it signs the hand in by itself."""

    address: str = ""
    is_own_link: bool = False


def plain_address(*, farm: Farm) -> ReportAt:
    """Return the address of the day page, which asks who is there."""
    return ReportAt(f"{settings.SITE_ADDRESS}/farms/{farm.code}/day/" if settings.SITE_ADDRESS else "")


def own_address(*, farm: Farm, hand: Hand, now: dt.datetime) -> tuple[ReportAt, SignInLink | None]:
    """Return the address of a link for one sheet of a hand, and the link, which whoever sends the sheet stores first.

    None where nobody knows how hands reach the pages.
    """
    if not settings.SITE_ADDRESS or not hand.works:
        return ReportAt(), None
    secret, link = new_link(farm=farm, hand=hand, now=now)
    return ReportAt(settings.SITE_ADDRESS + path_of(secret), True), link
