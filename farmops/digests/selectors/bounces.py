"""Reading what came back."""

from django.db.models import QuerySet

from farmops.digests.models import MailChoice, SuppressedAddress
from farmops.farms.models import Farm


def suppression_of(*, farm: Farm, address: str) -> SuppressedAddress | None:
    """Return the standing stop of an address, if there is one."""
    return SuppressedAddress.objects.filter(farm=farm, address=address, lifted_at=None).first()


def standing_suppressions(*, farm: Farm) -> QuerySet[SuppressedAddress]:
    """Return the addresses to which nothing of a farm is sent, with the report that made it so."""
    return SuppressedAddress.objects.filter(farm=farm, lifted_at=None).select_related("report")


def stopped_by_link(*, farm: Farm) -> QuerySet[MailChoice]:
    """Return the kinds of mail that people stopped by themselves, the last first."""
    own = MailChoice.objects.filter(farm=farm, is_wanted=False, changed_by=None)
    return own.select_related("hand", "user").order_by("-changed_at")
