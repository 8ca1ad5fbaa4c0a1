"""Landlords: what each bears of a season's costs by what was agreed, what that comes to, and what was charged of it."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q, Sum

from farmops.farms.models import Farm, Field, Season
from ledger.costing.allocation import share_out
from ledger.models import Account, FarmCategory, LandlordTerm, Line, Payee, ShareOut, ShareOutPart
from ledger.selectors.chain import chain_head
from ledger.selectors.drafts import ground_code
from scheduling.selectors.row_marks import Marked, every_row, mark_of

WHOLE_PCT = Decimal(100)
FARM = ""
"""Whose key the farm has in a share-out: it comes before every landlord, so that a cent that is left over is the farm's."""
OF_LANDLORDS = Q(entry__lines__account=Account.LANDLORDS_OWE)
"""Lines of entries by which landlords were charged, and of what undid them; also of those read from a journal."""
OF_FIELDS = ("field__code", "field__name", "field__landlord", "field__landlord_share_pct")

Terms = Mapping[str, Mapping[str, Decimal]]
"""Percent by category by landlord; the empty category is for all that are not named."""


@dataclass(frozen=True)
class LandlordRow:
    """One category of one season: what it cost, what the landlord, the farm and other landlords bear of it.

    The parts sum to the cost to the cent. `charged_cents` of the landlord's part was charged before.
    """

    season: Season
    category: str
    share_pct: Decimal
    total_cents: int
    landlord_cents: int
    farm_cents: int
    charged_cents: int

    @property
    def others_cents(self) -> int:
        """Return what other landlords bear."""
        return self.total_cents - self.landlord_cents - self.farm_cents

    @property
    def left_cents(self) -> int:
        """Return what is still to be charged; below zero where too much was."""
        return self.landlord_cents - self.charged_cents


@dataclass(frozen=True)
class LandlordStatement:
    """What a landlord bears of a crop year, by season and category."""

    landlord: str
    crop_year: int
    rows: tuple[LandlordRow, ...]

    @property
    def total_cents(self) -> int:
        """Return what the seasons cost in the categories of which the landlord bears something."""
        return sum(row.total_cents for row in self.rows)

    @property
    def landlord_cents(self) -> int:
        """Return the landlord's part of it."""
        return sum(row.landlord_cents for row in self.rows)

    @property
    def charged_cents(self) -> int:
        """Return what was charged of it."""
        return sum(row.charged_cents for row in self.rows)

    @property
    def left_cents(self) -> int:
        """Return what is still to be charged."""
        return self.landlord_cents - self.charged_cents


def landlord_terms(*, seasons: Collection[Season]) -> dict[int, dict[str, dict[str, Decimal]]]:
    """Return, by season and landlord, the percent of each category that the landlord bears.

    The newest correction of each holds. A season without any has what the season, or else its field, says of its landlord,
    for all categories alike.
    """
    found: dict[int, dict[str, dict[str, Decimal]]] = defaultdict(lambda: defaultdict(dict))
    known = {season.pk for season in seasons}
    entered = LandlordTerm.objects.filter(farm__in={season.farm_id for season in seasons})
    for term in entered.select_related("landlord").order_by("correction_no"):
        if term.season_id in known:
            found[term.season_id][term.landlord.name][term.category] = term.share_pct
    for season in seasons:
        if season.pk not in found:
            of = season if season.landlord else season.field
            if of.landlord and of.landlord_share_pct:
                found[season.pk][of.landlord][""] = of.landlord_share_pct
    return {pk: {name: dict(by) for name, by in terms.items()} for pk, terms in found.items()}


def share_of(*, terms: Terms, category: str) -> dict[str, Decimal]:
    """Return the percent of a category by landlord, of those who bear something of it."""
    shares = {name: by.get(category, by.get("", Decimal(0))) for name, by in terms.items()}
    return {name: pct for name, pct in shares.items() if pct > 0}


def landlords(*, farm: Farm, crop_year: int, terms: Mapping[int, Terms] | None = None) -> list[str]:
    """Return who bears something of a crop year's seasons, or was charged for them, by name.

    `terms` are those of `landlord_terms` for the seasons of that year, where they are read already.
    """
    if terms is None:
        terms = landlord_terms(seasons=seasons_of(farm=farm, crop_year=crop_year))
    names = {name for of_season in terms.values() for name in of_season}
    charged = ShareOutPart.objects.filter(
        farm=farm, share_out__landlord__isnull=False, season__crop_year=crop_year
    )
    return sorted(names.union(charged.order_by().values_list("share_out__landlord__name", flat=True)))


def known_landlords(*, farm: Farm) -> list[str]:
    """Return everybody who owns ground of a farm or with whom something was agreed, of any year, by name."""
    fields = Field.objects.filter(farm=farm).exclude(landlord="").values_list("landlord", flat=True)
    seasons = Season.objects.filter(farm=farm).exclude(landlord="").values_list("landlord", flat=True)
    agreed = LandlordTerm.objects.filter(farm=farm).values_list("landlord__name", flat=True)
    return sorted({*fields.order_by(), *seasons.order_by(), *agreed.order_by()})


def landlord_statement(
    *, farm: Farm, landlord: str, crop_year: int, through: date | None = None
) -> LandlordStatement:
    """Return what a landlord bears of a crop year, by what was booked up to a day, by ground, crop and category."""
    seasons = seasons_of(farm=farm, crop_year=crop_year)
    terms = landlord_terms(seasons=seasons)
    (found,) = landlord_statements(
        farm=farm, names=[landlord], crop_year=crop_year, through=through, seasons=seasons, terms=terms
    )
    return found


