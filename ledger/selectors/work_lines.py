"""What a work record costs, line by line, at the prices of its day."""

from ledger.costing.labor import labor_charge
from ledger.costing.machine_cost import LUBRICANT_SHARE, fuel_gal_per_h
from ledger.costing.money import price_e4_of, priced_cents, quantity_e4_from
from ledger.models import Account, Category, MachineCostFacts, Rate
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.rates import MachineHour, RateBook
from ledger.selectors.stock import UnitDiffers
from scheduling.models import InputUse, WorkRecord

MINUTES_E4 = 10_000
OF_FUEL = "$ of fuel"


def work_lines(*, record: WorkRecord, book: RateBook) -> list[DraftLine]:
    """Return the lines of a work record; raise NoRateOnDate or UnitDiffers where a price is missing.

    Labor goes against the wages owed, the owner's own time against an account that nobody is paid from; an hour of a
    machine or implement against its pool; fuel against the tank; inputs against the shed. Fuel is that of an average
    hour of the machine, and lubricants 15 % of its cost, unless the machine's own rate holds them.
    """
    lines = _labor(record, book)
    if record.machine is not None and record.machine_min > 0:
        lines += _machine(record, book)
        if record.implement is not None:
            hour = book.implement_hour(implement=record.implement, day=record.work_on)
            lines += _hours(record, hour, by_implement=True)
    for use in record.inputs.all():
        lines += _input(record, use, book)
    return lines


def _labor(record: WorkRecord, book: RateBook) -> list[DraftLine]:
    if record.hand_min == 0:
        return []
    hand = record.hand
    wage = book.wage(hand=hand, day=record.work_on)
    extra = None if hand.is_owner else book.overtime_extra(hand=hand, day=record.work_on)
    charge = labor_charge(
        hand_min=record.hand_min,
        overtime_min=record.overtime_min,
        wage_e4_per_h=wage.price_e4,
        overtime_extra_e4_per_h=extra.price_e4 if extra else 0,
    )
    category, owed = (
        (Category.OWNER_TIME, Account.OWNER_TIME) if hand.is_owner else (Category.LABOR, Account.WAGES_OWED)
    )
    lines = []
    for kind, cents, minutes, rate in (
        (category, charge.wage_cents, record.hand_min, wage),
        (Category.OVERTIME, charge.overtime_extra_cents, record.overtime_min, extra),
    ):
        if rate is not None:
            cost = DraftLine(
                Account.SEASON,
                cents,
                kind,
                season=record.field_pass.season,
                quantity_e4=minutes * MINUTES_E4,
                unit="min",
                price_e4=rate.price_e4,
                rate=rate,
                says=hand.name,
            )
            lines += both_sides(cost, against=other_side(cost, owed))
    return lines


def _machine(record: WorkRecord, book: RateBook) -> list[DraftLine]:
    machine = record.machine
    assert machine is not None
    hour = book.machine_hour(machine=machine, day=record.work_on)
    lines = _hours(record, hour, by_implement=False)
    if hour.holds_fuel:
        return lines
    price = book.fuel(day=record.work_on)
    fuel_e4 = price_e4_of(fuel_gal_per_h(power_hp=machine.power_hp) * record.machine_min / 60)
    fuel = _cost(
        record,
        Category.FUEL,
        fuel_e4,
        "gal",
        price.price_e4,
        rate=price,
        says=f"{machine.name}, average of {machine.power_hp:f} hp over {record.machine_min} min",
    )
    lines += both_sides(fuel, against=other_side(fuel, Account.FUEL_STOCK))
    share_e4 = price_e4_of(LUBRICANT_SHARE)
    lubricants = _cost(
        record,
        Category.LUBRICANTS,
        fuel.cents * 100,
        OF_FUEL,
        share_e4,
        rate=price,
        says=f"{machine.name}, 15 % of its fuel",
    )
    return lines + both_sides(
        lubricants, against=other_side(lubricants, Account.MACHINE_POOL, machine=machine)
    )


def _hours(record: WorkRecord, hour: MachineHour, *, by_implement: bool) -> list[DraftLine]:
    lines = []
    for part in hour.parts:
        cost = _cost(
            record,
            part.category,
            record.machine_min * MINUTES_E4,
            "min",
            part.price_e4,
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


def _input(record: WorkRecord, use: InputUse, book: RateBook) -> list[DraftLine]:
    price: Rate = book.input(code=use.input_code, day=record.work_on)
    if price.unit != use.unit:
        raise UnitDiffers(
            f"{use.quantity:f} {use.unit} of {use.input_code} were reported on {record.work_on}, "
            f"but its price is for one {price.unit}."
        )
    cost = _cost(
        record,
        price.category or Category.INPUTS,
        quantity_e4_from(use.quantity),
        use.unit,
        price.price_e4,
        rate=price,
        says=use.input_code,
    )
    return both_sides(cost, against=other_side(cost, Account.INPUT_STOCK))


def _cost(
    record: WorkRecord,
    category: Category | str,
    quantity_e4: int,
    unit: str,
    price_e4: int,
    *,
    says: str,
    rate: Rate | None = None,
    cost_facts: MachineCostFacts | None = None,
) -> DraftLine:
    """Return the cost line of a priced quantity on the season that was worked."""
    return DraftLine(
        Account.SEASON,
        priced_cents(quantity_e4=quantity_e4, unit=unit, price_e4=price_e4),
        category,
        season=record.field_pass.season,
        quantity_e4=quantity_e4,
        unit=unit,
        price_e4=price_e4,
        rate=rate,
        cost_facts=cost_facts,
        says=says,
    )
