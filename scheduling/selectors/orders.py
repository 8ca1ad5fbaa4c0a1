"""The orders of work that a farm keeps: the newest version of each, older ones, and where they were laid out."""

from dataclasses import dataclass

from django.db.models import F, QuerySet

from farmops.farms.models import Farm
from scheduling.models import OrderLaying, OrderOfWork, OrderVersion
from scheduling.orders import Order
from scheduling.orders.steps import step_from


@dataclass(frozen=True)
class KeptOrder:
    """An order of a farm with its newest version."""

    row: OrderOfWork
    version: OrderVersion
    order: Order

    @property
    def code(self) -> str:
        return self.row.code

    @property
    def seen(self) -> str:
        """Return the version as an entity tag says it."""
        return f"{self.row.code}-{self.version.number}{'-away' if self.row.is_put_away else ''}"


def order_of(version: OrderVersion) -> Order:
    """Return what a version says, as values."""
    return Order(
        name=version.name,
        crop=version.crop,
        tillage=version.tillage,
        plant_from=version.plant_from,
        plant_to=version.plant_to,
        steps=tuple(step_from(row) for row in version.steps),
        source=version.source,
    )


def kept(row: OrderOfWork) -> KeptOrder:
    """Return an order with its newest version."""
    version = OrderVersion.objects.get(order=row, number=row.newest_no)
    return KeptOrder(row, version, order_of(version))


def kept_orders(*, farm: Farm) -> list[KeptOrder]:
    """Return the orders of a farm with their newest versions, those put away last."""
    versions = OrderVersion.objects.filter(farm=farm, number=F("order__newest_no")).select_related("order")
    found = [KeptOrder(one.order, one, order_of(one)) for one in versions]
    return sorted(found, key=lambda one: (one.row.is_put_away, one.order.crop, one.order.name, one.code))


def versions_of(row: OrderOfWork) -> list[OrderVersion]:
    """Return the versions of an order, the newest first."""
    return list(row.versions.select_related("made_by").order_by("-number"))


def layings_of(*, farm: Farm) -> QuerySet[OrderLaying]:
    """Return the times that orders were laid out, the newest first."""
    rows = OrderLaying.objects.filter(farm=farm).select_related("version__order", "laid_by", "taken_back")
    return rows.order_by("-laid_at", "-id")
