"""Keeping a journal that was read from a file: the same entries, the same chain, all of it or nothing."""

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db import DataError, IntegrityError, transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.costing.chain import entry_digest
from ledger.costing.money import MOST_CENTS, usd_text
from ledger.models import Account, Entry, Line, PeriodMark, SourceKind
from ledger.selectors.chain import ChainHead, chain_entry
from ledger.selectors.code_rows import NOTHING, CodeBook
from ledger.services.held_books import is_layer
from ledger.services.journal import hold_books
from ledger.services.source_types import pending_keys

AT_ONCE = 200
MARK = re.compile(r"([0-9]{4}-(?:0[1-9]|1[0-2])) (close|reopen) ([1-9][0-9]{0,3})", re.ASCII)


class JournalRefused(DomainError):
    """A journal that cannot be read into these books; the sentence names the file and the line."""

    code = "journal_refused"


@dataclass(frozen=True)
class ReadLine:
    """A line as it was read, and where it stands in the file."""

    place: str
    line_no: int
    account: Account
    subject: str
    outfit: str
    operation: str
    category: str
    item: str
    lot: str
    drawn_from: tuple[int, int] | None
    quantity_e4: int | None
    unit: str
    price_e4: int | None
    cents: int
    says: str


@dataclass(frozen=True)
class ReadEntry:
    """An entry as it was read, and where it begins in the file."""

    place: str
    number: int
    form_no: int
    source_kind: SourceKind
    source_key: str
    purpose: str
    happened_on: dt.date
    booked_on: dt.date
    posted_at: dt.datetime
    why: str
    reverses: int | None
    lines: tuple[ReadLine, ...]
    hash_before: str
    digest: str


@dataclass
class JournalImport:
    """What was kept, the head that it gives, and how many lines name what the farm does not have."""

    entries: int = 0
    lines: int = 0
    head: ChainHead = field(default_factory=lambda: ChainHead(0, ""))
    not_linked: dict[str, int] = field(default_factory=dict)


def keep_journal(*, farm: Farm, entries: Iterable[ReadEntry], head: str = "") -> JournalImport:
    """Keep entries in a farm without any, in one transaction, and return what they came to.

    Each digest is worked out anew and compared. Lines point to the farm's own seasons, machines, implements and pumps
    where it has such codes, and keep their names alone where not. A close or reopening of a month closes or opens it here
    when it is reached. `head` is the digest that the last entry must have. Raises JournalRefused.
    """
    with transaction.atomic():
        hold_books(farm=farm)
        if Entry.objects.filter(farm=farm).exists():
            raise JournalRefused(f"{farm.name} has entries already; a journal is read into empty books only.")
        waits = len(pending_keys(farm=farm))
        if waits:
            raise JournalRefused(
                f"{farm.name} has {waits} reports, bills or the like that would be posted beside the journal; it is read "
                "into a farm that has none."
            )
        kept = _Kept(farm)
        for entry in entries:
            kept.add(entry)
        kept.flush()
        if head and kept.report.head.digest != head:
            raise JournalRefused(
                f"The journal ends at entry {kept.report.head.number}, {kept.report.head.digest or 'without a digest'}, "
                f"and not at {head}: something is missing at its end, or it is another one."
            )
    return kept.report


