"""The bench of the books: a million lines of five years and two hundred fields, on SQLite and on PostgreSQL.

How fast work is posted with one writer and with eight, the report of what fields cost beside the same grouping in plain
SQL and in DuckDB, the lines of a year as CSV beside the engine's own copy-out, as a workbook, and the walk over the books.
Whatever is measured runs in a child process of its own, on a database that is made for it and dropped afterwards.
"""

import platform
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from farmops.bench import postgres_server
from farmops.bench.children import MeasurementFailed, measured
from farmops.bench.rows import BenchReport, BenchRow, Choices
from farmops.bench.service_database import service_database

WHOLE_MINUTES = 20
"""About what both engines take together."""
CORES = 2
CROP_YEAR = 2024
MOST_TIMES_SQL = 1.5
MOST_TIMES_COPY = 2.0
MOST_GROWTH_MB = 1.2
LEAST_POSTED_PER_S = 50


@dataclass(frozen=True)
class Sizes:
    """How much is laid out and posted."""

    fields: int
    lines: int
    writers: tuple[int, int]
    records: int
    rounds: int


FULL = Sizes(fields=200, lines=1_000_000, writers=(1, 8), records=400, rounds=5)
SMALL = Sizes(fields=8, lines=12_000, writers=(1, 2), records=20, rounds=1)


@dataclass(frozen=True)
class Engine:
    """An engine by its name for people, and a database of it for as long as a block lasts, as the environment names it."""

    says: str
    database: Callable[[], AbstractContextManager[Mapping[str, str]]]
    copies_out: str


@contextmanager
def _sqlite() -> Iterator[Mapping[str, str]]:
    with tempfile.TemporaryDirectory(prefix="bench") as folder:
        yield {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(Path(folder) / "books.sqlite3"),
        }


def _postgresql() -> AbstractContextManager[Mapping[str, str]]:
    """Give a database on a server with the settings it comes with: what is committed is on the disk."""
    return service_database(address="https://farm.example.org")


ENGINES: Mapping[str, Engine] = {
    "sqlite": Engine("SQLite", _sqlite, "its cursor straight into the csv writer (it has no copy-out)"),
    "postgresql": Engine("PostgreSQL", _postgresql, "COPY"),
}


def run(choices: Choices) -> BenchReport:
    """Run the chosen engines; small sizes show the table only."""
    sizes = SMALL if choices.is_small else FULL
    rows: list[BenchRow] = []
    left_out: list[str] = []
    for name in choices.only or tuple(ENGINES):
        engine = ENGINES[name]
        try:
            with engine.database() as environ:
                rows += _Books(engine, environ, sizes, choices).rows()
        except postgres_server.NoServer as error:
            if name in choices.only:
                raise MeasurementFailed(f"{engine.says} was asked for, and there is {error}") from error
            left_out.append(f"{engine.says} was left out: there is {error}.")
    return BenchReport(
        name="ledger",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, one core for each measurement, "
            f"{CORES} for the writers.",
            "Seconds are wall time. Sums of ways that are compared were found equal to the cent.",
            *left_out,
            *(("Small sizes: no limit is judged.",) if choices.is_small else ()),
        ),
        rows=tuple(rows),
    )


