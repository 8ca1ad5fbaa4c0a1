"""Tables that exist already are changed by later migrations with the guards' triggers in their way."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from tests.services import tables


def rows(database: Path, query: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(database)) as books:
        return books.execute(query).fetchall()


def triggers(database: Path) -> set[str]:
    return {row[0] for row in rows(database, "SELECT name FROM sqlite_master WHERE type = 'trigger'")}


def test_a_database_of_the_first_release_is_brought_up_to_date_and_guarded() -> None:
    first, now = tables.of_the_first_farm()
    assert "scheduling_workrecord_keeps_update" in triggers(first) < triggers(now)
    assert "region" not in {row[1] for row in rows(first, "PRAGMA table_info(farms_farm)")}
    assert rows(now, "SELECT code, region FROM farms_farm") == [("low-bend", "southeast")]


def test_nothing_is_left_of_the_farm_in_the_tables_that_tests_begin_with() -> None:
    laid, (_, now) = tables.laid(), tables.of_the_first_farm()
    names = [row[0] for row in rows(laid, "SELECT name FROM sqlite_master WHERE type = 'table'")]
    held = {name for name in names if rows(laid, f'SELECT 1 FROM "{name}" LIMIT 1')}
    of_migrations = {"django_migrations", "django_content_type", "auth_permission", "ledger_zero"}
    assert held == {"sqlite_sequence", *of_migrations}
    assert "farms_farm" in names
    assert len(names) == len(rows(now, "SELECT name FROM sqlite_master WHERE type = 'table'")) > 100