class _Kept:
    """Entries on their way into the books; what is added is written together."""

    def __init__(self, farm: Farm) -> None:
        self._farm = farm
        self._codes = CodeBook(farm)
        self._entries: list[Entry] = []
        self._lines: list[Line] = []
        self._places: list[str] = []
        self._written = 0
        self.report = JournalImport()

    def add(self, read: ReadEntry) -> None:
        head = self.report.head
        if read.number != head.number + 1:
            raise JournalRefused(
                f"{read.place}: entry {read.number} stands where entry {head.number + 1} should."
            )
        if read.hash_before != head.digest:
            raise JournalRefused(f"{read.place}: the digest before is not that of entry {head.number}.")
        _check(read)
        lines = [self._line(line, read) for line in read.lines]
        entry = self._entry(read, len(lines))
        if entry_digest(before=head.digest, entry=chain_entry(entry, lines)) != read.digest:
            raise JournalRefused(
                f"{read.place}: entry {read.number} is not what was booked: its rows do not give its digest."
            )
        if read.source_kind == SourceKind.PERIOD:
            self._mark(read)
        for line in lines:
            line.entry = entry
        self._entries.append(entry)
        self._lines += lines
        self._places.append(read.place)
        self.report.head = ChainHead(read.number, read.digest)
        self.report.entries += 1
        self.report.lines += len(lines)
        if len(self._entries) >= AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Write what was kept back; what the database refuses is named by the rows it may be in."""
        if not self._entries:
            return
        entries, lines, places = self._entries, self._lines, self._places
        self._entries, self._lines, self._places = [], [], []
        try:
            Entry.objects.bulk_create(entries)
            for line in lines:
                line.entry_id = line.entry.pk
            Line.objects.bulk_create(lines)
        except (IntegrityError, DataError) as error:
            raise JournalRefused(
                f"{places[0]} to {places[-1]}: the database refuses one of these entries: {error}"
            ) from error
        self._written = entries[-1].number

    def _entry(self, read: ReadEntry, line_count: int) -> Entry:
        return Entry(
            farm=self._farm,
            number=read.number,
            form_no=read.form_no,
            source_kind=read.source_kind,
            source_key=read.source_key,
            purpose=read.purpose,
            happened_on=read.happened_on,
            booked_on=read.booked_on,
            posted_at=read.posted_at,
            why=read.why,
            is_imported=True,
            line_count=line_count,
            hash_before=read.hash_before,
            hash=read.digest,
            **self._cause(read),
        )

    def _cause(self, read: ReadEntry) -> dict[str, int | None]:
        """Return what caused an entry: what it reverses, or the number that stands for what is in the other database."""
        if read.reverses is None:
            return {"source_id": -read.number}
        undone = self._stored(read.reverses)
        if undone.reverses_id is not None or Entry.objects.filter(reverses=undone).exists():
            raise JournalRefused(
                f"{read.place}: entry {read.reverses} is a reversal, or was reversed before."
            )
        return {"source_id": undone.pk, "reverses_id": undone.pk}

    def _stored(self, number: int) -> Entry:
        if number > self._written:
            self.flush()
        return Entry.objects.get(farm=self._farm, number=number)

    def _line(self, read: ReadLine, of: ReadEntry) -> Line:
        linked = self._codes.rows_of(account=read.account, subject=read.subject, outfit=read.outfit)
        if linked is None:
            self._not_linked(read.subject)
        elif not self._codes.knows_outfit(read.outfit):
            self._not_linked(read.outfit)
        found = linked or NOTHING
        return Line(
            farm=self._farm,
            line_no=read.line_no,
            account=read.account,
            subject=read.subject,
            season_id=found.season_id,
            machine_id=found.machine_id,
            implement_id=found.implement_id,
            pump_id=found.pump_id,
            operation=read.operation,
            outfit=read.outfit,
            category=read.category,
            cents=read.cents,
            quantity_e4=read.quantity_e4,
            unit=read.unit,
            price_e4=read.price_e4,
            item=read.item,
            lot=read.lot,
            layer=None if read.drawn_from is None else self._layer(read, of, *read.drawn_from),
            is_imported=True,
            says=read.says,
        )

    def _layer(self, read: ReadLine, of: ReadEntry, number: int, line_no: int) -> Line:
        if number < of.number:
            layer = Line.objects.filter(entry=self._stored(number), line_no=line_no).first()
            if layer is not None and is_layer(layer) and layer.item == read.item:
                return layer
        raise JournalRefused(
            f"{read.place}, column drawn_from: line {line_no} of entry {number} brought no {read.item} into stock before."
        )

    def _mark(self, read: ReadEntry) -> None:
        """Close or open the month of an entry, once everything before it is written."""
        found = MARK.fullmatch(read.source_key)
        if found is None or (found[2] == "reopen" and not read.why):
            raise JournalRefused(
                f"{read.place}: {read.source_key!r} is no close or reopening of a month with a reason."
            )
        self.flush()
        is_close = found[2] == "close"
        try:
            PeriodMark.objects.create(
                farm=self._farm,
                month=dt.date.fromisoformat(f"{found[1]}-01"),
                turn=int(found[3]),
                is_close=is_close,
                why="" if is_close else read.why,
                made_at=read.posted_at,
            )
        except IntegrityError as error:
            raise JournalRefused(
                f"{read.place}: the month was closed or opened by an entry before."
            ) from error

    def _not_linked(self, name: str) -> None:
        self.report.not_linked[name] = self.report.not_linked.get(name, 0) + 1


def _check(read: ReadEntry) -> None:
    """Refuse an entry that no books hold, whatever digest it comes with."""
    if (read.source_kind == SourceKind.REVERSAL) != (read.reverses is not None):
        raise JournalRefused(
            f"{read.place}: a reversal names the entry that it undoes, and nothing else does."
        )
    if read.reverses is not None and not read.reverses < read.number:
        raise JournalRefused(
            f"{read.place}: entry {read.reverses} was not booked before entry {read.number}."
        )
    if read.booked_on < read.happened_on:
        raise JournalRefused(
            f"{read.place}: it is booked on {read.booked_on}, before it happened on {read.happened_on}."
        )
    if [line.line_no for line in read.lines] != list(range(1, len(read.lines) + 1)):
        raise JournalRefused(f"{read.place}: the lines of entry {read.number} are not numbered 1, 2, 3 ...")
    total = sum(line.cents for line in read.lines)
    if total:
        raise JournalRefused(
            f"{read.place}: the lines of entry {read.number} come to {usd_text(total)} and not to nothing."
        )
    for line in read.lines:
        if line.cents == 0 or abs(line.cents) > MOST_CENTS:
            raise JournalRefused(f"{line.place}: {usd_text(line.cents)} is no amount that a line holds.")
        if line.account == Account.SEASON and not line.category:
            raise JournalRefused(f"{line.place}: a cost of a season has a category.")
