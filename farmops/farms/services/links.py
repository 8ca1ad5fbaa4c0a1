"""Links by which hands sign in: made for a sheet or by the manager, used on a phone, taken back.

Who holds a link is that hand for the service, so a link can do little: it signs in an account of its own that is this
hand on this farm and nothing else, whatever else the person may do with a password. Only a hash of the secret is kept.
"""

import datetime as dt
import secrets
from collections.abc import Collection
from enum import StrEnum

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farmops.core.many import insert_many
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Hand, Membership, Role, SignInLink
from farmops.farms.models.links import hash_of_secret

LINK_DAYS = 7
"""Farm judgement: a link outlives its sheet by a week at most, about as long as the week plan it speaks of."""
STAYS = dt.timedelta(days=14)
"""Farm judgement: who came in by a link stays signed in for two weeks, then needs a newer link."""
MOST_DAYS = 31
SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Signs of a secret: none that is taken for another when it is read from paper, none that a mail reader leaves out."""
_SIGN_OF = (SIGNS.encode() * 9)[:256]
_TOO_MANY = bytes(range(256 - 256 % len(SIGNS), 256))
"""Bytes that would make some signs likelier than others."""
SECRET_LENGTH = 26
"""26 of 31 signs are 128 random bits: they cannot be guessed (OWASP's advice for session ids asks for 64 at least)."""


class LinkState(StrEnum):
    """What a link is good for."""

    OPEN = "open"
    EXPIRED = "expired"
    REVOKED = "revoked"
    LEFT = "left"  # the hand works here no more


class LinkRefused(DomainError):
    """No link can be made for this hand, or for so long."""

    code = "link_refused"


class LinkNotOpen(DomainError):
    """A link that expired, was revoked, or whose hand has left, signs nobody in."""

    code = "link_not_open"
    kind = Kind.FORBIDDEN


def make_link(*, farm: Farm, hand: Hand, now: dt.datetime, days: int = LINK_DAYS) -> str:
    """Make a link for a hand that works for some days from now, and return its secret, which is kept nowhere."""
    secret, link = new_link(farm=farm, hand=hand, now=now, days=days)
    link.save()
    return secret


def new_link(*, farm: Farm, hand: Hand, now: dt.datetime, days: int = LINK_DAYS) -> tuple[str, SignInLink]:
    """Return the secret of a link and the link itself, not stored yet: who makes many stores them at once."""
    if hand.farm_id != farm.pk:
        raise LinkRefused(_("{hand} is no hand of {farm}.").format(hand=hand.name, farm=farm.name))
    if not hand.works:
        raise LinkRefused(
            _("{hand} does not work here any more: there is no link to make.").format(hand=hand.name)
        )
    if not 1 <= days <= MOST_DAYS:
        raise LinkRefused(
            _("A link works for 1 to {most} days, not for {days}.").format(most=MOST_DAYS, days=days)
        )
    secret = _secret()
    link = SignInLink(
        farm_id=farm.pk,
        hand_id=hand.pk,
        secret_hash=hash_of_secret(secret),
        made_at=now,
        expires_at=now + dt.timedelta(days=days),
    )
    return secret, link


def store_links(links: Collection[SignInLink]) -> None:
    """Store links that were made, all or none."""
    insert_many(links)


def _secret() -> str:
    """Return a new secret: every one is as likely as any other."""
    secret = b""
    while len(secret) < SECRET_LENGTH:
        secret += secrets.token_bytes(2 * SECRET_LENGTH).translate(_SIGN_OF, _TOO_MANY)
    return secret[:SECRET_LENGTH].decode("ascii")


def path_of(secret: str) -> str:
    """Return the path at which a link is opened."""
    return f"/in/{secret}/"


def state_of(link: SignInLink, *, now: dt.datetime) -> LinkState:
    """Return what a link is good for at an instant."""
    if link.revoked_at is not None:
        return LinkState.REVOKED
    if not link.hand.works:
        return LinkState.LEFT
    return LinkState.OPEN if now < link.expires_at else LinkState.EXPIRED


@transaction.atomic
def use_link(*, link: SignInLink, now: dt.datetime) -> User:
    """Write down that a link is used, and return the account it signs in. Using it again, while it is open, is the same.

    Raises LinkNotOpen; a link that is revoked at this very moment is either used before or refused.
    """
    used = SignInLink.objects.filter(
        pk=link.pk, revoked_at=None, expires_at__gt=now, hand__works=True
    ).update(last_used_at=now)
    if not used:
        raise LinkNotOpen(_("This link of {hand} does not work any more.").format(hand=link.hand.name))
    return _account(link.hand)


def revoke_link(*, link: SignInLink, by: User, now: dt.datetime) -> bool:
    """Take one link back; whoever came in by it is signed out. False if it was taken back before."""
    return _revoke(SignInLink.objects.filter(pk=link.pk), by, now) == 1


def revoke_links(*, farm: Farm, by: User, now: dt.datetime, hand: Hand | None = None) -> int:
    """Take every link of a farm back, or those of one hand, expired ones too; return how many stood till now.

    An expired link signs nobody in any more, but somebody who came in by it may still be there.
    """
    links = SignInLink.objects.filter(farm=farm)
    return _revoke(links.filter(hand=hand) if hand is not None else links, by, now)


def _revoke(links: QuerySet[SignInLink], by: User, now: dt.datetime) -> int:
    return links.filter(revoked_at=None).update(revoked_at=now, revoked_by=by)


def _account(hand: Hand) -> User:
    """Return the account that a hand's links sign in: that hand on that farm, no other part, and no password.

    Its name holds a colon, which no name that somebody chooses may hold.
    """
    user, _is_new = User.objects.get_or_create(
        username=f"link:{hand.pk}",
        defaults={
            "password": make_password(None),
            "first_name": hand.name,
            "language": hand.language,
        },
    )
    if not user.is_active:
        raise LinkNotOpen(_("The account of {hand} is closed.").format(hand=hand.name))
    Membership.objects.get_or_create(farm=hand.farm, user=user, role=Role.HAND, defaults={"hand": hand})
    return user
