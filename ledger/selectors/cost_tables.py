"""What seasons cost, cut by field, crop, operation, category, machine or month; each row opens to its lines."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property, partial
from operator import itemgetter
from typing import Any

from django.db.models import F, QuerySet, Sum

from farmops.farms.models import Farm, Implement, Machine
from ledger.costing.money import per_acre_usd, usd_from
from ledger.models import Line
from ledger.selectors.carried_sums import line_sums
from ledger.selectors.categories import category_book
from ledger.selectors.cost_cells import (
    OF_SEASON,
    CostSeason,
    CostWhere,
    Dimension,
    Labels,
    MonthText,
    can_carry,
    lines_where,
    seasons_where,
)
from ledger.selectors.yields import Yield, season_yields, yield_of

CostSums = dict[tuple[str, ...], int]
"""Cents by the values of some dimensions, in their order."""
PER_UNIT_STEP = Decimal("0.0001")


@dataclass(frozen=True)
class CostTableRow:
    """One row: what it is about, its whole cents, and the acres and the yield that they are held against.

    The acres are those of all seasons that the row's field and crop leave in, also those that had none of this
    operation or category, so that rows of one season add up per acre as they do in dollars.
    """

    key: tuple[str, ...]
    says: tuple[str, ...]
    where: CostWhere
    cents: int
    area_ac: Decimal
    harvest: Yield | None

    @property
    def amount_usd(self) -> Decimal:
        """Return the dollars, exactly."""
        return usd_from(self.cents)

    @property
    def usd_per_ac(self) -> Decimal | None:
        """Return dollars per acre to the cent; None where there is no acre."""
        return per_acre_usd(cents=self.cents, area_ac=self.area_ac) if self.area_ac else None

    @property
    def usd_per_unit(self) -> Decimal | None:
        """Return dollars per unit of the yield to a hundredth of a cent; None where no yield is known."""
        if self.harvest is None or not self.harvest.quantity:
            return None
        return (self.amount_usd / self.harvest.quantity).quantize(PER_UNIT_STEP, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True)
class _Ground:
    """What all rows of the same field and crop are held against."""

    area_ac: Decimal
    harvest: Yield | None


NO_GROUND = _Ground(Decimal(0), None)


@dataclass(frozen=True)
class CostTable:
    """The rows, and all of them together."""

    crop_year: int
    by: tuple[Dimension, ...]
    where: CostWhere
    rows: tuple[CostTableRow, ...]
    total: CostTableRow


class CostTables:
    """Tables of the costs of the same seasons: what they have in common is read once.

    Those that `carry` go on from sums that were made before; the others are summed anew.
    """

    def __init__(
        self, *, farm: Farm, crop_year: int, where: CostWhere | None = None, carry: bool = False
    ) -> None:
        self.farm, self.crop_year, self.where, self.carry = farm, crop_year, where or CostWhere(), carry
        self.seasons = seasons_where(farm=farm, crop_year=crop_year, where=self.where)

    @cached_property
    def _labels(self) -> Labels:
        return Labels(farm=self.farm, book=category_book(farm=self.farm), seasons=self.seasons.values())

    @cached_property
    def _harvests(self) -> dict[int, Yield]:
        return season_yields(farm=self.farm, seasons=self.seasons.values())

    def sums(self, by: Sequence[Dimension]) -> CostSums:
        """Return the cents by the values of the dimensions, where anything is booked; grouped by the database."""
        reads = [self._reader(one, Dimension.FIELD in by) for one in by]
        sums: CostSums = {}
        for row in self._rows(by):
            key = tuple([read(row) for read in reads])
            sums[key] = sums.get(key, 0) + row["sum_cents"]
        return sums

    def _rows(self, by: Sequence[Dimension]) -> Iterable[dict[str, Any]]:
        lines, columns = _lines_by(by, self.where, self.seasons)
        if not columns:
            return [lines.aggregate(sum_cents=Sum("cents", default=0))]
        crops = [season.crop for season in self.seasons.values()] if "season__crop" in columns else None
        found = line_sums(
            farm=self.farm,
            lines=lines,
            by=columns,
            sums={"sum_cents": Sum("cents")},
            carry=self.carry and can_carry(self.where),
            beside=crops,
        )
        names = (*columns, "sum_cents")
        return (dict(zip(names, (*key, *cents), strict=True)) for key, cents in found.items())

    def _reader(self, dimension: Dimension, has_seasons: bool) -> Callable[[dict[str, Any]], str]:
        """Return what reads the value of a dimension out of a row of the database."""
        if dimension == Dimension.CROP and not has_seasons:
            return itemgetter("season__crop")
        if dimension in OF_SEASON:
            of_season = {pk: _of_season(season, dimension) for pk, season in self.seasons.items()}
            return lambda row: of_season[row["season_id"]]
        if dimension == Dimension.MACHINE:
            return partial(_machine_code, self._labels)
        return itemgetter(dimension.value)

    def table(self, by: Sequence[Dimension], sums: CostSums | None = None) -> CostTable:
        """Return the table by some dimensions, out of sums by them where these are known already."""
        found: CostSums = {}
        if set(by) <= OF_SEASON:
            found = {tuple(_of_season(season, one) for one in by): 0 for season in self.seasons.values()}
        found |= self.sums(by) if sums is None else sums
        cuts: tuple[tuple[Dimension, ...], ...] = (tuple(by), ())
        grounds = {here: _grounds(here, self.seasons.values(), self._harvests) for here in cuts}
        fixed, labels = self.where.given(), self._labels

        def made(key: tuple[str, ...], here: tuple[Dimension, ...], cents: int) -> CostTableRow:
            wanted: dict[Dimension, str] = dict(zip(here, key, strict=True))
            ground = grounds[here].get(tuple(wanted[one] for one in here if one in OF_SEASON), NO_GROUND)
            return CostTableRow(
                key=key,
                says=tuple(labels.say(one, value) for one, value in wanted.items()),
                where=CostWhere(**fixed | {one.value: value for one, value in wanted.items()}),
                cents=cents,
                area_ac=ground.area_ac,
                harvest=ground.harvest,
            )

        order = sorted(
            found, key=lambda key: [labels.order(one, value) for one, value in zip(by, key, strict=True)]
        )
        return CostTable(
            crop_year=self.crop_year,
            by=tuple(by),
            where=self.where,
            rows=tuple(made(key, tuple(by), found[key]) for key in order),
            total=made((), (), sum(found.values())),
        )


def cost_table(
    *, farm: Farm, crop_year: int, by: Sequence[Dimension], where: CostWhere | None = None
) -> CostTable:
    """Return the costs of a crop year's seasons, grouped by the database in one query.

    By field and crop alone every season has its row, also one that cost nothing; otherwise what has lines has a row,
    also where they come to nothing. Lines of any month of the books count that stand on these seasons.
    """
    return CostTables(farm=farm, crop_year=crop_year, where=where).table(by)


def folded(sums: CostSums, by: Sequence[Dimension], onto: Sequence[Dimension]) -> CostSums:
    """Return sums by some dimensions as sums by fewer of them."""
    places = [by.index(one) for one in onto]
    found: CostSums = {}
    for key, cents in sums.items():
        shorter = tuple(key[at] for at in places)
        found[shorter] = found.get(shorter, 0) + cents
    return found


def _lines_by(
    by: Sequence[Dimension], where: CostWhere, seasons: Mapping[int, CostSeason]
) -> tuple[QuerySet[Line], tuple[str, ...]]:
    """Return the lines of a condition, and the columns by which some dimensions tell them apart."""
    columns: list[str] = []
    lines = Line.objects.filter(lines_where(where, seasons))
    for one in by:
        if one in OF_SEASON:
            columns.append("season_id" if Dimension.FIELD in by else "season__crop")
        elif one == Dimension.MACHINE:
            columns += ["machine_id", "implement_id"]
        elif one == Dimension.MONTH:
            lines = lines.annotate(month=MonthText(F("entry__booked_on")))
            columns.append("month")
        else:
            columns.append(one.value)
    return lines, tuple(dict.fromkeys(columns))


def _machine_code(labels: Labels, row: dict[str, Any]) -> str:
    if row["machine_id"] is not None:
        return labels.codes[Machine, row["machine_id"]]
    return labels.codes[Implement, row["implement_id"]] if row["implement_id"] is not None else ""


def _grounds(
    by: Iterable[Dimension], seasons: Iterable[CostSeason], harvests: Mapping[int, Yield]
) -> dict[tuple[str, ...], _Ground]:
    """Return the acres and the yield of the seasons by their field and crop, as far as a table tells them apart."""
    told_apart = [one for one in by if one in OF_SEASON]
    groups: dict[tuple[str, ...], list[CostSeason]] = {}
    for season in seasons:
        groups.setdefault(tuple(_of_season(season, one) for one in told_apart), []).append(season)
    return {
        key: _Ground(
            sum((season.area_ac for season in mine), Decimal(0)),
            yield_of(harvests.get(season.pk) for season in mine),
        )
        for key, mine in groups.items()
    }


def _of_season(season: CostSeason, dimension: Dimension) -> str:
    return season.ground if dimension == Dimension.FIELD else season.crop
