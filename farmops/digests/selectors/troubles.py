"""Reading what is wrong with the mail, and where nothing is sent to."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection

from django.db.models import Q, QuerySet

from farmops.digests.models import MailTrouble, SuppressedAddress, TroubleKind
from farmops.farms.models import Farm


def standing_troubles(*, farm: Farm | None) -> QuerySet[MailTrouble]:
    """Return the troubles of a farm that nobody has ended; without a farm, those of the whole service."""
    return MailTrouble.objects.filter(farm=farm, ended_at=None)


def standing_halt() -> MailTrouble | None:
    """Return the trouble that stops the queue, if there is one."""
    return standing_troubles(farm=None).filter(kind=TroubleKind.HALTED).first()


def suppressed_addresses(*, farm: Farm) -> frozenset[str]:
    """Return the addresses, in small letters, to which nothing of this farm is sent."""
    standing = SuppressedAddress.objects.filter(farm=farm, lifted_at=None)
    return frozenset(standing.values_list("address", flat=True))


def suppressed_of_farms(*, farms: Collection[int]) -> dict[int, set[str]]:
    """Return what `suppressed_addresses` does by the row id of each farm that has any: one query for all of them."""
    standing = SuppressedAddress.objects.filter(farm__in=farms, lifted_at=None)
    found: dict[int, set[str]] = defaultdict(set)
    for farm_id, address in standing.order_by().values_list("farm_id", "address"):
        found[farm_id].add(address)
    return found


def untold_troubles(*, farm: Farm, since: dt.datetime | None = None) -> QuerySet[MailTrouble]:
    """Return the standing troubles of a farm that were mailed to no manager yet, or to none before an instant.

    Each manager's mail tells what was untold when it was made, though another's went out meanwhile.
    """
    untold = Q(told_at=None) if since is None else Q(told_at=None) | Q(told_at__gte=since)
    return standing_troubles(farm=farm).filter(untold)


def farms_with_untold_troubles() -> set[int]:
    """Return the ids of the farms with a standing trouble that was mailed to no manager yet."""
    untold = MailTrouble.objects.filter(farm__isnull=False, ended_at=None, told_at=None)
    return {farm_id for farm_id in untold.values_list("farm_id", flat=True) if farm_id is not None}
