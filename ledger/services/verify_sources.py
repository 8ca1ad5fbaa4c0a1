"""Whether what an entry says still agrees with what it came from: the source, and the rates behind its prices."""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from farmops.core.clock import local_date
from ledger.costing.money import usd_text
from ledger.models import (
    Account,
    Bill,
    BillPayment,
    Category,
    Line,
    MachineYear,
    OpeningStock,
    PeriodMark,
    RateKind,
    ShareOut,
    SourceKind,
)
from ledger.selectors.bill_lines import bill_says, owed_by_category, payment_says
from ledger.selectors.labor_lines import MINUTES_E4
from ledger.selectors.periods import next_month
from ledger.selectors.work_lines import OF_FUEL
from ledger.services.source_types import SOURCE_TYPES
from scheduling.models import CareDone, FuelFill, HourReading, Incident, WorkRecord

LABOR = (Category.LABOR, Category.OWNER_TIME)
LUBRICANTS = Category.LUBRICANTS
FUEL_ENDS = (Account.SEASON, Account.MACHINE_POOL)
MINUTES = "min"


def source_faults(kind: SourceKind, source: Any, lines: Sequence[Line]) -> Iterator[str]:
    """Name what a source says otherwise today than when it was booked; sources are never changed."""
    if kind in FAULTS:
        yield from FAULTS[kind](source, lines)


def day_of(kind: SourceKind, source: Any) -> dt.date | None:
    """Return the business date of a source; None where its entry alone says it."""
    return DAYS[kind](source) if kind in DAYS else None


def _bill_faults(bill: Bill, lines: Sequence[Line]) -> Iterator[str]:
    yield from _owed_faults(bill, lines, sign=-1)
    yield from _words_faults(bill_says(bill), lines)


def _payment_faults(payment: BillPayment, lines: Sequence[Line]) -> Iterator[str]:
    yield from _owed_faults(payment.bill, lines, sign=1)
    yield from _words_faults(payment_says(payment), lines)


def _words_faults(says: str, lines: Sequence[Line]) -> Iterator[str]:
    """Name a payee, an invoice or a check that is another than when it was booked: forms for taxes go by them."""
    booked = {line.says for line in lines if line.account == Account.BILLS_OWED}
    if booked - {says}:
        yield f"it was booked as “{min(booked - {says})}” and its source says “{says}” now"


def _owed_faults(bill: Bill, lines: Sequence[Line], *, sign: int) -> Iterator[str]:
    wanted = {category: sign * cents for category, cents in owed_by_category(bill).items()}
    booked: dict[str, int] = defaultdict(int)
    whole: dict[str, int] = defaultdict(int)
    for line in lines:
        whole[line.category] += line.cents
        if line.account == Account.BILLS_OWED:
            booked[line.category] += line.cents
    total = sum(booked.values())
    if total != sign * bill.cents:
        yield f"its bill is over {usd_text(bill.cents)} dollars and {usd_text(abs(total))} were booked"
    elif booked != wanted:
        yield f"its bill is of the category {', '.join(sorted(wanted))}, and it was booked as another"
    if any(whole.values()):
        yield "it takes from one category what it gives to another"


def _opening_faults(opening: OpeningStock, lines: Sequence[Line]) -> Iterator[str]:
    for line in lines:
        if line.account == Account.OPENING:
            continue
        if (line.item, line.lot, line.quantity_e4, line.cents) != (
            opening.item,
            opening.lot,
            opening.quantity_e4,
            opening.cents,
        ):
            yield f"line {line.line_no} is not what was counted of {opening.item}"
    if opening.cents and not lines:
        yield f"nothing of {opening.item} was booked"


