"""A query that is put into SQL once: for those that every page asks, which took longer to put together than to answer."""

import datetime as dt
from collections.abc import Callable, Collection
from copy import copy
from types import SimpleNamespace
from typing import Any, Generic, TypeVar

from django.db import connection, models
from django.db.models import BooleanField, F, Func, QuerySet

Row = TypeVar("Row", bound=models.Model)
Told = int | str | dt.date | Collection[int]
"""A value of a query; several whole numbers are told by `Among`."""


class Among(Func):
    """That a column of row ids holds one of some: a condition that looks the same however many there are."""

    output_field = BooleanField()

    def __init__(self, column: str, ids: Collection[int]) -> None:
        super().__init__(F(column))
        self.ids = tuple(ids)

    def as_sql(self, compiler: Any, connection: Any, *_how: Any, **_else: Any) -> Any:
        column, params = compiler.compile(self.get_source_expressions()[0])
        is_one = (
            "= ANY (%s::bigint[])"
            if connection.vendor == "postgresql"
            else "IN (SELECT value FROM json_each(%s))"
        )
        return f"{column} {is_one}", [*params, _stored(self.ids)]


class Ready(Generic[Row]):
    """A query of rows in which only some whole numbers, texts, days, instants and row ids (`Among`) are others each time.

    `rows` gives it for such values, and `samples` are one of each, in their order, that stand nowhere else in it. A value
    may not decide how the query looks, and a number must fit its column, which one that somebody typed need not. What is
    prefetched is left to the caller. Raises ValueError at the first asking where a sample is not once in the query.
    """

    def __init__(self, rows: Callable[..., QuerySet[Row]], *samples: Told) -> None:
        self._rows, self._samples = rows, samples
        self._written: dict[str, tuple[Any, str, tuple[Any, ...], list[int]]] = {}

    def ask(self, *values: Told) -> list[Row]:
        """Return the rows for some values, in the order of the samples."""
        written = self._written.get(connection.vendor)
        if written is None:
            written = self._written[connection.vendor] = self._write()
        compiler, sql, params, places = written
        told = list(params)
        for place, value in zip(places, values, strict=True):
            told[place] = type(params[place])(value) if isinstance(value, int | str) else _stored(value)
        asked = copy(compiler)
        asked.connection = connection
        asked.as_sql = lambda *_args, **_kwargs: (sql, tuple(told))
        query: Any = SimpleNamespace(get_compiler=lambda using: asked)
        return list(QuerySet(compiler.query.model, query=query, using=connection.alias))

    def _write(self) -> tuple[Any, str, tuple[Any, ...], list[int]]:
        """Return the query as the database takes it, its values, and where among these those of the samples stand."""
        compiler = self._rows(*self._samples).query.get_compiler(connection=connection)
        sql, params = compiler.as_sql()
        told = [_stored(sample) for sample in self._samples]
        places = [[at for at, one in enumerate(params) if one == sample] for sample in told]
        if any(len(found) != 1 for found in places):
            raise ValueError(f"Of {self._samples} each must stand once among {params}.")
        return compiler, sql, tuple(params), [at for (at,) in places]


def _stored(value: Told) -> Any:
    """Return a value as the database takes it."""
    if isinstance(value, dt.datetime):
        return connection.ops.adapt_datetimefield_value(value)
    if isinstance(value, dt.date):
        return connection.ops.adapt_datefield_value(value)
    if isinstance(value, int | str):
        return value
    ids = ",".join(map(str, map(int, value)))
    return f"{{{ids}}}" if connection.vendor == "postgresql" else f"[{ids}]"
