"""What a work record costs, line by line, at the prices of its day and out of what is in stock."""

from dataclasses import replace

from ledger.costing.machine_cost import fuel_gal_per_h
from ledger.costing.money import price_e4_of, priced_cents, quantity_e4_from
from ledger.models import Account, FuelBy
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.fuel_lines import OF_FUEL, fuel_lines
from ledger.selectors.labor_lines import MINUTES_E4, labor_costs
from ledger.selectors.posting_facts import PostingFacts
from ledger.selectors.rates import MachineHour
from ledger.selectors.stock import UnitDiffers
from scheduling.models import InputUse, WorkRecord

__all__ = ["AVERAGE_FUEL", "OF_FUEL", "UnitDiffers", "work_lines"]

AVERAGE_FUEL = "diesel"
"""The item of the fuel that an average hour burns: the published hour is one of a diesel engine."""


def work_lines(*, record: WorkRecord, facts: PostingFacts) -> list[DraftLine]:
    """Return the lines of a work record; raise NoRateOnDate, StockShort or UnitDiffers where a price is missing.

    Labor goes against the wages owed, the owner's own time against an account that nobody is paid from; an hour of a
    machine or implement against its pool; fuel against the tank; inputs against the shed. Fuel is that of an average
    hour of the machine, and lubricants 15 % of its cost, unless the machine's own rate holds them, or the farm books
    its fuel by what was filled up in that year. Each cost names the work and what did it.
    """
    with facts.stock.kept():
        lines = _labor(record, facts)
        if record.machine is not None and record.machine_min > 0:
            lines += _machine(record, facts)
            if record.implement is not None:
                hour = facts.book.implement_hour(implement=record.implement, day=record.work_on)
                lines += _hours(record, hour, by_implement=True)
        for use in sorted(record.inputs.all(), key=lambda use: (use.input_code, use.lot)):
            lines += _input(record, use, facts)
    return lines


def _place(record: WorkRecord) -> DraftLine:
    """Return the season that was worked, with the work and what did it; no money yet."""
    return DraftLine(
        Account.SEASON,
        0,
        season=record.field_pass.season,
        machine=record.machine,
        implement=record.implement,
        operation=record.field_pass.operation,
    )


def _labor(record: WorkRecord, facts: PostingFacts) -> list[DraftLine]:
    costs = labor_costs(
        hand=record.hand,
        day=record.work_on,
        hand_min=record.hand_min,
        overtime_min=record.overtime_min,
        says=record.hand.name,
        book=facts.book,
    )
    lines = []
    for one in costs:
        cost = one.line(_place(record))
        lines += both_sides(cost, against=other_side(cost, one.owed))
    return lines


def _machine(record: WorkRecord, facts: PostingFacts) -> list[DraftLine]:
    machine = record.machine
    assert machine is not None
    hour = facts.book.machine_hour(machine=machine, day=record.work_on)
    lines = _hours(record, hour, by_implement=False)
    if hour.holds_fuel or facts.choice(record.work_on.year).fuel_by == FuelBy.FILL_UPS:
        return lines
    parts = facts.stock.take(
        item=AVERAGE_FUEL,
        quantity_e4=price_e4_of(fuel_gal_per_h(power_hp=machine.power_hp) * record.machine_min / 60),
        unit="gal",
        on=record.work_on,
        account=Account.FUEL_STOCK,
    )
    says = f"{machine.name}, average of {machine.power_hp:f} hp over {record.machine_min} min"
    return lines + fuel_lines(place=_place(record), parts=parts, item=AVERAGE_FUEL, says=says)


def _hours(record: WorkRecord, hour: MachineHour, *, by_implement: bool) -> list[DraftLine]:
    lines = []
    quantity_e4 = record.machine_min * MINUTES_E4
    for part in hour.parts:
        cost = replace(
            _place(record),
            cents=priced_cents(quantity_e4=quantity_e4, unit="min", price_e4=part.price_e4),
            category=part.category,
            quantity_e4=quantity_e4,
            unit="min",
            price_e4=part.price_e4,
            rate=part.rate,
            cost_facts=part.cost_facts,
            says=part.says,
        )
        pool = other_side(
            cost,
            Account.MACHINE_POOL,
            machine=None if by_implement else record.machine,
            implement=record.implement if by_implement else None,
        )
        lines += both_sides(cost, against=pool)
    return lines


def _input(record: WorkRecord, use: InputUse, facts: PostingFacts) -> list[DraftLine]:
    lines = []
    for part in facts.stock.take(
        item=use.input_code,
        quantity_e4=quantity_e4_from(use.quantity),
        unit=use.unit,
        lot=use.lot,
        on=record.work_on,
    ):
        cost = replace(
            _place(record),
            cents=part.cents,
            category=part.category,
            quantity_e4=part.quantity_e4,
            unit=use.unit,
            price_e4=part.price_e4,
            rate=part.rate,
            item=use.input_code,
            lot=part.layer.lot if part.layer is not None else use.lot,
            layer=part.layer,
            says=part.says,
        )
        lines += both_sides(cost, against=other_side(cost, Account.INPUT_STOCK))
    return lines
