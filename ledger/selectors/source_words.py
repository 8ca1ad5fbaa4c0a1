"""What caused an entry, in a line of words: the work, the bill, the service, the share-out."""

from collections.abc import Callable, Collection
from typing import Any
from zoneinfo import ZoneInfo

from ledger.models import SOURCES, Entry, SourceKind

RELATED = (
    "farm",
    "work_record__hand",
    "work_record__field_pass",
    "bill__payee",
    "payment__bill__payee",
    "care_done__rule__pivot",
    "care_done__rule__machine",
    "care_done__rule__implement",
    "care_done__hand",
    "incident__field",
    "fuel_fill__machine",
    "hour_reading__machine",
    "opening",
    "share_out__machine",
    "share_out__implement",
    "share_out__pump",
    "share_out__landlord",
    "machine_year__machine",
    "machine_year__implement",
    "period_mark",
    "reverses",
    "reversed_by",
)
"""What `source_says` reads, to be fetched with the entries."""


def sources_say(*, entry_ids: Collection[int]) -> dict[int, str]:
    """Return what caused each of many entries; of each kind of source only its own rows are fetched."""
    found: dict[int, str] = {}
    entries = Entry.objects.filter(pk__in=entry_ids).order_by()
    for kind in entries.values_list("source_kind", flat=True).distinct():
        key = SOURCES.get(SourceKind(kind), "reverses")
        wanted = ("farm", *(one for one in RELATED if one.split("__")[0] == key))
        for entry in entries.filter(source_kind=kind).select_related(*wanted):
            found[entry.pk] = source_says(entry)
    return found


def source_says(entry: Entry) -> str:
    """Return what caused an entry. One from a file of another database only knows its kind and key."""
    if entry.reverses_id is not None and entry.reverses is not None:
        return f"entry {entry.reverses.number} reversed: {entry.why}"
    kind = SourceKind(entry.source_kind)
    source = getattr(entry, SOURCES[kind]) if kind in SOURCES else None
    return SAYS[kind](entry, source) if source is not None else f"{kind.label} {entry.source_key}".strip()


def _work(entry: Entry, record: Any) -> str:
    return f"{record.hand.name}: {record.field_pass.get_operation_display()} on {record.work_on}"


def _care(entry: Entry, done: Any) -> str:
    who = f"{done.hand.name}: " if done.hand is not None else ""
    return f"{who}{done.rule}"


def _incident(entry: Entry, incident: Any) -> str:
    where = f" in {incident.field}" if incident.field is not None else ""
    return f"{incident.get_kind_display()}{where} on {incident.happened_at.astimezone(_zone(entry)).date()}"


def _fill(entry: Entry, fill: Any) -> str:
    return f"{fill.gallons} gal into {fill.machine.name} on {fill.filled_at.astimezone(_zone(entry)).date()}"


def _reading(entry: Entry, reading: Any) -> str:
    return f"{reading.machine.name} at {reading.reading_h} h"


def _zone(entry: Entry) -> ZoneInfo:
    return ZoneInfo(entry.farm.zone)


SAYS: dict[SourceKind, Callable[[Entry, Any], str]] = {
    SourceKind.WORK_RECORD: _work,
    SourceKind.BILL: lambda entry, bill: f"bill of {bill}",
    SourceKind.PAYMENT: lambda entry, payment: f"payment of {payment.bill}",
    SourceKind.CARE_DONE: _care,
    SourceKind.INCIDENT: _incident,
    SourceKind.FUEL_FILL: _fill,
    SourceKind.HOUR_READING: _reading,
    SourceKind.OPENING: lambda entry, opening: f"opening stock of {opening}",
    SourceKind.SHARE_OUT: lambda entry, share_out: f"{share_out}: {share_out.why}",
    SourceKind.MACHINE_YEAR: lambda entry, year: f"owning {year}",
    SourceKind.PERIOD: lambda entry, mark: str(mark),
}
