"""Lines that are not written yet, and the words by which a line names its subject."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from farmops.farms.models import Implement, Machine, Season
from ledger.models import Account, Category, MachineCostFacts, Rate


@dataclass(frozen=True)
class DraftLine:
    """One line as it will be booked."""

    account: Account
    cents: int
    category: Category | str = ""
    season: Season | None = None
    machine: Machine | None = None
    implement: Implement | None = None
    quantity_e4: int | None = None
    unit: str = ""
    price_e4: int | None = None
    rate: Rate | None = None
    cost_facts: MachineCostFacts | None = None
    says: str = ""

    @property
    def subject(self) -> str:
        """Return whose account the line stands on, by names that stay the same in another database."""
        return subject_of(season=self.season, machine=self.machine, implement=self.implement)


def subject_of(*, season: Season | None, machine: Machine | None, implement: Implement | None) -> str:
    """Return the lasting name of a season, a machine or an implement; empty for an account of the whole farm."""
    if season is not None:
        return f"{ground_code(season)} {season.crop} {season.crop_year}"
    thing = machine or implement
    return "" if thing is None else thing.code


def ground_code(season: Season) -> str:
    """Return the code of a season's field, with its part where it is not the whole field."""
    return season.field.code + (f".{season.part}" if season.part else "")


def both_sides(cost: DraftLine, *, against: Iterable[DraftLine] | DraftLine) -> list[DraftLine]:
    """Return a cost and the other side of it; nothing where no money moves."""
    others = [against] if isinstance(against, DraftLine) else list(against)
    return [] if cost.cents == 0 else [cost, *others]


def other_side(
    cost: DraftLine,
    account: Account,
    *,
    machine: Machine | None = None,
    implement: Implement | None = None,
) -> DraftLine:
    """Return the line that answers a cost: the same money and quantity with the sign turned."""
    return replace(
        cost,
        account=account,
        cents=-cost.cents,
        quantity_e4=None if cost.quantity_e4 is None else -cost.quantity_e4,
        season=None,
        machine=machine,
        implement=implement,
    )
