"""Write many rows by one statement, in one turn to the database.

The ORM builds each statement anew, and on PostgreSQL its cursors write the values into the text, bytes as twice as many
digits. Here the server reads the statement once, the values come beside it, and large ones are squeezed by lz4 where the
server can: rows with a mail of 12 kB took it 0.24 ms of CPU each, 0.46 by the way it is set up to (PostgreSQL 15).
"""

import datetime as dt
import uuid
from collections.abc import Callable, Collection, Iterator, Sequence
from functools import lru_cache
from typing import Any, TypeVar
from weakref import WeakSet

from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper
from django.db.models import Field, Model

AS_THEY_ARE = frozenset((str, int, type(None)))
"""Values of these very types are handed over as they are, whatever the column."""

AS_THEY_ARE_BESIDE = AS_THEY_ARE | {bytes, bool, dt.datetime, uuid.UUID}
"""Those of PostgreSQL; its driver tells it an instant with its zone."""

MOST_ROWS = 100
"""So many rows go into one statement: neither database takes any number of values."""

Row = TypeVar("Row")

LIGHTER = (
    "SELECT set_config(name, 'lz4', false) FROM pg_settings "
    "WHERE name = 'default_toast_compression' AND 'lz4' = ANY (enumvals)"
)
_lightened: WeakSet[Any] = WeakSet()


def insert_many(made: Collection[Model]) -> None:
    """Store new rows of one model, all or none; they are not told their ids."""
    if not made:
        return
    options = next(iter(made))._meta
    columns: list[Field[Any, Any]] = [one for one in options.concrete_fields if not one.primary_key]
    quote = connection.ops.quote_name
    names = ", ".join(quote(str(one.column)) for one in columns)
    marks = f"({', '.join(['%s'] * len(columns))})"
    take = taker()
    rows = [[take(one, getattr(row, one.attname)) for one in columns] for row in made]
    with transaction.atomic(), _cursor() as cursor:
        for some in _parts(rows):
            statement = (
                f"INSERT INTO {quote(options.db_table)} ({names}) VALUES {', '.join([marks] * len(some))}"
            )
            cursor.execute(
                _statement(statement),
                [value for row in some for value in row],
            )


def update_many(
    model: type[Model],
    *,
    sets: str,
    values: Sequence[Any],
    by: Sequence["Field[Any, Any]"],
    own: Sequence["Field[Any, Any]"],
    rows: Sequence[Sequence[Any]],
    only: str,
    only_values: Sequence[Any],
) -> int:
    """Change rows of one model, all or none; return how many that changed.

    `sets` and `only`, with their values, say in SQL what is set in all of them and which rows may change. Each of `rows`
    gives, as the database takes them, the values of the columns `by` which a row is found, then those of its `own`.
    """
    quote = connection.ops.quote_name
    table = quote(model._meta.db_table)
    marks = f"({', '.join(_mark(one) for one in (*by, *own))})"
    # Both databases call the columns of bare values so.
    names = (f"told.column{number}" for number in range(1, len(by) + len(own) + 1))
    found = [f"{table}.{quote(str(one.column))} = {name}" for one, name in zip(by, names)]
    sets_own = [f"{quote(str(one.column))} = {name}" for one, name in zip(own, names)]
    changed = 0
    with transaction.atomic(), _cursor() as cursor:
        for some in _parts(rows):
            statement = (
                f"UPDATE {table} SET {', '.join((sets, *sets_own))} "
                f"FROM (VALUES {', '.join([marks] * len(some))}) AS told WHERE {' AND '.join((*found, only))}"
            )
            cursor.execute(
                _statement(statement),
                [*values, *(value for row in some for value in row), *only_values],
            )
            changed += int(cursor.rowcount)
    return changed


def _mark(column: "Field[Any, Any]") -> str:
    """Return the mark of a value that stands alone, where PostgreSQL cannot see of which kind it is."""
    return f"%s::{column.rel_db_type(connection)}" if connection.vendor == "postgresql" else "%s"


def _parts(rows: Sequence[Row]) -> Iterator[Sequence[Row]]:
    return (rows[first : first + MOST_ROWS] for first in range(0, len(rows), MOST_ROWS))


def taker() -> "Callable[[Field[Any, Any], Any], Any]":
    """Return what gives a value of a column as the database takes it; an instant has a zone."""
    as_they_are = AS_THEY_ARE_BESIDE if connection.vendor == "postgresql" else AS_THEY_ARE

    def take(field: "Field[Any, Any]", value: Any) -> Any:
        return value if type(value) in as_they_are else field.get_db_prep_save(value, connection=connection)

    return take


def _cursor() -> CursorWrapper:
    if connection.vendor != "postgresql":
        return connection.cursor()
    from psycopg import RawCursor  # noqa: PLC0415  (only where this database is)

    connection.ensure_connection()
    line: Any = connection.connection
    if line not in _lightened:
        _lightened.add(line)
        with connection.cursor() as cursor:
            cursor.execute(LIGHTER)
    line.prepare_threshold = 0  # prepared at once; Django's own cursors prepare nothing
    numbered: Any = RawCursor
    return connection.make_cursor(numbered(line))


def _statement(text: str) -> str:
    """Return a statement as its cursor takes it: PostgreSQL's driver would look for the values anew each time."""
    return _numbered(text) if connection.vendor == "postgresql" else text


@lru_cache(maxsize=256)
def _numbered(text: str) -> str:
    first, *others = text.split("%s")
    return first + "".join(f"${number}{other}" for number, other in enumerate(others, start=1))