def _share_faults(share: ShareOut, lines: Sequence[Line]) -> Iterator[str]:
    """Name a part that was booked otherwise; a landlord's part leaves the season."""
    sign = -1 if share.landlord_id is not None else 1
    parts = {(part.season_id, part.category): sign * part.cents for part in share.parts.all() if part.cents}
    booked = {(line.season_id, line.category): line.cents for line in lines if line.account == Account.SEASON}
    if parts != booked:
        yield "its parts are not what was booked on the seasons"
    if sum(part.cents for part in share.parts.all()) != share.total_cents:
        yield f"its parts do not sum to the {usd_text(share.total_cents)} dollars that were shared out"


def _year_faults(year: MachineYear, lines: Sequence[Line]) -> Iterator[str]:
    booked = sum(line.cents for line in lines if line.account == Account.MACHINE_POOL)
    if booked != year.recovery_cents:
        yield f"its year came to {usd_text(year.recovery_cents)} dollars and {usd_text(booked)} were booked"


def _mark_faults(mark: PeriodMark, lines: Sequence[Line]) -> Iterator[str]:
    if lines:
        yield "it closes or opens a month, and it moves money"


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
    inputs: dict[str, list[Line]] = defaultdict(list)
    for line in lines:
        if line.account != Account.SEASON:
            continue
        if line.season_id != record.field_pass.season_id:
            yield f"line {line.line_no} is on another season than its work"
        if line.machine_id not in (None, record.machine_id) or line.implement_id not in (
            None,
            record.implement_id,
        ):
            yield f"line {line.line_no} names another machine than its work"
        if line.quantity_e4 is None:
            continue
        if line.unit == MINUTES:
            minutes = _minutes(record, line)
            if line.quantity_e4 != minutes * MINUTES_E4:
                yield (
                    f"line {line.line_no} was booked for {line.quantity_e4 // MINUTES_E4} min, "
                    f"and its work record says {minutes}"
                )
        rate = line.rate
        code = line.item if rate is None or rate.kind != RateKind.INPUT else rate.input_code
        if code and line.category not in (Category.FUEL, Category.LUBRICANTS):
            inputs[code].append(line)
        if rate is not None and rate.hand_id not in (None, record.hand_id):
            yield f"line {line.line_no} was priced for another hand than that of its work record"
    yield from _input_faults(record, inputs)


def _input_faults(record: WorkRecord, inputs: dict[str, list[Line]]) -> Iterator[str]:
    """Name inputs of which another amount was booked than was used.

    Of a part that came out of stock for less than half a cent there is no line, so that less may be booked from there.
    """
    used_e4: dict[str, int] = defaultdict(int)
    for use in record.inputs.all():
        used_e4[use.input_code] += int(use.quantity.scaleb(4))
    for code, lines in inputs.items():
        booked_e4 = sum(line.quantity_e4 or 0 for line in lines)
        is_all_priced = all(line.price_e4 is not None for line in lines)
        if booked_e4 > used_e4[code] or (is_all_priced and booked_e4 < used_e4[code]):
            yield f"another amount of {code} was booked than its work record says"


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


def _fill_faults(fill: FuelFill, lines: Sequence[Line]) -> Iterator[str]:
    """Name fuel that was booked beyond what was filled up, or of another machine; part of it may be of another year."""
    burned = [
        line for line in lines if line.cents and line.account in FUEL_ENDS and line.category != LUBRICANTS
    ]
    if sum(line.quantity_e4 or 0 for line in burned) > fill.gallons.scaleb(4):
        yield f"more fuel was booked than the {fill.gallons} gal that were filled up"
    for line in burned:
        if line.machine_id != fill.machine_id:
            yield f"line {line.line_no} names another machine than the one that was filled up"
        if line.item != fill.fuel:
            yield f"line {line.line_no} is of {line.item}, and {fill.fuel} was filled up"
        said = f" of {fill.gallons:f} gal filled up on {local_date(fill.filled_at, fill.farm.zone)}"
        if said not in line.says:
            yield f"line {line.line_no} was booked as “{line.says}”, and its fill-up is{said}"