class _Books:
    """The measurements of one engine, in the order they are made."""

    def __init__(self, engine: Engine, environ: Mapping[str, str], sizes: Sizes, choices: Choices) -> None:
        self.engine, self.environ, self.sizes, self.choices = engine, environ, sizes, choices

    def rows(self) -> list[BenchRow]:
        """Fill a tenth, then all of it, and measure."""
        sizes = self.sizes
        self._got("laying out the farm", "ledger_child.tables_made")
        self._got("laying out the farm", "ledger_fill.laid_out", fields=sizes.fields)
        self._got("filling a tenth", "ledger_fill.fill", lines=sizes.lines // 10)
        tenth = self._got("CSV of a tenth", "ledger_measures.year_file", year=CROP_YEAR, suffix=".csv")
        filled = self._got("filling the books", "ledger_fill.fill", lines=sizes.lines)
        return [
            self._row("filled", f"{filled['lines']:,.0f} lines", filled, filled["lines"] * 9 / 10, "lines"),
            *self._report(),
            *self._files(tenth),
            *self._posting(),
            self._verified(),
        ]

    def _report(self) -> list[BenchRow]:
        rounds = self.sizes.rounds
        got = self._got("the report", "ledger_measures.report", crop_year=CROP_YEAR, rounds=rounds)
        beside = self._got("DuckDB", "ledger_duckdb.grouped", crop_year=CROP_YEAR, rounds=rounds)
        ratio = got["seconds"] / got["plain_seconds"]
        size = f"{got['rows']:,.0f} sums of a year"
        return [
            self._row("plain SQL: cost by field and category", size, {"seconds": got["plain_seconds"]}),
            self._row(
                "cost by field and category",
                size,
                got,
                ratio=ratio,
                limit=f"at most {MOST_TIMES_SQL:g} times plain SQL",
                is_met=ratio <= MOST_TIMES_SQL,
            ),
            self._row(
                "DuckDB: cost by field and category",
                size,
                beside,
                ratio=beside["seconds"] / got["plain_seconds"],
            ),
            self._row(
                "DuckDB: taking the lines in",
                f"{beside['rows']:,.0f} lines",
                {"seconds": beside["load_seconds"]},
                beside["rows"],
                "lines",
            ),
        ]

    def _files(self, tenth: Mapping[str, Any]) -> list[BenchRow]:
        turns = [
            (
                self._got("CSV of a year", "ledger_measures.year_file", year=CROP_YEAR, suffix=".csv"),
                self._got("copy-out of a year", "ledger_measures.year_copied_out", year=CROP_YEAR),
            )
            for _turn in range(min(3, self.sizes.rounds))
        ]
        ours = min((one for one, _ in turns), key=lambda one: one["seconds"])
        limit = min((one for _, one in turns), key=lambda one: one["seconds"])
        if ours["lines"] != limit["lines"]:
            raise MeasurementFailed(f"the file has {ours['lines']} lines and the copy-out {limit['lines']}")
        peak_mb = max(one["peak_mb"] for one, _ in turns)
        book = self._got("workbook of a year", "ledger_measures.year_file", year=CROP_YEAR, suffix=".xlsx")
        ratio, growth = ours["seconds"] / limit["seconds"], peak_mb / tenth["peak_mb"]
        size = f"{ours['lines']:,.0f} lines of a year"
        return [
            self._row(f"copy-out: {self.engine.copies_out}", size, limit, limit["lines"], "lines"),
            self._row(
                "lines of a year as CSV",
                size,
                ours,
                ours["lines"],
                "lines",
                ratio=ratio,
                limit=f"at most {MOST_TIMES_COPY:g} times the copy-out",
                is_met=ratio <= MOST_TIMES_COPY,
            ),
            self._row(
                f"  its memory: {peak_mb:,.0f} MB; of {tenth['lines']:,.0f} lines {tenth['peak_mb']:,.0f} MB",
                size,
                ours,
                ratio=growth,
                limit=f"at most {MOST_GROWTH_MB:g} times that of a tenth",
                is_met=growth <= MOST_GROWTH_MB,
            ),
            self._row(
                f"lines of a year as XLSX, {book['peak_mb']:,.0f} MB", size, book, book["lines"], "lines"
            ),
        ]

    def _posting(self) -> list[BenchRow]:
        rows = []
        for writers in self.sizes.writers:
            got = self._got(
                f"posting with {writers}",
                "ledger_posting.posted",
                cores=CORES,
                writers=writers,
                records=self.sizes.records,
            )
            if got["left"] or got["posted"] != writers * self.sizes.records:
                raise MeasurementFailed(
                    f"{writers} writers stored {writers * self.sizes.records} reports; {got['posted']} were posted and "
                    f"{got['left']} wait"
                )
            rate = got["posted"] / got["seconds"]
            is_judged = writers == self.sizes.writers[-1]
            size = f"{writers} writers x {self.sizes.records} reports"
            rows.append(
                self._row(
                    "work stored and posted",
                    size,
                    got,
                    got["posted"],
                    "reports",
                    ratio=rate / LEAST_POSTED_PER_S if is_judged else None,
                    limit=f"at least {LEAST_POSTED_PER_S} a second" if is_judged else "",
                    is_met=rate >= LEAST_POSTED_PER_S if is_judged else None,
                )
            )
            if is_judged:
                shown = got["shown"]
                told = f": {shown[0][:120]}" if shown else ""
                rows.append(
                    self._row(
                        f"  faults of the database that a writer was shown: {len(shown)}{told}",
                        size,
                        got,
                        limit="none",
                        is_met=not shown,
                    )
                )
        return rows

    def _verified(self) -> BenchRow:
        got = self._got("verify_ledger", "ledger_measures.verified")
        says = f"verify_ledger: whole, {got['peak_mb']:,.0f} MB"
        return self._row(says, f"{got['lines']:,.0f} lines", got, got["lines"], "lines")

    def _got(self, says: str, function: str, *, cores: int = 1, **arguments: Any) -> dict[str, Any]:
        self.choices.told(f"{self.engine.says}: {says}")
        return measured(
            "farmops.bench.ledger_child.run",
            cores=cores,
            environ=self.environ,
            function=function,
            **arguments,
        )

    def _row(
        self,
        what: str,
        size: str,
        got: Mapping[str, Any],
        count: float | None = None,
        unit: str = "",
        *,
        ratio: float | None = None,
        limit: str = "",
        is_met: bool | None = None,
    ) -> BenchRow:
        seconds = got["seconds"]
        return BenchRow(
            what=f"{self.engine.says}: {what}",
            size=size,
            seconds=seconds,
            rate=None if count is None else count / seconds,
            unit=unit,
            ratio=ratio,
            limit=limit,
            is_met=None if self.choices.is_small else is_met,
        )
