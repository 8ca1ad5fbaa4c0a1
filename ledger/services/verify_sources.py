"""Whether what an entry says still agrees with what it came from: the source, and the rates behind its prices."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from ledger.costing.money import usd_text
from ledger.models import Account, Bill, BillPayment, Category, Line, RateKind
from ledger.selectors.bill_lines import owed_by_category
from ledger.selectors.work_lines import MINUTES_E4, OF_FUEL
from scheduling.models import CareDone, WorkRecord

LABOR = (Category.LABOR, Category.OWNER_TIME)
MINUTES = "min"


def source_faults(source: WorkRecord | Bill | BillPayment | CareDone, lines: Sequence[Line]) -> Iterator[str]:
    """Name what a source says otherwise today than when it was booked; sources are never changed."""
    if isinstance(source, WorkRecord):
        yield from _work_faults(source, lines)
        return
    if isinstance(source, CareDone):
        yield from _care_faults(source, lines)
        return
    bill = source if isinstance(source, Bill) else source.bill
    owed_cents = -bill.cents if isinstance(source, Bill) else bill.cents
    booked: dict[str, int] = {}
    unanswered: dict[str, int] = {}
    for line in lines:
        unanswered[line.category] = unanswered.get(line.category, 0) + line.cents
        if line.account == Account.BILLS_OWED:
            booked[line.category] = booked.get(line.category, 0) + line.cents
    booked_cents = sum(booked.values())
    if booked_cents != owed_cents:
        yield f"its bill is over {usd_text(bill.cents)} dollars and {usd_text(abs(booked_cents))} were booked"
    owed = owed_by_category(bill)
    if set(booked) != set(owed) or any(unanswered.values()):
        yield f"its bill is of the category {', '.join(owed)}, and it was booked as another"
    elif booked_cents == owed_cents and any(abs(booked[one]) != abs(cents) for one, cents in owed.items()):
        yield "the items of its bill come to other sums by category than were booked"


def price_faults(line: Line) -> Iterator[str]:
    """Name a price that is not the one of the row it is said to come from."""
    if line.price_e4 is None:
        return
    if line.rate is None and line.cost_facts is None:
        yield f"line {line.line_no} does not say where its price comes from"
    elif line.rate is not None and line.unit != OF_FUEL and line.rate.price_e4 != line.price_e4:
        yield (
            f"line {line.line_no} has the price {_usd(line.price_e4)}, "
            f"and the rate it came from says {_usd(line.rate.price_e4)}"
        )


def _work_faults(record: WorkRecord, lines: Sequence[Line]) -> Iterator[str]:
    used = {use.input_code: int(use.quantity.scaleb(4)) for use in record.inputs.all()}
    for line in lines:
        if line.account != Account.SEASON or line.quantity_e4 is None:
            continue
        if line.season_id != record.field_pass.season_id:
            yield f"line {line.line_no} is on another season than its work"
        if line.unit == MINUTES:
            minutes = _minutes(record, line)
            if line.quantity_e4 != minutes * MINUTES_E4:
                yield (
                    f"line {line.line_no} was booked for {line.quantity_e4 // MINUTES_E4} min, "
                    f"and its work record says {minutes}"
                )
        rate = line.rate
        if rate is None:
            continue
        if rate.hand_id not in (None, record.hand_id):
            yield f"line {line.line_no} was priced for another hand than that of its work record"
        if rate.kind == RateKind.INPUT and used.get(rate.input_code) != line.quantity_e4:
            yield f"line {line.line_no} was booked for another amount of {rate.input_code} than its work record says"


def _care_faults(care: CareDone, lines: Sequence[Line]) -> Iterator[str]:
    labor = [line for line in lines if line.account in (Account.WAGES_OWED, Account.OWNER_TIME)]
    minutes = -sum(line.quantity_e4 or 0 for line in labor) // MINUTES_E4
    if labor and (care.is_taken_back or minutes != care.hand_min):
        yield f"its service was booked for {minutes} min, and it says {0 if care.is_taken_back else care.hand_min}"
    parts_cents = sum(line.cents for line in lines if line.category == Category.REPAIRS and line.cents > 0)
    said_cents = 0 if care.is_taken_back else care.parts_cents or 0
    if parts_cents not in (0, said_cents):
        yield f"its parts were booked at {usd_text(parts_cents)} dollars, and it says {usd_text(said_cents)}"
    for line in labor:
        if line.rate is not None and line.rate.hand_id not in (None, care.hand_id):
            yield f"line {line.line_no} was priced for another hand than that of its service"


def _minutes(record: WorkRecord, line: Line) -> int:
    if line.category in LABOR:
        return record.hand_min
    return record.overtime_min if line.category == Category.OVERTIME else record.machine_min


def _usd(price_e4: int) -> str:
    return f"{Decimal(price_e4).scaleb(-4):f}"