def landlord_statements(
    *,
    farm: Farm,
    names: Sequence[str],
    crop_year: int,
    through: date | None = None,
    seasons: Sequence[Season],
    terms: Mapping[int, Terms],
) -> list[LandlordStatement]:
    """Return what each of some landlords bears of a crop year, as `landlord_statement` does, in the order of their names
    as they were given.

    Each category of each season is shared by itself, by largest remainder between the farm and its landlords, so that the
    parts sum to the cost to the cent. `seasons` are those of `seasons_of`, and `terms` what `landlord_terms` says of them.
    """
    if not names:
        return []
    costs, charged = _costs(farm, seasons, through), _charged(farm, names, crop_year)
    return [
        LandlordStatement(name, crop_year, tuple(_rows(name, seasons, terms, costs, charged[name])))
        for name in names
    ]


def _rows(
    landlord: str,
    seasons: Sequence[Season],
    terms: Mapping[int, Terms],
    costs: Mapping[int, Mapping[str, int]],
    charged: Mapping[tuple[int, str], int],
) -> Iterator[LandlordRow]:
    charged_of: dict[int, set[str]] = defaultdict(set)
    for pk, category in charged:
        charged_of[pk].add(category)
    for season in seasons:
        of_season = terms.get(season.pk, {})
        if landlord not in of_season and season.pk not in charged_of:
            continue
        cost = costs.get(season.pk, {})
        for category in sorted({*cost, *charged_of.get(season.pk, ())}):
            total = cost.get(category, 0)
            shares = share_of(terms=of_season, category=category)
            before = charged.get((season.pk, category), 0)
            if landlord not in shares and not before:
                continue
            parts = shared(total_cents=total, shares=shares)
            yield LandlordRow(
                season=season,
                category=category,
                share_pct=shares.get(landlord, Decimal(0)),
                total_cents=total,
                landlord_cents=parts.get(landlord, 0),
                farm_cents=parts[FARM],
                charged_cents=before,
            )


def shared(*, total_cents: int, shares: Mapping[str, Decimal]) -> dict[str, int]:
    """Return a cost by landlord and, under the empty name, the farm; the parts sum to it. Raises AllocationError over 100 %."""
    weights = {FARM: WHOLE_PCT - sum(shares.values(), Decimal(0)), **shares}
    return share_out(total_cents=total_cents, weights=weights)


def seasons_of(*, farm: Farm, crop_year: int) -> list[Season]:
    """Return the seasons of a crop year of which landlords bear something or were charged, in the order of ground and crop.

    Those of owned ground, of which nothing was agreed, are most of a large farm's, and there is nothing to share of them.
    """
    owned_by_others = ~Q(landlord="") | ~Q(field__landlord="")
    agreed = LandlordTerm.objects.filter(farm=farm, season__crop_year=crop_year).order_by().values("season")
    charged = ShareOutPart.objects.filter(farm=farm, season__crop_year=crop_year).order_by().values("season")
    found = Season.objects.filter(
        owned_by_others | Q(pk__in=agreed) | Q(pk__in=charged), farm=farm, crop_year=crop_year
    ).select_related("field")
    found = found.only(*(one.attname for one in Season._meta.concrete_fields), *OF_FIELDS)
    return sorted(found, key=lambda season: (ground_code(season), season.crop))


def landlords_mark(*, farm: Farm) -> str:
    """Return words that change with all that is read here, with the books, and with how categories are called.

    Whoever reads another kind of row here adds it; a test holds the tables that are read against these.
    """
    return f"{chain_head(farm=farm)}{mark_of(farm, _marked)}"


def _marked(farm_id: int) -> list[Marked]:
    parts = Marked("parts", ShareOutPart.objects.filter(farm=farm_id))  # never changed, nor taken away
    return [*every_row(farm_id, (Field, Season, LandlordTerm, Payee, FarmCategory, ShareOut)), parts]


def charged_elsewhere(*, farm: Farm, crop_year: int) -> bool:
    """Return whether landlords were charged for a crop year by entries that were read from a journal.

    Those do not say which landlord, so that what is left cannot be told.
    """
    lines = Line.objects.filter(OF_LANDLORDS, farm=farm, is_imported=True, season__crop_year=crop_year)
    return lines.exists()


def _costs(farm: Farm, seasons: Collection[Season], through: date | None) -> dict[int, dict[str, int]]:
    """Return what each of some seasons cost by category, before landlords were charged."""
    lines = Line.objects.filter(farm=farm, account=Account.SEASON, season__in=[one.pk for one in seasons])
    lines = lines.exclude(OF_LANDLORDS)
    if through is not None:
        lines = lines.filter(entry__booked_on__lte=through)
    sums = lines.order_by().values_list("season_id", "category").annotate(Sum("cents"))
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for pk, category, cents in sums:
        if cents:
            found[pk][category] = cents
    return found


def _charged(farm: Farm, landlords: Collection[str], crop_year: int) -> dict[str, dict[tuple[int, str], int]]:
    """Return what each landlord was charged by season and category, without what was reversed."""
    parts = ShareOutPart.objects.filter(
        farm=farm, season__crop_year=crop_year, share_out__landlord__name__in=landlords
    )
    standing = parts.filter(share_out__entries__reversed_by__isnull=True, share_out__entries__isnull=False)
    rows = standing.order_by().values_list("share_out__landlord__name", "season_id", "category")
    found: dict[str, dict[tuple[int, str], int]] = {name: {} for name in landlords}
    for name, pk, category, cents in rows.annotate(Sum("cents")):
        if cents:
            found[name][pk, category] = cents
    return found
