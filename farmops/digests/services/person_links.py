"""Links that need no signing in: each reads one calendar or stops one kind of mail, and can be taken back.

The address is a signature by the service's key over the row, so a copy of the database opens nothing, and the row makes
it possible to take it back. The key of each purpose is another: a link that stops a mail reads no calendar.
"""

import datetime as dt
import re
import secrets
from functools import lru_cache

from django.conf import settings
from django.core.signing import Signer
from django.db import IntegrityError, transaction
from django.utils.crypto import constant_time_compare

from farmops.core.models import User
from farmops.digests.models import MailChoice, PersonLink, Purpose
from farmops.digests.selectors.calendar import roles_of
from farmops.digests.selectors.choices import choice_of
from farmops.farms.models import Farm, Hand

TOKEN = re.compile(r"([1-9][0-9]{0,17})\.([A-Za-z0-9_-]{43})", re.ASCII)
PATHS = {Purpose.CALENDAR: "/calendar/{token}.ics", Purpose.STOP: "/stop/{token}/"}


def address_of(*, farm: Farm, person: Hand | User, purpose: Purpose, kind: str = "", now: dt.datetime) -> str:
    """Return the address of a person's link, which is made the first time; nothing where nobody knows the pages' own.

    `kind` is the mail that a link to stop by is about.
    """
    if not settings.SITE_ADDRESS:
        return ""
    return settings.SITE_ADDRESS + path_of(
        open_link(farm=farm, person=person, purpose=purpose, kind=kind, now=now)
    )


def open_link(
    *, farm: Farm, person: Hand | User, purpose: Purpose, kind: str = "", now: dt.datetime
) -> PersonLink:
    """Return a person's link that nobody has taken back, made now or before; there is one."""
    standing = standing_link(farm=farm, person=person, purpose=purpose, kind=kind)
    if standing is not None:
        return standing
    try:
        with transaction.atomic():
            return PersonLink.objects.create(
                farm=farm,
                purpose=purpose,
                kind=kind,
                nonce=secrets.token_hex(16),
                made_at=now,
                **_whose(person),
            )
    except IntegrityError:
        standing = standing_link(farm=farm, person=person, purpose=purpose, kind=kind)
        if standing is None:
            raise
        return standing


def standing_link(*, farm: Farm, person: Hand | User, purpose: Purpose, kind: str = "") -> PersonLink | None:
    """Return a person's link that nobody has taken back, if there is one."""
    links = PersonLink.objects.filter(farm=farm, purpose=purpose, kind=kind, revoked_at=None)
    return links.filter(**_whose(person)).first()


def path_of(link: PersonLink) -> str:
    """Return the path at which a link is opened."""
    return PATHS[Purpose(link.purpose)].format(token=token_of(link))


def token_of(link: PersonLink) -> str:
    """Return what stands in the address of a link: its number and the signature over it."""
    return _token(link.pk, link.nonce, link.purpose)


def stop_path(*, link_id: int, nonce: str) -> str:
    """Return the path at which a link to stop a kind of mail is opened, from what is read of the link."""
    return PATHS[Purpose.STOP].format(token=_token(link_id, nonce, Purpose.STOP))


def link_of_token(token: str, *, purpose: Purpose) -> PersonLink | None:
    """Return the link of an address; None for one that is altered, unknown, taken back, or of somebody who has left."""
    found = TOKEN.fullmatch(token)
    if found is None:
        return None
    links = PersonLink.objects.filter(pk=int(found[1]), purpose=purpose, revoked_at=None)
    link = links.select_related("farm", "hand__farm", "user").first()
    if link is None or not constant_time_compare(token_of(link).partition(".")[2], found[2]):
        return None
    person = link.person
    if isinstance(person, Hand):
        return link if person.works else None
    is_here = person.is_active and (
        purpose != Purpose.CALENDAR or bool(roles_of(farm=link.farm, user=person))
    )
    return link if is_here else None


def revoke(*, link: PersonLink, by: User | None, now: dt.datetime) -> bool:
    """Take a link back; False when it was taken back before."""
    standing = PersonLink.objects.filter(pk=link.pk, revoked_at=None)
    return bool(standing.update(revoked_at=now, revoked_by=by))


def is_stopped(*, link: PersonLink) -> bool:
    """Say whether the mail that a link is about is stopped."""
    return not choice_of(farm=link.farm, person=link.person, kind=link.kind).is_wanted


def stop_by(*, link: PersonLink, now: dt.datetime, again: bool = False) -> None:
    """Stop the kind of mail that a link is about, or begin it again; pressed twice it is the same.

    Nobody is signed in, so the choice is the person's by the link: `changed_by` stays empty.
    """
    wanted = {"is_wanted": again, "changed_at": now, "changed_by": None}
    whose = {"farm": link.farm, "kind": link.kind, **_whose(link.person)}
    with transaction.atomic():
        MailChoice.objects.update_or_create(**whose, defaults=wanted)
        PersonLink.objects.filter(pk=link.pk).update(last_used_at=now)


def _token(link_id: int, nonce: str, purpose: str) -> str:
    signature = _signer(str(purpose), settings.SECRET_KEY).signature(f"{link_id}:{nonce}")
    return f"{link_id}.{signature}"


@lru_cache(maxsize=8)
def _signer(purpose: str, key: str) -> Signer:
    return Signer(key=key, salt=f"farmops.digests.links.{purpose}")


def _whose(person: Hand | User) -> dict[str, Hand | User]:
    return {"hand" if isinstance(person, Hand) else "user": person}
