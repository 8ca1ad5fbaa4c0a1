"""Writing one entry: numbered, chained, complete. Everything that books goes through here."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.db import transaction

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.chain import FORM_NO, entry_digest
from ledger.models import SOURCES, Account, Entry, Line, SourceKind
from ledger.selectors.chain import chain_entry, chain_head
from ledger.selectors.drafts import DraftLine
from ledger.selectors.periods import booking_day
from ledger.selectors.sources import Source, key_of, kind_of

STOCKS = (Account.FUEL_STOCK, Account.INPUT_STOCK)


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
    source: Source,
    lines: Sequence[DraftLine],
    happened_on: dt.date,
    now: dt.datetime,
    purpose: str = "cost",
    why: str = "",
    made_by: Any = None,
) -> Entry:
    """Write the entry of a source; the caller has a transaction open and holds the books.

    It is booked on its own day, or on the first day of the month that is open where its own is closed.
    """
    kind = kind_of(source)
    entry = Entry(
        farm=farm,
        source_kind=kind,
        source_id=source.pk,
        source_key=key_of(source),
        purpose=purpose,
        happened_on=happened_on,
        booked_on=happened_on if kind == SourceKind.PERIOD else booking_day(farm=farm, day=happened_on),
        posted_at=now,
        why=why,
        made_by=made_by,
        **{SOURCES[kind]: source},
    )
    return _write(entry, [_line(farm, number, draft) for number, draft in enumerate(lines, start=1)])


def write_reversal(*, entry: Entry, why: str, now: dt.datetime, made_by: Any = None) -> Entry:
    """Write the entry that undoes another to the cent, on the same business date; the caller holds the books.

    It is booked into an open month, whatever month the other stands in.
    """
    if entry.source_kind == SourceKind.PERIOD:
        raise ReversalRefused(
            f"Entry {entry.number} closes or opens a month; open or close the month instead."
        )
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
        booked_on=booking_day(farm=entry.farm, day=entry.happened_on),
        posted_at=now,
        why=why,
        made_by=made_by,
    )
    lines = entry.lines.select_related("machine", "implement", "pump").order_by("line_no")
    return _write(reversal, [_turned(line) for line in lines])


def reverse_entry(*, entry: Entry, why: str, now: dt.datetime, made_by: Any = None) -> Entry:
    """Undo an entry with a reason; both stay visible. Raise ReversalRefused for a second time or a reversal."""
    if not why.strip():
        raise ReversalRefused("A reversal needs a reason in words.", fields={"why": "Say why."})
    with transaction.atomic():
        hold_books(farm=entry.farm)
        return write_reversal(entry=entry, why=why.strip(), now=now, made_by=made_by)


def _write(entry: Entry, lines: list[Line]) -> Entry:
    head = chain_head(farm=entry.farm)
    entry.number = head.number + 1
    entry.hash_before = head.digest
    entry.line_count = len(lines)
    entry.form_no = FORM_NO
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
        pump=draft.pump,
        operation=draft.operation,
        outfit=draft.outfit,
        category=draft.category,
        cents=draft.cents,
        quantity_e4=draft.quantity_e4,
        unit=draft.unit,
        price_e4=draft.price_e4,
        rate=draft.rate,
        cost_facts=draft.cost_facts,
        item=draft.item,
        lot=draft.lot,
        layer=draft.layer,
        says=draft.says[:200],
    )


def _turned(line: Line) -> Line:
    return Line(
        farm_id=line.farm_id,
        line_no=line.line_no,
        account=line.account,
        subject=line.subject,
        season_id=line.season_id,
        machine=line.machine,
        implement=line.implement,
        pump=line.pump,
        operation=line.operation,
        outfit=line.outfit,
        category=line.category,
        cents=-line.cents,
        quantity_e4=None if line.quantity_e4 is None else -line.quantity_e4,
        unit=line.unit,
        price_e4=line.price_e4,
        rate_id=line.rate_id,
        cost_facts_id=line.cost_facts_id,
        item=line.item,
        lot=line.lot,
        layer_id=_layer_undone(line),
        says=line.says,
    )


def _layer_undone(line: Line) -> int | None:
    """Return the layer that a turned line changes: that of the line, or the line itself where it was a layer."""
    is_layer = (
        line.layer_id is None and line.item != "" and line.account in STOCKS and (line.quantity_e4 or 0) > 0
    )
    return line.pk if is_layer else line.layer_id
