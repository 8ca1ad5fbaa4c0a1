"""Walking the books from the first entry to the last, trusting nothing that is stored beside them."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db.models import Prefetch

from farmops.farms.models import Farm
from ledger.costing.chain import entry_digest
from ledger.costing.money import priced_cents, usd_text
from ledger.models import Bill, BillPayment, Entry, Line, SourceKind
from ledger.selectors.care_lines import care_day
from ledger.selectors.chain import chain_entry
from ledger.selectors.drafts import outfit_of, subject_of
from ledger.selectors.sources import key_of
from ledger.services.source_types import pending_keys
from ledger.services.verify_sources import price_faults, source_faults
from scheduling.models import CareDone, WorkRecord

AT_ONCE = 500


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was booked, and where."""

    farm: str
    place: str
    says: str

    def __str__(self) -> str:
        return f"{self.farm}, {self.place}: {self.says}"


@dataclass(frozen=True)
class FarmBooks:
    """What a farm's books hold, their head, and how many sources have no posting yet."""

    farm: str
    entries: int
    lines: int
    head: str
    not_posted: int


@dataclass
class VerifyReport:
    """The books that were walked and every fault that was met."""

    books: list[FarmBooks] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    @property
    def is_whole(self) -> bool:
        """Return whether nothing was found."""
        return not self.faults


def verify_ledger(*, farm: Farm | None = None, held: str = "") -> VerifyReport:
    """Walk the books of one farm or of all: numbers, digests, balance, prices, sources, reversals.

    `held` is a digest that was noted before, from an export or an earlier walk: an entry must still have it. Without
    it, entries that were cut off the end leave no trace but sources that have no posting.
    """
    report = VerifyReport()
    of_farm = {} if farm is None else {"farm": farm}
    if held and not Entry.objects.filter(hash=held, **of_farm).exists():
        code = "all farms" if farm is None else farm.code
        report.faults.append(Fault(code, "the end", f"no entry has the digest {held} any more"))
    for one in [farm] if farm is not None else Farm.objects.order_by("id"):
        _walk(one, report)
    return report


def _walk(farm: Farm, report: VerifyReport) -> None:
    digest, expected, line_total = "", 1, 0
    entries = (
        Entry.objects.filter(farm=farm)
        .select_related(
            "work_record__field_pass", "bill", "payment__bill", "care_done__farm", "reverses", "balance"
        )
        .prefetch_related(
            "work_record__inputs",
            Prefetch(
                "lines",
                Line.objects.select_related(
                    "season__field", "machine", "implement", "pump", "rate", "cost_facts"
                ).order_by("line_no"),
            ),
        )
        .order_by("number")
    )
    count = 0
    for entry in entries.iterator(chunk_size=AT_ONCE):
        lines = list(entry.lines.all())
        for says in _faults(entry, lines, digest, expected):
            report.faults.append(Fault(farm.code, f"entry {entry.number}", says))
        digest, expected = entry.hash, entry.number + 1
        count, line_total = count + 1, line_total + len(lines)
    report.faults += [Fault(farm.code, place, says) for place, says in _twice(farm)]
    report.books.append(FarmBooks(farm.code, count, line_total, digest, len(pending_keys(farm=farm))))


def _faults(entry: Entry, lines: list[Line], before: str, expected: int) -> Iterator[str]:
    if entry.number != expected:
        yield f"number {expected} should come here; {entry.number - expected} are missing"
    if entry.hash_before != before:
        yield "it does not follow the entry before it: the digest before differs"
    if entry.hash != entry_digest(before=entry.hash_before, entry=chain_entry(entry, lines)):
        yield "its content is not what was booked: the digest differs"
    total = sum(line.cents for line in lines)
    if total != 0:
        yield f"its lines sum to {usd_text(total)} dollars instead of nothing"
    if [line.line_no for line in lines] != list(range(1, entry.line_count + 1)):
        yield f"it has {len(lines)} lines and was made with {entry.line_count}"
    balance = getattr(entry, "balance", None)
    if balance is None or balance.imbalance_id != 0 or balance.lines_missing_id != 0:
        yield "the database does not keep it as balanced"
    for line in lines:
        yield from _line_faults(entry, line)
    yield from _source_faults(entry, lines)


def _line_faults(entry: Entry, line: Line) -> Iterator[str]:
    if line.farm_id != entry.farm_id:
        yield f"line {line.line_no} is another farm's"
    if line.subject != subject_of(
        season=line.season, machine=line.machine, implement=line.implement, pump=line.pump
    ):
        yield f"line {line.line_no} was booked on {line.subject or 'the farm'} and now points elsewhere"
    if line.outfit != outfit_of(season=line.season, machine=line.machine, implement=line.implement):
        yield f"line {line.line_no} was work of {line.outfit or 'no machine'} and now names another"
    if line.price_e4 is not None and line.quantity_e4 is not None:
        worked = priced_cents(quantity_e4=line.quantity_e4, unit=line.unit, price_e4=line.price_e4)
        if worked != line.cents:
            yield f"line {line.line_no} is {usd_text(line.cents)} but its quantity and price give {usd_text(worked)}"
    yield from price_faults(line)


def _source_faults(entry: Entry, lines: list[Line]) -> Iterator[str]:
    kind = SourceKind(entry.source_kind)
    if kind == SourceKind.REVERSAL:
        yield from _reversal_faults(entry, lines)
        return
    source: WorkRecord | Bill | BillPayment | CareDone | None = {
        SourceKind.WORK_RECORD: entry.work_record,
        SourceKind.BILL: entry.bill,
        SourceKind.PAYMENT: entry.payment,
        SourceKind.CARE_DONE: entry.care_done,
    }[kind]
    if source is None or source.pk != entry.source_id:
        yield f"its source, {kind.label} {entry.source_id}, is not there"
        return
    if key_of(source) != entry.source_key:
        yield f"its source, {kind.label} {entry.source_id}, is another one than was booked"
    if _date_of(source) != entry.happened_on:
        yield f"its source happened on {_date_of(source)} and not on {entry.happened_on}"
    yield from source_faults(source, lines)


def _reversal_faults(entry: Entry, lines: list[Line]) -> Iterator[str]:
    undone = entry.reverses
    if undone is None or str(undone.number) != entry.source_key or undone.number >= entry.number:
        yield "it reverses nothing that was booked before it"
        return
    first = {line.line_no: (line.account, line.subject, -line.cents) for line in undone.lines.all()}
    if first != {line.line_no: (line.account, line.subject, line.cents) for line in lines}:
        yield f"it does not undo entry {undone.number} to the cent"


def _twice(farm: Farm) -> Iterator[tuple[str, str]]:
    """Name what stands twice: the entry of a superseded source beside the entry of what superseded it."""
    standing = Entry.objects.filter(farm=farm, reversed_by__isnull=True)
    for entry in standing.filter(work_record__superseded_by__entries__isnull=False).order_by("number"):
        yield f"entry {entry.number}", "its work record was superseded and posted anew, and it still stands"
    for entry in standing.filter(bill__superseded_by__entries__isnull=False).order_by("number"):
        yield f"entry {entry.number}", "its bill was superseded and posted anew, and it still stands"
    for entry in standing.filter(care_done__superseded_by__entries__isnull=False).order_by("number"):
        yield f"entry {entry.number}", "its service was corrected and posted anew, and it still stands"


def _date_of(source: WorkRecord | Bill | BillPayment | CareDone) -> dt.date:
    if isinstance(source, WorkRecord):
        return source.work_on
    if isinstance(source, CareDone):
        return care_day(care=source)
    return source.bill_on if isinstance(source, Bill) else source.paid_on
