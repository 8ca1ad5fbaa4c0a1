"""Filling books to so many lines: the first entries are posted by the ledger itself, the rest are copies of them.

A copy is a report of the same work on another field and day, with an entry of its own that is numbered, chained and
balanced like any other. Copies go into the tables without the triggers that watch single rows, so that a million lines
take a minute; that they are what the ledger would have written is shown by the walk over the books afterwards.
"""

import datetime as dt
import sqlite3
import time
import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models, transaction

from farmops.bench.ledger_place import CODE, VARIANTS, YEARS, lay_out, make_reports, outfits
from farmops.core import guards
from farmops.farms.models import Farm, Season
from ledger.costing.chain import ChainEntry, ChainLine, entry_digest
from ledger.models import Entry, EntryBalance, Line
from ledger.selectors.chain import chain_entry, chain_head
from ledger.selectors.drafts import subject_of
from ledger.services.posting import post_pending
from scheduling.models import FieldPass, InputUse, WorkRecord

NOW = dt.datetime(2026, 11, 20, 12, tzinfo=dt.UTC)
AT_ONCE = 2_000
FILLED = (WorkRecord, InputUse, Entry, EntryBalance, Line)


def laid_out(*, fields: int) -> dict[str, float]:
    """Lay out the farm, and let the ledger post one report of each operation, variant and year."""
    farm = lay_out(fields=fields)
    crew = outfits(farm=farm)
    passes = FieldPass.objects.filter(farm=farm, season__field__code="field-001").select_related(
        "season__field"
    )
    for at, field_pass in enumerate(passes.order_by("season__crop_year", "id")):
        for variant in range(VARIANTS):
            make_reports(
                farm=farm,
                passes=[field_pass],
                outfit=crew[(at + variant) % len(crew)],
                count=1,
                first=at * VARIANTS + variant,
                now=NOW,
            )
    report = post_pending(farm=farm, now=NOW)
    return {"posted": report.posted, "lines": Line.objects.count()}


def fill(*, lines: int) -> dict[str, float]:
    """Add copies until the books hold at least so many lines, spread alike over years and fields."""
    farm = Farm.objects.get(code=CODE)
    started = time.perf_counter()
    with guards.lifted(connection), transaction.atomic():
        _Filler(farm).add(lines - Line.objects.filter(farm=farm).count())
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(FILLED)):
            cursor.execute(statement)
        cursor.execute("ANALYZE")
    seconds = time.perf_counter() - started
    return {"seconds": seconds, "lines": Line.objects.filter(farm=farm).count()}


