"""Writing one entry: numbered, chained, complete. Everything that books goes through here."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.chain import entry_digest
from ledger.models import Bill, BillPayment, Entry, Line, SourceKind
from ledger.selectors.chain import chain_entry, chain_head
from ledger.selectors.drafts import DraftLine
from scheduling.models import CareDone, WorkRecord


class ReversalRefused(DomainError):
    """An entry that cannot be reversed: it is a reversal, or it was reversed before."""

    code = "reversal_refused"
    kind = Kind.CONFLICT


def hold_books(*, farm: Farm) -> None:
    """Hold a farm's books until the end of the transaction, so that numbers follow each other.

    Where the engine has no row locks, its single writer does the same.
    """
    Farm.objects.select_for_update(no_key=True).get(pk=farm.pk)


def write_entry(
    *,
    farm: Farm,
    source: WorkRecord | Bill | BillPayment | CareDone,
    lines: Sequence[DraftLine],
    happened_on: dt.date,
    now: dt.datetime,
) -> Entry:
    """Write the entry of a source; the caller has a transaction open and holds the books."""
    entry = Entry(
        farm=farm,
        source_kind=kind_of(source),
        source_id=source.pk,
        source_key=key_of(source),
        work_record=source if isinstance(source, WorkRecord) else None,
        bill=source if isinstance(source, Bill) else None,
        payment=source if isinstance(source, BillPayment) else None,
        care_done=source if isinstance(source, CareDone) else None,
        happened_on=happened_on,
        posted_at=now,
    )
    return _write(entry, [_line(farm, number, draft) for number, draft in enumerate(lines, start=1)])


def write_reversal(*, entry: Entry, why: str, now: dt.datetime) -> Entry:
    """Write the entry that undoes another to the cent, on the same business date; the caller holds the books."""
    if entry.reverses_id is not None:
        raise ReversalRefused(f"Entry {entry.number} is itself a reversal; book what is right instead.")
    if Entry.objects.filter(reverses=entry).exists():
        raise ReversalRefused(f"Entry {entry.number} was reversed before.")
    reversal = Entry(
        farm=entry.farm,
        source_kind=SourceKind.REVERSAL,
        source_id=entry.pk,
        source_key=str(entry.number),
        purpose="reverse",
        reverses=entry,
        happened_on=entry.happened_on,
        posted_at=now,
        why=why,
    )
    return _write(reversal, [_turned(line) for line in entry.lines.order_by("line_no")])


def reverse_entry(*, entry: Entry, why: str, now: dt.datetime) -> Entry:
    """Undo an entry with a reason; both stay visible. Raise ReversalRefused for a second time or a reversal."""
    if not why.strip():
        raise ReversalRefused("A reversal needs a reason in words.", fields={"why": "Say why."})
    with transaction.atomic():
        hold_books(farm=entry.farm)
        return write_reversal(entry=entry, why=why.strip(), now=now)


def kind_of(source: WorkRecord | Bill | BillPayment | CareDone) -> SourceKind:
    """Return what kind of source a row is."""
    if isinstance(source, WorkRecord):
        return SourceKind.WORK_RECORD
    if isinstance(source, CareDone):
        return SourceKind.CARE_DONE
    return SourceKind.BILL if isinstance(source, Bill) else SourceKind.PAYMENT


def key_of(source: WorkRecord | Bill | BillPayment | CareDone) -> str:
    """Return a source's own lasting id: that of its bill for a payment."""
    return str(source.bill.client_id if isinstance(source, BillPayment) else source.client_id)


def _write(entry: Entry, lines: list[Line]) -> Entry:
    head = chain_head(farm=entry.farm)
    entry.number = head.number + 1
    entry.hash_before = head.digest
    entry.line_count = len(lines)
    entry.hash = entry_digest(before=head.digest, entry=chain_entry(entry, lines))
    entry.save()
    for line in lines:
        line.entry = entry
    Line.objects.bulk_create(lines)
    return entry


def _line(farm: Farm, number: int, draft: DraftLine) -> Line:
    return Line(
        farm=farm,
        line_no=number,
        account=draft.account,
        subject=draft.subject,
        season=draft.season,
        machine=draft.machine,
        implement=draft.implement,
        category=draft.category,
        cents=draft.cents,
        quantity_e4=draft.quantity_e4,
        unit=draft.unit,
        price_e4=draft.price_e4,
        rate=draft.rate,
        cost_facts=draft.cost_facts,
        says=draft.says[:200],
    )


def _turned(line: Line) -> Line:
    return Line(
        farm_id=line.farm_id,
        line_no=line.line_no,
        account=line.account,
        subject=line.subject,
        season_id=line.season_id,
        machine_id=line.machine_id,
        implement_id=line.implement_id,
        category=line.category,
        cents=-line.cents,
        quantity_e4=None if line.quantity_e4 is None else -line.quantity_e4,
        unit=line.unit,
        price_e4=line.price_e4,
        rate_id=line.rate_id,
        cost_facts_id=line.cost_facts_id,
        says=line.says,
    )
