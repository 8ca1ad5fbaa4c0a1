"""Costs that did not end on a field: machine pools, stocks, the farm; and what is owed. Nothing is lost."""

from dataclasses import dataclass

from django.db.models import Q, Sum

from farmops.farms.models import Farm
from ledger.models import Account, Line


@dataclass(frozen=True)
class PoolCost:
    """A machine's or implement's pool: bills and service put in, hours charged out, and what is left (below zero: over-charged)."""

    code: str
    name: str
    bills_cents: int
    charged_cents: int

    @property
    def left_cents(self) -> int:
        """Return bills and service less what the fields were charged."""
        return self.bills_cents - self.charged_cents


@dataclass(frozen=True)
class LedgerTotals:
    """All lines of a farm by where they stand; together they are zero."""

    season_cents: int
    other_seasons_cents: int
    by_account: tuple[tuple[Account, int], ...]

    @property
    def difference_cents(self) -> int:
        """Return what all of it sums to: 0 in books that are whole."""
        return self.season_cents + self.other_seasons_cents + sum(cents for _, cents in self.by_account)


def pool_costs(*, farm: Farm) -> list[PoolCost]:
    """Return the pools in the order of their codes."""
    of_work = Q(entry__work_record__isnull=False) | Q(entry__reverses__work_record__isnull=False)
    rows = (
        Line.objects.filter(farm=farm, account=Account.MACHINE_POOL)
        .values("machine__code", "machine__name", "implement__code", "implement__name")
        .annotate(
            bills=Sum("cents", filter=~of_work, default=0),
            charged=Sum("cents", filter=of_work, default=0),
        )
    )
    return sorted(
        (
            PoolCost(
                code=row["machine__code"] or row["implement__code"],
                name=row["machine__name"] or row["implement__name"],
                bills_cents=row["bills"],
                charged_cents=-row["charged"],
            )
            for row in rows
        ),
        key=lambda pool: pool.code,
    )


def ledger_totals(*, farm: Farm, crop_year: int) -> LedgerTotals:
    """Return the whole ledger of a farm: one crop year's seasons, other seasons, and each other account."""
    lines = Line.objects.filter(farm=farm)
    sums = dict(lines.values_list("account").annotate(Sum("cents")))
    here = lines.filter(account=Account.SEASON, season__crop_year=crop_year)
    in_year = here.aggregate(cents=Sum("cents", default=0))["cents"]
    return LedgerTotals(
        season_cents=in_year,
        other_seasons_cents=sums.get(Account.SEASON.value, 0) - in_year,
        by_account=tuple(
            (account, sums.get(account.value, 0)) for account in Account if account != Account.SEASON
        ),
    )
