"""Lines that are not written yet, and the words by which a line names its subject."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from farmops.farms.models import Implement, Machine, Pump, Season
from ledger.models import Account, Category, Line, MachineCostFacts, Rate


@dataclass(frozen=True)
class DraftLine:
    """One line as it will be booked."""

    account: Account
    cents: int
    category: Category | str = ""
    season: Season | None = None
    machine: Machine | None = None
    implement: Implement | None = None
    pump: Pump | None = None
    operation: str = ""
    quantity_e4: int | None = None
    unit: str = ""
    price_e4: int | None = None
    rate: Rate | None = None
    cost_facts: MachineCostFacts | None = None
    item: str = ""
    lot: str = ""
    layer: Line | None = None
    says: str = ""

    @property
    def subject(self) -> str:
        """Return whose account the line stands on, by names that stay the same in another database."""
        return subject_of(season=self.season, machine=self.machine, implement=self.implement, pump=self.pump)

    @property
    def outfit(self) -> str:
        """Return the machine and implement of a season's cost, by their codes at the time; empty elsewhere."""
        return outfit_of(season=self.season, machine=self.machine, implement=self.implement)


def subject_of(
    *, season: Season | None, machine: Machine | None, implement: Implement | None, pump: Pump | None
) -> str:
    """Return the lasting name of a season, a machine, an implement or a pump; empty for an account of the whole farm."""
    if season is not None:
        return f"{ground_code(season)} {season.crop} {season.crop_year}"
    thing = machine or implement or pump
    return "" if thing is None else thing.code


def outfit_of(*, season: Season | None, machine: Machine | None, implement: Implement | None) -> str:
    """Return what did the work of a season's cost: codes of the machine and of the implement; empty elsewhere."""
    if season is None:
        return ""
    return "+".join(thing.code for thing in (machine, implement) if thing is not None)


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
    """Return the line that answers a cost: the same money and quantity with the sign turned, of no kind of work."""
    return replace(
        cost,
        account=account,
        cents=-cost.cents,
        quantity_e4=None if cost.quantity_e4 is None else -cost.quantity_e4,
        season=None,
        machine=machine,
        implement=implement,
        pump=None,
        operation="",
    )
