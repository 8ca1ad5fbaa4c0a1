"""A farm's books while they are held: entries are numbered and chained one after another, and written together."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.chain import FORM_NO, entry_digest
from ledger.models import SOURCES, Account, Entry, Line, SourceKind
from ledger.selectors.chain import ChainHead, chain_entry, chain_head
from ledger.selectors.drafts import DraftLine
from ledger.selectors.periods import closed_through, open_day
from ledger.selectors.sources import Source, key_of, kind_of

STOCKS = (Account.FUEL_STOCK, Account.INPUT_STOCK)


class ReversalRefused(DomainError):
    """An entry that cannot be reversed: it is a reversal, or it was reversed before."""

    code = "reversal_refused"
    kind = Kind.CONFLICT


class HeldBooks:
    """The books of a farm in a transaction that holds them; head and last closed month are read once.

    What is added is kept back until `flush`, which writes all entries at once and all their lines at once. A caller that
    goes back to a savepoint also goes back to the `head` that it had there, with nothing kept back.
    """

    def __init__(self, *, farm: Farm) -> None:
        self.farm = farm
        self.head: ChainHead = chain_head(farm=farm)
        self._closed = closed_through(farm=farm)
        self._entries: list[Entry] = []
        self._lines: list[Line] = []

    def add(
        self,
        *,
        source: Source,
        lines: Sequence[DraftLine],
        happened_on: dt.date,
        now: dt.datetime,
        purpose: str = "cost",
        why: str = "",
        made_by: Any = None,
    ) -> Entry:
        """Add the entry of a source: on its own day, or on the first day of the open month where its own is closed."""
        kind = kind_of(source)
        entry = Entry(
            farm=self.farm,
            source_kind=kind,
            source_id=source.pk,
            source_key=key_of(source),
            purpose=purpose,
            happened_on=happened_on,
            booked_on=happened_on if kind == SourceKind.PERIOD else self._booked_on(happened_on),
            posted_at=now,
            why=why,
            made_by=made_by,
            **{SOURCES[kind]: source},
        )
        return self._add(entry, [_line(self.farm, no, draft) for no, draft in enumerate(lines, start=1)])

    def add_reversal(self, *, entry: Entry, why: str, now: dt.datetime, made_by: Any = None) -> Entry:
        """Add the entry that undoes another to the cent, on the same business date, booked into an open month."""
        if entry.source_kind == SourceKind.PERIOD:
            raise ReversalRefused(
                _("Entry {number} closes or opens a month; open or close the month instead.").format(
                    number=entry.number
                )
            )
        if entry.reverses_id is not None:
            raise ReversalRefused(
                _("Entry {number} is itself a reversal; book what is right instead.").format(
                    number=entry.number
                )
            )
        if Entry.objects.filter(reverses=entry).exists():
            raise ReversalRefused(_("Entry {number} was reversed before.").format(number=entry.number))
        reversal = Entry(
            farm=self.farm,
            source_kind=SourceKind.REVERSAL,
            source_id=entry.pk,
            source_key=str(entry.number),
            purpose="reverse",
            reverses=entry,
            happened_on=entry.happened_on,
            booked_on=self._booked_on(entry.happened_on),
            posted_at=now,
            why=why,
            made_by=made_by,
        )
        lines = entry.lines.select_related("machine", "implement", "pump").order_by("line_no")
        return self._add(reversal, [_turned(line) for line in lines])

    def flush(self) -> None:
        """Write what was kept back."""
        entries, lines = self._entries, self._lines
        self._entries, self._lines = [], []
        Entry.objects.bulk_create(entries)
        for line in lines:
            line.entry_id = line.entry.pk
        Line.objects.bulk_create(lines)

    def forget(self, *, head: ChainHead) -> None:
        """Drop what was kept back and go back to a head, as the database does at a savepoint."""
        self._entries, self._lines, self.head = [], [], head

    def _booked_on(self, day: dt.date) -> dt.date:
        return open_day(day=day, closed=self._closed)

    def _add(self, entry: Entry, lines: list[Line]) -> Entry:
        entry.number = self.head.number + 1
        entry.hash_before = self.head.digest
        entry.line_count = len(lines)
        entry.form_no = FORM_NO
        entry.hash = entry_digest(before=self.head.digest, entry=chain_entry(entry, lines))
        self.head = ChainHead(entry.number, entry.hash)
        for line in lines:
            line.entry = entry
        self._entries.append(entry)
        self._lines += lines
        return entry


def is_layer(line: Line | DraftLine) -> bool:
    """Return whether a line brings something into stock that can be drawn by itself later."""
    return line.layer is None and line.item != "" and line.account in STOCKS and (line.quantity_e4 or 0) > 0


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
        layer_id=line.pk if is_layer(line) else line.layer_id,
        says=line.says,
    )