class _Table:
    """Rows of a model as the database keeps them, put in by the engine's own quickest way."""

    def __init__(self, model: type[models.Model]) -> None:
        self.model = model
        self.fields = model._meta.concrete_fields
        self.names = [field.attname for field in self.fields]
        quoted = ", ".join(f'"{field.column}"' for field in self.fields)
        self._into = f'"{model._meta.db_table}" ({quoted})'
        self.next_id = 1 + (model._base_manager.aggregate(most=models.Max("pk"))["most"] or 0)

    def row(self, instance: models.Model, **changed: Any) -> dict[str, Any]:
        return {
            field.attname: field.get_db_prep_save(
                changed.get(field.attname, getattr(instance, field.attname)), connection
            )
            for field in self.fields
        }

    def new_id(self) -> int:
        self.next_id += 1
        return self.next_id - 1

    def put(self, rows: Iterable[Sequence[Any]]) -> None:
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                with cursor.copy(f"COPY {self._into} FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(row)
                return
            raw = connection.connection
            assert isinstance(raw, sqlite3.Connection)
            raw.executemany(
                f"INSERT INTO {self._into} VALUES ({', '.join('?' * len(self.fields))})",
                rows,
            )


@dataclass(frozen=True)
class _Pattern:
    """A posted report of work with all that belongs to it, as rows, and its entry as it is hashed."""

    operation: str
    record: dict[str, Any]
    uses: list[dict[str, Any]]
    entry: dict[str, Any]
    lines: list[dict[str, Any]]
    hashed: ChainEntry


class _Filler:
    """Copies patterns over the seasons of a farm, year by year."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.head = chain_head(farm=farm)
        self.tables = {model: _Table(model) for model in FILLED}
        self.patterns = {year: self._patterns(year) for year in YEARS}
        self.passes = {(row.season_id, row.operation): row.pk for row in FieldPass.objects.filter(farm=farm)}
        self.done = 0
        self.kept: dict[type[models.Model], list[Sequence[Any]]] = {model: [] for model in FILLED}

    def add(self, lines: int) -> None:
        """Add copies that have so many lines together, in each year the same share."""
        for at, year in enumerate(YEARS, start=1):
            self._add_year(year, lines * at // len(YEARS))

    def _add_year(self, year: int, until: int) -> None:
        found = (
            Season.objects.filter(farm=self.farm, crop_year=year)
            .select_related("field")
            .order_by("field__code")
        )
        seasons = [(row.pk, subject_of(season=row, machine=None, implement=None, pump=None)) for row in found]
        for turn in _counting():
            if self.done >= until:
                break
            season_id, subject = seasons[turn % len(seasons)]
            # A step that shares no factor with the number of patterns: each season gets all of them in turn.
            pattern = self.patterns[year][(turn + turn // len(seasons)) % len(self.patterns[year])]
            self._copy(pattern, season_id, subject, dt.date(year, 1, 5) + dt.timedelta(days=turn % 340))
            if len(self.kept[Entry]) >= AT_ONCE:
                self._put()
        self._put()

    def _copy(self, pattern: _Pattern, season_id: int, subject: str, day: dt.date) -> None:
        record_id, entry_id = self.tables[WorkRecord].new_id(), self.tables[Entry].new_id()
        number, client_id = self.head.number + 1, uuid.uuid4()
        on = _of(WorkRecord, "work_on", day)
        self._keep(
            WorkRecord,
            pattern.record,
            id=record_id,
            client_id=_of(WorkRecord, "client_id", client_id),
            field_pass_id=self.passes[season_id, pattern.operation],
            work_on=on,
        )
        for use in pattern.uses:
            self._keep(InputUse, use, id=self.tables[InputUse].new_id(), work_record_id=record_id)
        hashed = replace(
            pattern.hashed,
            number=number,
            source_key=str(client_id),
            happened_on=day.isoformat(),
            booked_on=day.isoformat(),
            lines=tuple(_moved(line, subject) for line in pattern.hashed.lines),
        )
        digest = entry_digest(before=self.head.digest, entry=hashed)
        self._keep(
            Entry,
            pattern.entry,
            id=entry_id,
            number=number,
            source_id=record_id,
            source_key=str(client_id),
            work_record_id=record_id,
            happened_on=on,
            booked_on=on,
            hash_before=self.head.digest,
            hash=digest,
        )
        self.kept[EntryBalance].append((entry_id, 0, 0))
        for line in pattern.lines:
            changed: dict[str, Any] = {"id": self.tables[Line].new_id(), "entry_id": entry_id}
            if line["season_id"] is not None:
                changed |= {"season_id": season_id, "subject": subject}
            self._keep(Line, line, **changed)
        self.head = replace(self.head, number=number, digest=digest)
        self.done += len(pattern.lines)

    def _keep(self, model: type[models.Model], row: dict[str, Any], **changed: Any) -> None:
        self.kept[model].append(tuple({**row, **changed}.values()))

    def _put(self) -> None:
        for model in FILLED:
            self.tables[model].put(self.kept[model])
            self.kept[model] = []

    def _patterns(self, year: int) -> list[_Pattern]:
        posted = (
            Entry.objects.filter(farm=self.farm, work_record__field_pass__season__crop_year=year)
            .select_related("work_record__field_pass")
            .prefetch_related("lines", "work_record__inputs")
            .order_by("number")[: VARIANTS * 8]
        )
        tables = self.tables
        return [
            _Pattern(
                operation=entry.work_record.field_pass.operation,
                record=tables[WorkRecord].row(entry.work_record),
                uses=[tables[InputUse].row(use) for use in entry.work_record.inputs.all()],
                entry=tables[Entry].row(entry),
                lines=[tables[Line].row(line) for line in entry.lines.all()],
                hashed=chain_entry(entry, entry.lines.all()),
            )
            for entry in posted
        ]


def _of(model: type[models.Model], name: str, value: Any) -> Any:
    field = model._meta.get_field(name)
    assert isinstance(field, models.Field)
    return field.get_db_prep_save(value, connection)


def _moved(line: ChainLine, subject: str) -> ChainLine:
    return replace(line, subject=subject) if line.account == "season" else line


def _counting() -> Iterator[int]:
    turn = 0
    while True:
        yield turn
        turn += 1
