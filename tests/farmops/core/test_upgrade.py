"""Tables that exist already are changed by later migrations with the guards' triggers in their way."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.services import tables

pytestmark = pytest.mark.long


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


def consists_of(database: Path) -> dict[tuple[str, str], list[str]]:
    """Return of each table, index and trigger what it consists of, in whatever order its columns stand."""
    return {
        (kind, name): sorted(re.split(r", (?=[\"A-Z])", said.partition("(")[2].removesuffix(")")))
        if kind == "table"
        else [said]
        for kind, name, said in rows(
            database, "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL"
        )
    }


def test_a_new_database_has_the_tables_of_one_that_was_brought_up_to_date_step_by_step() -> None:
    """Its migrations are drawn together, which could leave something out."""
    new, (_, upgraded) = tables.laid(), tables.of_the_first_farm()
    assert len(consists_of(new)) > 1000
    assert consists_of(new) == consists_of(upgraded)
    together = [
        row[0] for row in rows(new, "SELECT name FROM django_migrations WHERE name LIKE '%squashed%'")
    ]
    assert len(together) == 5


def test_what_is_drawn_together_counts_as_done_where_its_steps_were(tmp_path: Path) -> None:
    """The upgraded farm's next `migrate`, which knows of both, lays nothing twice."""
    farm = tmp_path / "farm.sqlite3"
    farm.write_bytes(tables.of_the_first_farm()[1].read_bytes())
    before = consists_of(farm)
    tables.migrate(tables.on_file(farm))
    assert consists_of(farm) == before
    done = rows(farm, "SELECT app, name FROM django_migrations ORDER BY app")
    assert ("scheduling", "0002_field_facts") in done
    assert [app for app, name in done if "squashed" in name] == [
        "digests",
        "farms",
        "ledger",
        "scheduling",
        "weather",
    ]


def test_nothing_stands_in_the_tables_that_tests_begin_with() -> None:
    laid = tables.laid()
    names = [row[0] for row in rows(laid, "SELECT name FROM sqlite_master WHERE type = 'table'")]
    held = {name for name in names if rows(laid, f'SELECT 1 FROM "{name}" LIMIT 1')}
    of_migrations = {"django_migrations", "django_content_type", "auth_permission", "ledger_zero"}
    assert held == {"sqlite_sequence", *of_migrations}
    assert "farms_farm" in names
