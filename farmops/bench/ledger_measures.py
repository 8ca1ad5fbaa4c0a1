"""What is measured of filled books, each in a process of its own, beside the engine's own way to the same thing."""

import csv
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.db import connection

from farmops.bench.ledger_place import CODE
from farmops.farms.models import Farm
from ledger.exports.ledger_files import write_lines
from ledger.exports.ledger_lines import COLUMNS
from ledger.selectors.cost_cells import Dimension
from ledger.selectors.cost_tables import cost_table
from ledger.services.verify import verify_ledger

Sums = dict[tuple[str, str], int]
GROUPED = """
    SELECT f.code, l.category, SUM(l.cents)
    FROM ledger_line l JOIN farms_season s ON s.id = l.season_id JOIN farms_field f ON f.id = s.field_id
    WHERE s.farm_id = %s AND s.crop_year = %s AND l.account = 'season'
    GROUP BY f.code, l.category
"""
OF_YEAR = f"""
    SELECT {", ".join(f"{one.source} AS {one.name}" for one in COLUMNS)}
    FROM ledger_line l JOIN ledger_entry e ON e.id = l.entry_id
    WHERE e.farm_id = %s AND e.booked_on >= %s AND e.booked_on <= %s
    ORDER BY e.number, l.line_no
"""
"""The lines of the year's file as they are stored: the same rows and columns in the same order."""


class SumsDiffer(RuntimeError):
    """Two ways to the same sums do not agree; the message says which."""


def report(*, crop_year: int, rounds: int) -> dict[str, float]:
    """Return the seconds of the report of fields and categories and of the same grouping in SQL, the best of rounds each.

    They take turns, so that both meet the same machine. Raise SumsDiffer where they do not agree to the cent.
    """
    farm = Farm.objects.get(code=CODE)
    ours, plain = [], []
    for _round in range(rounds):
        seconds, table = timed(
            lambda: cost_table(farm=farm, crop_year=crop_year, by=(Dimension.FIELD, Dimension.CATEGORY))
        )
        ours.append(seconds)
        seconds, sums = timed(lambda: plain_sums(farm, crop_year))
        plain.append(seconds)
        agree({(row.key[0], row.key[1]): row.cents for row in table.rows}, sums, "the report and plain SQL")
    return {"seconds": min(ours), "plain_seconds": min(plain), "rows": len(sums)}


def plain_sums(farm: Farm, crop_year: int) -> Sums:
    """Return the cents of each field and category as the database groups them."""
    with connection.cursor() as cursor:
        cursor.execute(GROUPED, [farm.pk, crop_year])
        return {(code, category): int(cents) for code, category, cents in cursor.fetchall()}


def year_file(*, year: int, suffix: str) -> dict[str, float]:
    """Return the seconds that writing the lines of a year takes, and how many lines and bytes they are."""
    farm = Farm.objects.get(code=CODE)
    with tempfile.TemporaryDirectory(prefix="bench") as folder:
        path = Path(folder) / f"lines{suffix}"
        seconds, facts = timed(lambda: write_lines(farm=farm, year=year, path=path))
        return {"seconds": seconds, "lines": facts.row_count, "bytes": path.stat().st_size}


def year_copied_out(*, year: int) -> dict[str, float]:
    """Return the seconds that the engine's own copy-out of the same lines takes, as they are stored.

    PostgreSQL copies by itself; SQLite has no copy-out in its library, so its cursor goes straight into the csv writer.
    """
    farm = Farm.objects.get(code=CODE)
    with tempfile.TemporaryDirectory(prefix="bench") as folder:
        given = [farm.pk, f"{year}-01-01", f"{year}-12-31"]
        seconds, rows = timed(lambda: copy_out(OF_YEAR, given, Path(folder) / "lines.csv"))
    return {"seconds": seconds, "lines": rows}


def verified() -> dict[str, float]:
    """Return the seconds of the walk over the books; SumsDiffer where they are not whole."""
    seconds, found = timed(verify_ledger)
    if not found.is_whole:
        raise SumsDiffer(f"{len(found.faults)} faults in the books, the first: {found.faults[0]}")
    return {
        "seconds": seconds,
        "lines": sum(books.lines for books in found.books),
        "entries": sum(books.entries for books in found.books),
        "not_posted": sum(books.not_posted for books in found.books),
    }


def agree(first: Sums, second: Sums, what: str) -> None:
    """Raise SumsDiffer where two tables of sums are not the same to the cent."""
    if first != second or not first:
        apart = sorted(first.items() ^ second.items())[:3]
        raise SumsDiffer(f"{what} do not agree: {len(first)} and {len(second)} sums, such as {apart}")


def copy_out(query: str, given: list[Any], path: Path) -> int:
    """Copy what a query gives into a CSV file with names, and return how many rows it has."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with (
                path.open("wb") as file,
                cursor.copy(f"COPY ({query}) TO STDOUT (FORMAT csv, HEADER)", given) as copy,
            ):
                for piece in copy:
                    file.write(piece)
            return int(cursor.rowcount)
        cursor.execute(query, given)
        count = 0
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(column[0] for column in cursor.description)
            while page := cursor.fetchmany(2_000):
                writer.writerows(page)
                count += len(page)
    return count


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return the seconds that some work takes, and its result."""
    started = time.perf_counter()
    result = work()
    return time.perf_counter() - started, result
