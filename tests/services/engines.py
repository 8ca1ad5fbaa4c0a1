"""Which tests can end otherwise on another database server: those that reach the suite's own database.

The rest is run once, on SQLite. There they are kept from every database: who reaches for one without asking is refused
(pytest-django). Those that are marked `long` have servers, files and processes of their own, or plan at length: the first run
leaves them to the second.
"""

from collections.abc import Collection

import pytest

ASKING = frozenset({"db", "transactional_db", "live_server", "laid_once", "django_db_setup"})
"""The fixtures that open the suite's own database, or let one be opened."""


def asks_for_the_database(marks: Collection[str], fixtures: Collection[str]) -> bool:
    """Whether a test with these marks and fixtures, and those that they ask for, may reach the suite's database."""
    return "django_db" in marks or not ASKING.isdisjoint(fixtures)


def shared_out(items: list[pytest.Item]) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """Return the tests of the second run, which may reach the suite's own database or are long, and the rest."""
    second, rest = [], []
    for item in items:
        marks = {mark.name for mark in item.iter_markers()}
        fixtures: Collection[str] = getattr(item, "fixturenames", ())
        is_second = "long" in marks or asks_for_the_database(marks, fixtures)
        (second if is_second else rest).append(item)
    return second, rest
