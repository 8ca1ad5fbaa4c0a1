"""What can cause an entry: which kind of source a row is, and its own lasting id."""

from ledger.models import Bill, BillPayment, MachineYear, OpeningStock, PeriodMark, ShareOut, SourceKind
from scheduling.models import CareDone, FuelFill, HourReading, Incident, WorkRecord

Source = (
    WorkRecord
    | Bill
    | BillPayment
    | CareDone
    | Incident
    | FuelFill
    | HourReading
    | OpeningStock
    | ShareOut
    | MachineYear
    | PeriodMark
)
LONGEST_KEY = 40
KINDS: dict[type, SourceKind] = {
    WorkRecord: SourceKind.WORK_RECORD,
    Bill: SourceKind.BILL,
    BillPayment: SourceKind.PAYMENT,
    CareDone: SourceKind.CARE_DONE,
    Incident: SourceKind.INCIDENT,
    FuelFill: SourceKind.FUEL_FILL,
    HourReading: SourceKind.HOUR_READING,
    OpeningStock: SourceKind.OPENING,
    ShareOut: SourceKind.SHARE_OUT,
    MachineYear: SourceKind.MACHINE_YEAR,
    PeriodMark: SourceKind.PERIOD,
}


def kind_of(source: Source) -> SourceKind:
    """Return what kind of source a row is."""
    return KINDS[type(source)]


def key_of(source: Source) -> str:
    """Return a source's own lasting id: that of its bill for a payment, a name for what has no id of a sender."""
    if isinstance(source, BillPayment):
        return str(source.bill.client_id)
    if isinstance(source, MachineYear):
        thing = source.machine or source.implement
        year = f" {source.calendar_year}" + (f" {source.correction_no}" if source.correction_no else "")
        return (thing.code if thing is not None else "")[: LONGEST_KEY - len(year)] + year
    if isinstance(source, PeriodMark):
        return f"{source.month:%Y-%m} {'close' if source.is_close else 'reopen'} {source.turn}"
    return str(source.client_id)
