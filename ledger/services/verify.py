"""Walking the books from the first entry to the last, trusting nothing that is stored beside them."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db.models import Prefetch

from farmops.farms.models import Farm
from ledger.costing.chain import entry_digest
from ledger.costing.money import priced_cents, usd_text
from ledger.models import SOURCES, Entry, Line, SourceKind
from ledger.selectors.chain import chain_entry
from ledger.selectors.sources import key_of
from ledger.services.bill_photos import photos_looked_at
from ledger.services.source_types import pending_keys
from ledger.services.verify_names import NamesMet
from ledger.services.verify_sources import day_of, price_faults, source_faults
from ledger.services.verify_whole import MonthsMet, marks_alone, overdrawn, twice

RELATED = (
    *SOURCES.values(),
    "work_record__field_pass",
    "payment__bill",
    "care_done__farm",
    "care_done__rule",
    "incident__farm",
    "incident__season",
    "fuel_fill__farm",
    "hour_reading__farm",
    "machine_year__machine",
    "machine_year__implement",
)
PREFETCHED = (
    "work_record__inputs",
    "bill__items",
    "bill__payee",
    "payment__bill__items",
    "payment__bill__payee",
    "share_out__parts",
)
# Many lines name the same few things: each is read once for all of them.
LINES = Line.objects.prefetch_related(
    "season__field", "machine", "implement", "pump", "rate", "cost_facts"
).order_by("line_no")
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
    """The books that were walked, every fault that was met, and notes of what is no fault but should be known."""

    books: list[FarmBooks] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[Fault] = field(default_factory=list)

    @property
    def is_whole(self) -> bool:
        """Return whether nothing was found."""
        return not self.faults


def verify_ledger(*, farm: Farm | None = None, held: str = "") -> VerifyReport:
    """Walk the books of one farm or of all: numbers, digests, balance, prices, sources, reversals, months, stocks, photos.

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
    digest, expected, count, line_total = "", 1, 0, 0
    names, months = NamesMet(), MonthsMet()
    entries = (
        Entry.objects.filter(farm=farm)
        .select_related("reverses", "balance", *RELATED)
        .prefetch_related(*PREFETCHED, Prefetch("lines", LINES))
        .order_by("number")
    )
    for entry in entries.iterator(chunk_size=AT_ONCE):
        lines = list(entry.lines.all())
        for says in (*_faults(entry, lines, digest, expected), *months.faults(entry)):
            report.faults.append(Fault(farm.code, f"entry {entry.number}", says))
        for line in lines:
            names.meet(entry.number, line)
        digest, expected = entry.hash, entry.number + 1
        count, line_total = count + 1, line_total + len(lines)
    renamed, elsewhere = names.told(farm=farm)
    report.notes += [Fault(farm.code, place, says) for place, says in renamed]
    for place, says in (*elsewhere, *twice(farm), *overdrawn(farm), *marks_alone(farm)):
        report.faults.append(Fault(farm.code, place, says))
    other, gone = photos_looked_at(farm=farm)
    report.faults += [
        Fault(farm.code, f"bill {one.bill}", "a photo of it is another than was kept") for one in other
    ]
    report.notes += [
        Fault(farm.code, f"bill {one.bill}", "the file of a photo of it is not there") for one in gone
    ]
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
    if line.price_e4 is not None and line.quantity_e4 is not None:
        worked = priced_cents(quantity_e4=line.quantity_e4, unit=line.unit, price_e4=line.price_e4)
        if worked != line.cents:
            yield f"line {line.line_no} is {usd_text(line.cents)} but its quantity and price give {usd_text(worked)}"
    if line.is_imported != entry.is_imported:
        yield f"line {line.line_no} was {'' if line.is_imported else 'not '}read from a journal, unlike its entry"
    if not entry.is_imported:
        yield from price_faults(line)


def _source_faults(entry: Entry, lines: list[Line]) -> Iterator[str]:
    """Name what its source says otherwise; of an entry that was read from a journal, the source is elsewhere."""
    kind = SourceKind(entry.source_kind)
    if kind == SourceKind.REVERSAL:
        yield from _reversal_faults(entry, lines)
        return
    if entry.is_imported:
        return
    source = getattr(entry, SOURCES[kind])
    if source is None or source.pk != entry.source_id:
        yield f"its source, {kind.label} {entry.source_id}, is not there"
        return
    if key_of(source) != entry.source_key:
        yield f"its source, {kind.label} {entry.source_id}, is another one than was booked"
    day = day_of(kind, source)
    if day not in (None, entry.happened_on):
        yield f"its source happened on {day} and not on {entry.happened_on}"
    yield from source_faults(kind, source, lines)


def _reversal_faults(entry: Entry, lines: list[Line]) -> Iterator[str]:
    undone = entry.reverses
    if undone is None or str(undone.number) != entry.source_key or undone.number >= entry.number:
        yield "it reverses nothing that was booked before it"
        return
    first = {line.line_no: (line.account, line.subject, -line.cents) for line in undone.lines.all()}
    if first != {line.line_no: (line.account, line.subject, line.cents) for line in lines}:
        yield f"it does not undo entry {undone.number} to the cent"
