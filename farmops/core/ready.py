"""A query that is put into SQL once: for those that every page asks, which took longer to put together than to answer."""

from collections.abc import Callable
from copy import copy
from types import SimpleNamespace
from typing import Any, Generic, TypeVar

from django.db import connection, models
from django.db.models import QuerySet

Row = TypeVar("Row", bound=models.Model)


class Ready(Generic[Row]):
    """A query of rows in which only some whole numbers and texts are others each time.

    `rows` gives it for such values, and `samples` are one of each, in their order, that stand nowhere else in it. A value
    may not decide how the query looks, and a number must fit its column, which one that somebody typed need not. Raises
    ValueError at the first asking where a sample is not once in the query.
    """

    def __init__(self, rows: Callable[..., QuerySet[Row]], *samples: int | str) -> None:
        self._rows, self._samples = rows, samples
        self._written: dict[str, tuple[Any, str, tuple[Any, ...], list[int]]] = {}

    def ask(self, *values: int | str) -> list[Row]:
        """Return the rows for some values, in the order of the samples."""
        written = self._written.get(connection.vendor)
        if written is None:
            written = self._written[connection.vendor] = self._write()
        compiler, sql, params, places = written
        told = list(params)
        for place, value in zip(places, values, strict=True):
            told[place] = type(params[place])(value)
        asked = copy(compiler)
        asked.connection = connection
        asked.as_sql = lambda *_args, **_kwargs: (sql, tuple(told))
        query: Any = SimpleNamespace(get_compiler=lambda using: asked)
        return list(QuerySet(compiler.query.model, query=query, using=connection.alias))

    def _write(self) -> tuple[Any, str, tuple[Any, ...], list[int]]:
        """Return the query as the database takes it, its values, and where among these those of the samples stand."""
        compiler = self._rows(*self._samples).query.get_compiler(connection=connection)
        sql, params = compiler.as_sql()
        places = [[at for at, one in enumerate(params) if one == sample] for sample in self._samples]
        if any(len(found) != 1 for found in places):
            raise ValueError(f"Of {self._samples} each must stand once among {params}.")
        return compiler, sql, tuple(params), [at for (at,) in places]
