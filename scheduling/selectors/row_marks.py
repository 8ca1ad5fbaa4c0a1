"""A mark of rows as they stand in the database: any change of what is marked gives another mark."""

import hashlib
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Aggregate, CharField, Count, F, Max, Model, QuerySet, TextField, Value
from django.db.models.functions import Cast, Coalesce, Concat

from farmops.farms.models import Farm


class RowsMark(Aggregate):
    """Some columns of all rows, ordered by the first, or their MD5: a mark against change by chance, not against forgers."""

    allow_distinct = False
    output_field = CharField()

    def __init__(self, *columns: str, **extra: Any) -> None:
        super().__init__(*columns, **extra)

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Return the rows as PostgreSQL writes them."""
        first, _params = compiler.compile(self.get_source_expressions()[0])
        return super().as_sql(
            compiler,
            connection,
            template=f"MD5(STRING_AGG(ROW(%(expressions)s)::text, ';' ORDER BY {first}))",
            **extra,
        )

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Return the rows as quoted literals, in the order in which they are read.

        Without MD5, which is Python's there: where threads share a connection, as tests with a live server do, one that
        waits for the interpreter in it and one that waits for the connection would wait for each other.
        """
        return super().as_sql(
            compiler,
            connection,
            template="GROUP_CONCAT(QUOTE(%(expressions)s), ';')",
            arg_joiner=") || '|' || QUOTE(",
            **extra,
        )


class RowVersions(RowsMark):
    """The sum of a hash of each row's version: another after any write of a row, even one that left it as it was.

    PostgreSQL has the transaction that wrote a version and the place where it put it, and adds them up in a fraction of
    the time that reading the columns takes. Elsewhere it is the mark of the columns.
    """

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Return the number of rows and the sum of the hashes of their versions."""
        first, _params = compiler.compile(self.get_source_expressions()[0])
        table = first.rpartition(".")[0]
        row = f"ROW({first}, {table}.ctid, {table}.xmin)"
        return self.as_sql(
            compiler,
            connection,
            template=f"COUNT({first})::text || '/' || SUM(HASH_RECORD_EXTENDED({row}, 0))::text",
            **extra,
        )


@dataclass(frozen=True)
class Marked:
    """Rows of one kind that something is worked out from.

    `field_path` leads to the row id of the field that they are about; empty: they count for every field. `columns` are
    what can change of a row; without any, rows are only ever added, and their number and newest id say it all. With
    `added_at`, the column of when they were, they say it also of a database that was set back to an older copy.
    """

    name: str
    rows: QuerySet[Any]
    field_path: str = ""
    columns: Sequence[str] = ()
    added_at: str = ""

    def of_field(self, field_id: int) -> QuerySet[Any]:
        """Return the rows that are about a field, by its row id."""
        return self.rows.filter(**{self.field_path: field_id})

    def _mark(self) -> Any:
        if self.columns:
            return _known(RowsMark(*self.columns))
        last_at = [Value("/"), Cast(Max(self.added_at), TextField())] if self.added_at else []
        return Concat(
            Cast(Count("pk"), TextField()),
            Value("/"),
            Cast(Coalesce(Max("pk"), 0), TextField()),
            *last_at,
            output_field=TextField(),
        )

    def whole(self) -> QuerySet[Any]:
        """Return one row: the name and the mark of all rows."""
        return self._one(self._mark())

    def _one(self, mark: Any) -> QuerySet[Any]:
        named = self.rows.order_by().annotate(marked=Value(self.name, output_field=TextField()))
        return named.values("marked").annotate(mark=mark).values_list("marked", "mark")

    def as_written(self) -> QuerySet[Any]:
        """Return one row like that of `whole`, whose mark is another after any write of a row: cheaper.

        All columns of rows that can change are in it, whichever are named, but for those that the rows leave out
        (`defer`) because they never change.
        """
        if not self.columns:
            return self.whole()
        left_out, _is_left_out = self.rows.query.deferred_loading
        names = (one.attname for one in self.rows.model._meta.concrete_fields if one.name not in left_out)
        columns = ("pk", *names)
        return self._one(_known(RowVersions(*columns)))

    def by_field(self) -> QuerySet[Any]:
        """Return for each field that has rows its id, the name, and the mark of its rows."""
        named = self.rows.order_by().annotate(
            of_field=F(self.field_path), marked=Value(self.name, output_field=TextField())
        )
        return (
            named.values("of_field", "marked")
            .annotate(mark=self._mark())
            .values_list("of_field", "marked", "mark")
        )


def as_statement(marks: Sequence[QuerySet[Any]]) -> tuple[str, tuple[Any, ...]]:
    """Return one query of several marks as the database takes it: putting it together takes longer than asking."""
    first, *others = marks
    sql, params = first.union(*others, all=True).query.get_compiler(connection=connection).as_sql()
    return sql, tuple(params)


def every_row(farm_id: int, models: Iterable[type[Model]]) -> list[Marked]:
    """Return all rows that a farm has of some kinds, whichever of their columns can change."""
    return [
        Marked(model.__name__, model._default_manager.filter(farm=farm_id), columns=("pk",))
        for model in models
    ]


def mark_of(farm: Farm, kinds: Callable[..., Sequence[Marked]], *asked: Hashable) -> str:
    """Return the mark of the farm itself and of the rows that `kinds` gives for its row id and what was asked, in one query.

    `kinds` always gives the same for the same: what it gave is put into SQL once. The farm counts as it is at hand, which
    is what a page is made from, and as it stands now, since some of what a page reads comes with the farm's row anew.
    """
    with connection.cursor() as cursor:
        cursor.execute(*_statement_of(kinds, farm.pk, asked, connection.vendor))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, one.attname)) for one in Farm._meta.concrete_fields]
    return hashlib.sha256(repr((of_farm, marks)).encode()).hexdigest()


@lru_cache(maxsize=1024)
def _statement_of(
    kinds: Callable[..., Sequence[Marked]], farm_id: int, asked: tuple[Hashable, ...], vendor: str
) -> tuple[str, tuple[Any, ...]]:
    of_farm = Marked("the farm", Farm.objects.filter(pk=farm_id), columns=("pk",))
    return as_statement([one.as_written() for one in (of_farm, *kinds(farm_id, *asked))])


def _known(mark: RowsMark) -> Any:
    return Coalesce(mark, Value(""), output_field=TextField())
