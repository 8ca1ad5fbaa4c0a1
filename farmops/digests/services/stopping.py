"""How the mail of a row is stopped: what stands in its head for mail readers to press or to write to."""

import datetime as dt
import secrets
from collections.abc import Collection

from django.conf import settings
from django.db.models import Q

from farmops.core.ready import Among
from farmops.digests.models import OutboxRow, PersonLink, Purpose
from farmops.digests.services.bounces import bounce_address
from farmops.digests.services.mailing import StopBy
from farmops.digests.services.person_links import stop_path

SUBJECT = "stop"
"""Who writes this word, and nothing else, as a subject to the address for a row's bounces stops that kind of mail
(`farmops.digests.services.bounces`)."""

_Whose = tuple[int, str, int | None, int | None]
"""Farm, kind of mail, hand or user."""
_Link = tuple[int, str]
"""The row id and the nonce of a link."""


class StopLinks:
    """The links by which the mail of some rows is stopped, read at once for all of them; who has none gets one."""

    def __init__(self) -> None:
        self._links: dict[_Whose, _Link] = {}

    def read(self, rows: Collection[OutboxRow], *, now: dt.datetime) -> None:
        """Read, and where there is none make, the links of these rows; those of other rows are forgotten."""
        self._links = {}
        if not settings.SITE_ADDRESS.startswith("https://"):
            return
        self._links = _standing(rows)
        missing = {_whose(row): row for row in rows if _whose(row) not in self._links}
        if missing:
            links = [_new_link(row, now) for row in missing.values()]
            PersonLink.objects.bulk_create(links, ignore_conflicts=True)
            self._links = _standing(rows)

    def ways(self, row: OutboxRow) -> StopBy:
        """Return how a row's mail is stopped: by signing in where the pages are not reached by https, as RFC 8058 asks for."""
        link = self._links.get(_whose(row))
        if link is None:
            return StopBy(page=_page(row))
        mail_address = bounce_address(row)
        link_id, nonce = link
        return StopBy(
            settings.SITE_ADDRESS + stop_path(link_id=link_id, nonce=nonce),
            f"mailto:{mail_address}?subject={SUBJECT}" if mail_address else "",
        )


def _page(row: OutboxRow) -> str:
    """Return the page on which a person chooses what comes; empty where nobody knows how the pages are reached."""
    own = "mail/mine/" if row.hand_id is None else "day/mail/"
    return f"{settings.SITE_ADDRESS}/farms/{row.farm.code}/{own}" if settings.SITE_ADDRESS else ""


def _standing(rows: Collection[OutboxRow]) -> dict[_Whose, _Link]:
    links = PersonLink.objects.filter(
        purpose=Purpose.STOP, revoked_at=None, kind__in={row.kind for row in rows}
    )
    hands = {row.hand_id for row in rows if row.hand_id is not None}
    users = {row.user_id for row in rows if row.user_id is not None}
    whose = Q(Among("hand_id", hands)) | Q(Among("user_id", users))
    farms = {row.farm_id for row in rows}
    found = links.filter(whose, farm__in=farms).order_by()
    told = found.values_list("farm_id", "kind", "hand_id", "user_id", "pk", "nonce")
    return {(farm, kind, hand, user): (pk, nonce) for farm, kind, hand, user, pk, nonce in told}


def _whose(row: OutboxRow) -> _Whose:
    return (row.farm_id, row.kind, row.hand_id, row.user_id)


def _new_link(row: OutboxRow, now: dt.datetime) -> PersonLink:
    return PersonLink(
        farm_id=row.farm_id,
        hand_id=row.hand_id,
        user_id=row.user_id,
        purpose=Purpose.STOP,
        kind=row.kind,
        nonce=secrets.token_hex(16),
        made_at=now,
    )
