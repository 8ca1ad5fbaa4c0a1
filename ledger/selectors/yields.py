"""What seasons brought in: what was entered, else what the farm expects of the crop."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from farmops.farms.models import Farm, LatePlantingFacts
from ledger.models import SeasonYield


@dataclass(frozen=True)
class Yield:
    """What a season brought in, or several of one unit together; `is_expected` where a part of it is only expected."""

    quantity: Decimal
    unit: str
    is_expected: bool


class Grown(Protocol):
    """What a yield is known of: a season, or what is told of one."""

    @property
    def pk(self) -> int:
        """Return the season's id."""

    @property
    def crop(self) -> str:
        """Return its crop."""

    @property
    def area_ac(self) -> Decimal:
        """Return its acres."""


def season_yields(*, farm: Farm, seasons: Collection[Grown]) -> dict[int, Yield]:
    """Return the yield of each season of which one is known: the newest that was entered, else acres times expected."""
    rows = SeasonYield.objects.filter(farm=farm, season__in=[season.pk for season in seasons])
    entered = {
        row.season_id: Yield(row.quantity, row.unit, False) for row in rows.order_by("correction_no", "pk")
    }
    expected = {facts.crop: facts for facts in LatePlantingFacts.objects.filter(farm=farm)}
    found: dict[int, Yield] = {}
    for season in seasons:
        facts = expected.get(season.crop)
        if season.pk in entered:
            found[season.pk] = entered[season.pk]
        elif facts is not None:
            found[season.pk] = Yield(season.area_ac * facts.yield_per_ac, facts.yield_unit, True)
    return found


def yield_of(yields: Iterable[Yield | None]) -> Yield | None:
    """Return several seasons' yields as one; None where one of them is not known or they are counted in different units."""
    found = list(yields)
    known = [one for one in found if one is not None]
    if not known or len(known) < len(found) or len({one.unit for one in known}) > 1:
        return None
    return Yield(
        sum((one.quantity for one in known), Decimal(0)),
        known[0].unit,
        any(one.is_expected for one in known),
    )
