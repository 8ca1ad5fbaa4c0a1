"""What fuel costs: out of the tank, with oil and grease, on the work that burned it as fill-ups were shared."""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.costing.machine_cost import LUBRICANT_SHARE
from ledger.costing.money import price_e4_of, priced_cents, quantity_e4_from
from ledger.models import Account, Category, FuelBy
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.posting_facts import PostingFacts
from ledger.selectors.stock import Priced
from scheduling.models import FuelFill, WorkRecord
from scheduling.selectors.fuel import FillShared, shared_fills

OF_FUEL = "$ of fuel"


@dataclass(frozen=True)
class FillPlan:
    """Where the gallons of a fill-up go: places without money yet, each with its gallons."""

    fill: FuelFill
    on: dt.date
    parts: tuple[tuple[DraftLine, Decimal], ...]

    @property
    def mark(self) -> str:
        """Return words that are the same as long as the gallons go to the same places."""
        told = sorted(
            [
                *(row.pk if row is not None else 0 for row in (place.season, place.machine, place.implement)),
                place.operation,
                f"{gallons.normalize():f}",
            ]
            for place, gallons in self.parts
        )
        digest = hashlib.sha256(json.dumps(told).encode()).hexdigest()
        return f"shared over {len(self.parts)} places, {digest[:16]}"


def fuel_lines(*, place: DraftLine, parts: Sequence[Priced], item: str, says: str) -> list[DraftLine]:
    """Return fuel out of the tank and its oil and grease, 15 % of its cost out of the machine's pool, on a place.

    `place` has no money yet; where it is a machine's pool, oil and grease are in it already.
    """
    lines: list[DraftLine] = []
    for part in parts:
        fuel = replace(
            place,
            cents=part.cents,
            category=part.category,
            quantity_e4=part.quantity_e4,
            unit="gal",
            price_e4=part.price_e4,
            rate=part.rate,
            item=item,
            lot=part.layer.lot if part.layer is not None else "",
            layer=part.layer,
            says=says if part.rate is not None else f"{says}: {part.says}",
        )
        lines += both_sides(fuel, against=other_side(fuel, Account.FUEL_STOCK))
    if place.account == Account.MACHINE_POOL or place.machine is None:
        return lines
    fuel_e4 = sum(part.cents for part in parts) * 100
    share_e4 = price_e4_of(LUBRICANT_SHARE)
    rates = {part.rate for part in parts}
    rate = rates.pop() if len(rates) == 1 else None
    lubricants = replace(
        place,
        cents=priced_cents(quantity_e4=fuel_e4, unit=OF_FUEL, price_e4=share_e4),
        category=Category.LUBRICANTS,
        quantity_e4=fuel_e4,
        unit=OF_FUEL,
        price_e4=share_e4 if rate is not None else None,
        rate=rate,
        says=f"{place.machine.name}, 15 % of its fuel",
    )
    pool = other_side(lubricants, Account.MACHINE_POOL, machine=place.machine)
    return lines + both_sides(lubricants, against=pool)


def fills_as_shared(*, farm: Farm) -> tuple[list[FillShared], Mapping[int, WorkRecord]]:
    """Return the fill-ups of a farm that stand, oldest first, and the work that burned them by its row id."""
    fills = shared_fills(farm=farm)[::-1]
    keys = {key for one in fills for key in one.burned.gallons}
    records = WorkRecord.objects.select_related("field_pass__season__field", "machine", "implement")
    return fills, records.in_bulk(keys)


def fill_plan(
    *, shared: FillShared, records: Mapping[int, WorkRecord], facts: PostingFacts
) -> FillPlan | None:
    """Return where the gallons of a fill-up go; None where it is of no year that counts fuel by what was filled up.

    Gallons of work go to its season where that work's year counts so; to the machine's pool where the machine's own
    rate holds its fuel. What no work burned goes to the machine's pool. Raises NoRateOnDate where the machine has no
    rate on the day of the work.
    """
    fill = shared.row
    on = local_date(fill.filled_at, facts.farm.zone)
    pool = DraftLine(Account.MACHINE_POOL, 0, machine=fill.machine)
    gallons: dict[DraftLine, Decimal] = defaultdict(Decimal)
    for key, share in shared.burned.gallons.items():
        record = records[key]
        if not _is_by_fills(facts, record.work_on):
            continue
        hour = facts.book.machine_hour(machine=fill.machine, day=record.work_on)
        place = DraftLine(
            Account.SEASON,
            0,
            season=record.field_pass.season,
            machine=fill.machine,
            implement=record.implement,
            operation=record.field_pass.operation,
        )
        gallons[pool if hour.holds_fuel else place] += share
    if _is_by_fills(facts, on):
        gallons[pool] += shared.burned.no_work_gal + shared.unshared_gal
    parts = sorted(
        ((place, share) for place, share in gallons.items() if share > 0),
        key=lambda part: (part[0].account, part[0].subject, part[0].operation, part[0].outfit),
    )
    return FillPlan(fill, on, tuple(parts)) if parts else None


def fill_lines(*, plan: FillPlan, facts: PostingFacts) -> list[DraftLine]:
    """Return the lines of a fill-up; raise NoRateOnDate, StockShort or UnitDiffers where a price is missing."""
    fill = plan.fill
    lines = []
    with facts.stock.kept():
        for place, gallons in plan.parts:
            parts = facts.stock.take(
                item=fill.fuel,
                quantity_e4=quantity_e4_from(gallons),
                unit="gal",
                on=plan.on,
                account=Account.FUEL_STOCK,
            )
            says = f"{fill.machine.name}, {gallons:f} of {fill.gallons:f} gal filled up on {plan.on}"
            lines += fuel_lines(place=place, parts=parts, item=fill.fuel, says=says)
    return lines


def _is_by_fills(facts: PostingFacts, day: dt.date) -> bool:
    return facts.choice(day.year).fuel_by == FuelBy.FILL_UPS
