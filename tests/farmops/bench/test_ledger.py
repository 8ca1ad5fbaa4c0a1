"""The bench of the books: what it fills is what the ledger would have written, and what it compares is the same."""

import copy
import queue
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection

from farmops.bench import ledger, ledger_duckdb, ledger_fill, ledger_measures, ledger_posting, postgres_server
from farmops.bench.children import MeasurementFailed
from farmops.bench.ledger_place import CODE, YEARS, outfits
from farmops.bench.rows import Choices
from farmops.farms.models import Farm
from ledger.models import Entry, Line
from ledger.services.verify import verify_ledger
from scheduling.models import FieldPass
from tests.laying import Lay

FULL = {"fields": 200, "lines": 1_000_000, "writers": (1, 8), "records": 400}


@pytest.fixture(scope="module")
def books_of_the_file(laid_once: Lay) -> Farm:
    return laid_once(make_books)


@pytest.fixture
def books(books_of_the_file: Farm, db: None) -> Farm:
    return copy.deepcopy(books_of_the_file)


def make_books() -> Farm:
    """Make books of two fields with one report of each operation and year, and as many copies again."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ledger_fill, "VARIANTS", 1)
        ledger_fill.laid_out(fields=2)
        ledger_fill.fill(lines=2 * Line.objects.count())
    return Farm.objects.get(code=CODE)


def test_what_is_filled_in_is_whole_and_spread_over_the_years(books: Farm) -> None:
    """The walk works every digest, balance, price and source out again (SHA-256 by FIPS 180-4, through hashlib)."""
    report = verify_ledger(farm=books)
    assert report.faults == []
    assert report.books[0].not_posted == 0
    assert report.books[0].lines == Line.objects.count() >= 1_000
    years = Entry.objects.filter(farm=books).values_list(
        "work_record__field_pass__season__crop_year", flat=True
    )
    assert set(years) == set(YEARS)
    assert Line.objects.filter(season__field__code="field-002").exists()


def test_the_guards_stand_again_after_filling(books: Farm) -> None:
    with pytest.raises(Exception, match="append-only"), connection.cursor() as cursor:
        cursor.execute("UPDATE ledger_line SET cents = 1")


def test_a_line_that_was_changed_in_the_filled_books_is_found(
    books: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ledger_measures, "verify_ledger", lambda: _with_a_fault(books))
    with pytest.raises(ledger_measures.SumsDiffer, match="1 faults in the books"):
        ledger_measures.verified()


def _with_a_fault(books: Farm) -> Any:
    return verify_ledger(farm=books, held="0" * 64)


def test_report_plain_sql_and_duckdb_have_the_same_sums(books: Farm) -> None:
    got = ledger_measures.report(crop_year=2024, rounds=1)
    beside = ledger_duckdb.grouped(crop_year=2024, rounds=1)
    assert got["rows"] > 5
    assert beside["rows"] == Line.objects.filter(account="season").count()
    with pytest.raises(ledger_measures.SumsDiffer, match="DuckDB and plain SQL do not agree"):
        ledger_measures.agree({("a", "seed"): 1}, {("a", "seed"): 2}, "DuckDB and plain SQL")


def test_the_file_and_the_copy_out_have_the_same_lines(books: Farm) -> None:
    lines = Line.objects.filter(entry__booked_on__year=2024).count()
    assert ledger_measures.year_file(year=2024, suffix=".csv")["lines"] == lines
    assert ledger_measures.year_copied_out(year=2024)["lines"] == lines


def test_a_writer_stores_and_posts_what_it_was_told_to(books: Farm) -> None:
    before = Entry.objects.count()
    passes = list(FieldPass.objects.filter(farm=books, season__crop_year=2026).select_related("season"))
    told: queue.SimpleQueue[list[str]] = queue.SimpleQueue()
    ledger_posting._write(books, passes, outfits(farm=books)[0], 0, 7, threading.Barrier(1), told)
    assert told.get() == []
    assert Entry.objects.count() == before + 7


def numbers(posted: int = 3_200, left: int = 0, seconds: float = 10.0) -> dict[str, Any]:
    """Return what any measurement may say."""
    return {
        "seconds": seconds,
        "plain_seconds": seconds,
        "load_seconds": 1.0,
        "rows": 10,
        "lines": 1_000,
        "peak_mb": 90.0,
        "posted": posted,
        "left": left,
        "shown": [],
        "bytes": 1,
    }


@contextmanager
def nothing() -> Iterator[dict[str, str]]:
    yield {}


@contextmanager
def no_server() -> Iterator[dict[str, str]]:
    raise postgres_server.NoServer("no PostgreSQL: nowhere")
    yield {}


def of_numbers(monkeypatch: pytest.MonkeyPatch, **changed: dict[str, Any]) -> None:
    """Answer each measurement with plain numbers, save those that are given by the name of their function."""

    def measured(_run: str, *, function: str, writers: int = 0, **_others: Any) -> dict[str, Any]:
        return changed.get(function.split(".")[1], numbers(posted=writers * 400))

    monkeypatch.setattr(ledger, "measured", measured)
    engines = {
        "sqlite": ledger.Engine("SQLite", nothing, "cursor"),
        "postgresql": ledger.Engine("PostgreSQL", no_server, "COPY"),
    }
    monkeypatch.setattr(ledger, "ENGINES", engines)


def test_full_sizes_and_limits_are_those_that_were_promised() -> None:
    assert {name: getattr(ledger.FULL, name) for name in FULL} == FULL
    limits = (ledger.MOST_TIMES_SQL, ledger.MOST_TIMES_COPY, ledger.MOST_GROWTH_MB, ledger.LEAST_POSTED_PER_S)
    assert limits == (1.5, 2.0, 1.2, 50)


def test_an_engine_that_is_not_there_is_named_and_never_left_out_silently(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    of_numbers(monkeypatch)
    report = ledger.run(Choices())
    assert "PostgreSQL was left out: there is no PostgreSQL: nowhere." in report.conditions
    assert {row.what.split(":")[0] for row in report.rows} == {"SQLite"}
    with pytest.raises(MeasurementFailed, match="PostgreSQL was asked for"):
        ledger.run(Choices(only=("postgresql",)))


def test_limits_are_judged_at_full_size_only(monkeypatch: pytest.MonkeyPatch) -> None:
    of_numbers(monkeypatch, report={**numbers(), "plain_seconds": 6.0})
    missed = ledger.run(Choices()).missed
    assert [row.limit for row in missed] == ["at most 1.5 times plain SQL"]
    of_numbers(monkeypatch, posted=numbers(posted=20))
    with pytest.raises(MeasurementFailed, match="1 writers stored 400 reports; 20 were posted and 0 wait"):
        ledger.run(Choices())


def test_slow_posting_with_eight_writers_is_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    of_numbers(monkeypatch)
    slow = ledger.run(Choices())
    assert not slow.missed
    monkeypatch.setattr(ledger, "LEAST_POSTED_PER_S", 321)
    assert [row.limit for row in ledger.run(Choices()).missed] == ["at least 321 a second"]
