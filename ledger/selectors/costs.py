"""What each season cost: by category for the export, by field for the pages."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from django.db.models import Sum

from farmops.farms.models import Farm, Season
from ledger.costing.money import per_acre_usd, usd_from
from ledger.models import Account, Category, Line
from ledger.selectors.categories import category_book
from ledger.selectors.drafts import ground_code

QUANTITY_STEP = Decimal("0.001")


@dataclass(frozen=True)
class CostRow:
    """One category of one season: whole cents, and a quantity where its lines have one unit."""

    season_id: int
    crop_year: int
    field: str
    field_name: str
    crop: str
    area_ac: Decimal
    category: str
    quantity: Decimal | None
    unit: str
    cents: int

    @property
    def amount_usd(self) -> Decimal:
        """Return the dollars, exactly."""
        return usd_from(self.cents)

    @property
    def usd_per_ac(self) -> Decimal:
        """Return dollars per acre to the cent."""
        return per_acre_usd(cents=self.cents, area_ac=self.area_ac)


@dataclass(frozen=True)
class FieldCost:
    """One season with its total and its categories, the dearest first."""

    season: Season
    by_category: tuple[tuple[str, int], ...]

    @property
    def field(self) -> str:
        """Return the code of the ground."""
        return ground_code(self.season)

    @property
    def field_name(self) -> str:
        """Return the field's name, with the part where there is one."""
        part = f" ({self.season.part})" if self.season.part else ""
        return f"{self.season.field.name}{part}"

    @property
    def crop(self) -> str:
        """Return the crop's word."""
        return self.season.get_crop_display()

    @property
    def area_ac(self) -> Decimal:
        """Return the acres of the season."""
        return self.season.area_ac

    @property
    def total_cents(self) -> int:
        """Return everything, the owner's unpaid time included."""
        return sum(cents for _category, cents in self.by_category)

    @property
    def owner_time_cents(self) -> int:
        """Return how much of it is the owner's own time, which nobody is paid for."""
        return sum(cents for category, cents in self.by_category if category == Category.OWNER_TIME)

    @property
    def total_usd(self) -> Decimal:
        """Return the total in dollars."""
        return usd_from(self.total_cents)

    @property
    def usd_per_ac(self) -> Decimal:
        """Return dollars per acre to the cent."""
        return per_acre_usd(cents=self.total_cents, area_ac=self.area_ac)


def field_costs(*, farm: Farm, crop_year: int) -> list[CostRow]:
    """Return one row per season, category and unit, in the order of field, crop and category."""
    seasons = {season.pk: season for season in _seasons(farm, crop_year)}
    sums = (
        Line.objects.filter(farm=farm, account=Account.SEASON, season__crop_year=crop_year)
        .values("season_id", "category", "unit")
        .annotate(cents=Sum("cents"), quantity_e4=Sum("quantity_e4"))
    )
    order = {code: at for at, code in enumerate(category_book(farm=farm))}
    rows = []
    for row in sums:
        season = seasons[row["season_id"]]
        quantity, unit = shown_quantity(row["quantity_e4"], row["unit"])
        if row["cents"] or quantity:
            rows.append(
                CostRow(
                    season_id=season.pk,
                    crop_year=season.crop_year,
                    field=ground_code(season),
                    field_name=season.field.name,
                    crop=season.crop,
                    area_ac=season.area_ac,
                    category=row["category"],
                    quantity=quantity,
                    unit=unit,
                    cents=row["cents"],
                )
            )
    return sorted(
        rows,
        key=lambda row: (row.field, row.crop, order.get(row.category, len(order)), row.category, row.unit),
    )


def costs_by_field(*, farm: Farm, crop_year: int) -> list[FieldCost]:
    """Return every season of a crop year with its costs, also one that cost nothing so far."""
    by_season: dict[int, dict[str, int]] = {}
    for row in field_costs(farm=farm, crop_year=crop_year):
        categories = by_season.setdefault(row.season_id, {})
        categories[row.category] = categories.get(row.category, 0) + row.cents
    return [
        FieldCost(
            season,
            tuple(
                sorted(by_season.get(season.pk, {}).items(), key=lambda pair: (-pair[1], pair[0])),
            ),
        )
        for season in sorted(_seasons(farm, crop_year), key=lambda season: (ground_code(season), season.crop))
    ]


def crop_years(*, farm: Farm) -> list[int]:
    """Return the crop years that a farm has seasons of, the newest first."""
    years = Season.objects.filter(farm=farm).order_by("-crop_year").values_list("crop_year", flat=True)
    return list(years.distinct())


def shown_quantity(quantity_e4: int | None, unit: str) -> tuple[Decimal | None, str]:
    """Return a quantity as people read it: hours instead of minutes, three decimals."""
    if quantity_e4 is None:
        return None, ""
    quantity = Decimal(quantity_e4).scaleb(-4)
    if unit == "min":
        quantity, unit = quantity / 60, "h"
    return quantity.quantize(QUANTITY_STEP, rounding=ROUND_HALF_EVEN), unit


def _seasons(farm: Farm, crop_year: int) -> list[Season]:
    found = Season.objects.filter(farm=farm, crop_year=crop_year).select_related("field")
    return list(found.defer("field__boundary"))
