"""Reading the physical facts of a farm."""

import datetime as dt
from collections.abc import Mapping

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from farmops.core.problems import DomainError, Kind
from farmops.core.ready import Ready
from farmops.farms.models import CropWaterFacts, Farm, Hand, Membership, Role, SignInLink
from farmops.farms.models.links import hash_of_secret


class UnknownFarm(DomainError):
    """No farm has this code."""

    code = "unknown_farm"
    kind = Kind.MISSING


def farm_by_code(code: str) -> Farm:
    """Return the farm of a code."""
    try:
        return Farm.objects.get(code=code)
    except Farm.DoesNotExist as error:
        known = ", ".join(Farm.objects.values_list("code", flat=True)) or "none yet"
        raise UnknownFarm(f"No farm has the code {code!r}. Known farms: {known}.") from error


def memberships_of(user: AbstractBaseUser | AnonymousUser) -> QuerySet[Membership]:
    """Return the parts that a user has in farms; that of a hand ends when the hand works there no more."""
    return _parts(user.pk or 0)


def parts_on_farm(user: AbstractBaseUser | AnonymousUser, *, farm_code: str) -> list[Membership]:
    """Return the parts that a user has in the farm of a code, each with the farm and the hand: none for a stranger."""
    return PARTS_ON_FARM.ask(user.pk or 0, farm_code)


def _parts(user_id: int) -> QuerySet[Membership]:
    return Membership.objects.filter(user_id=user_id).exclude(role=Role.HAND, hand__works=False)


PARTS_ON_FARM = Ready(
    lambda user_id, code: _parts(user_id).filter(farm__code=code).select_related("farm", "hand"), -1, "a code"
)


def farms_of(user: AbstractBaseUser | AnonymousUser) -> QuerySet[Farm]:
    """Return the farms that a user has a part in, by code."""
    if not user.is_authenticated:
        return Farm.objects.none()
    mine = memberships_of(user).values("farm_id")
    return Farm.objects.filter(pk__in=mine).order_by("code")


def roles_of(user: AbstractBaseUser | AnonymousUser, *, farm: Farm) -> frozenset[str]:
    """Return the roles a user has on a farm; empty for a stranger."""
    if not user.is_authenticated:
        return frozenset()
    return frozenset(memberships_of(user).filter(farm=farm).values_list("role", flat=True))


def hand_of(user: AbstractBaseUser | AnonymousUser, *, farm: Farm) -> Hand | None:
    """Return the hand that a user is on a farm, or None."""
    if not user.is_authenticated:
        return None
    mine = memberships_of(user).filter(farm=farm, role=Role.HAND).values("hand_id")
    return Hand.objects.filter(farm=farm, pk__in=mine).first()


def crop_water_of(*, farm: Farm) -> Mapping[str, CropWaterFacts]:
    """Return the farm's own crop water numbers that count, by crop: the newest of each."""
    return {row.crop: row for row in CropWaterFacts.objects.filter(farm=farm).order_by("set_at", "id")}


def link_of_secret(secret: str) -> SignInLink | None:
    """Return the sign-in link of a secret, whatever its state, or None."""
    links = SignInLink.objects.select_related("farm", "hand__farm")
    return links.filter(secret_hash=hash_of_secret(secret)).first()


def is_session_of_link_open(link_id: int) -> bool:
    """Return whether who came in by a link may stay: until it is revoked or the hand has left.

    That a link expires only means that nobody comes in by it any more.
    """
    return SignInLink.objects.filter(pk=link_id, revoked_at=None, hand__works=True).exists()


def unrevoked_links(*, farm: Farm, since: dt.datetime) -> QuerySet[SignInLink]:
    """Return the links that are not revoked and worked at or after an instant, newest first."""
    links = SignInLink.objects.filter(farm=farm, revoked_at=None, expires_at__gt=since)
    return links.select_related("hand").order_by("-made_at", "-id")