def _incident_faults(incident: Incident, lines: Sequence[Line]) -> Iterator[str]:
    """Name time that did not leave labor as it came to where it was lost; how much it was may be said anew later."""
    for is_time in (True, False):
        moved = [line for line in lines if (line.unit == MINUTES) == is_time]
        if sum(line.quantity_e4 or 0 for line in moved) or sum(line.cents for line in moved):
            yield "the time that it cost is not what left labor"
    if any(line.category == Category.LOST_TIME and line.cents < 0 for line in lines):
        yield "it gives back time instead of costing some"
    for line in lines:
        yield from _lost_faults(incident, line)


def _lost_faults(incident: Incident, line: Line) -> Iterator[str]:
    """Name a line of lost time that is of another hand, field, machine or kind of incident."""
    if line.rate is not None and line.rate.hand_id not in (None, incident.hand_id):
        yield f"line {line.line_no} was priced for another hand than that of its incident"
    of_season = incident.season.field_id if incident.season is not None else None
    if line.season is not None and line.season.field_id != (incident.field_id or of_season):
        yield f"line {line.line_no} is on another field than its incident"
    if line.account == Account.MACHINE_POOL and line.machine_id != incident.machine_id:
        yield f"line {line.line_no} names another machine than its incident"
    if not line.says.endswith(f" min lost: {incident.get_kind_display()}"):
        yield f"line {line.line_no} was booked as “{line.says}”, and its incident is a {incident.get_kind_display()}"


def _reading_faults(reading: HourReading, lines: Sequence[Line]) -> Iterator[str]:
    """Name hours that are of another machine or of another state of its meter; how many nobody claims may change."""
    for line in lines:
        if line.account == Account.MACHINE_POOL and line.machine_id != reading.machine_id:
            yield f"line {line.line_no} names another machine than the one that was read"
        if not line.says.endswith(f" at {reading.reading_h} h"):
            yield f"line {line.line_no} was booked as “{line.says}”, and its reading is {reading.reading_h} h"
    if sum(line.quantity_e4 or 0 for line in lines):
        yield "the hours that the farm as a whole bears are not those that its machine ran"


def _minutes(record: WorkRecord, line: Line) -> int:
    if line.category in LABOR:
        return record.hand_min
    return record.overtime_min if line.category == Category.OVERTIME else record.machine_min


FAULTS: dict[SourceKind, Callable[[Any, Sequence[Line]], Iterator[str]]] = {
    SourceKind.WORK_RECORD: _work_faults,
    SourceKind.CARE_DONE: _care_faults,
    SourceKind.FUEL_FILL: _fill_faults,
    SourceKind.INCIDENT: _incident_faults,
    SourceKind.HOUR_READING: _reading_faults,
    SourceKind.BILL: _bill_faults,
    SourceKind.PAYMENT: _payment_faults,
    SourceKind.OPENING: _opening_faults,
    SourceKind.SHARE_OUT: _share_faults,
    SourceKind.MACHINE_YEAR: _year_faults,
    SourceKind.PERIOD: _mark_faults,
}
"""What is asked of the lines of each kind of source beyond what is asked of all."""

DAYS: dict[SourceKind, Callable[[Any], dt.date]] = {
    **{one.kind: one.happened_on for one in SOURCE_TYPES},
    SourceKind.FUEL_FILL: lambda fill: local_date(fill.filled_at, fill.farm.zone),
    SourceKind.INCIDENT: lambda incident: local_date(incident.happened_at, incident.farm.zone),
    SourceKind.HOUR_READING: lambda reading: local_date(reading.read_at, reading.farm.zone),
    SourceKind.SHARE_OUT: lambda share: share.last_on,
    SourceKind.MACHINE_YEAR: lambda year: dt.date(year.calendar_year, 12, 31),
    SourceKind.PERIOD: lambda mark: next_month(mark.month) - dt.timedelta(days=1),
}


def _usd(price_e4: int) -> str:
    return f"{Decimal(price_e4).scaleb(-4):f}"
