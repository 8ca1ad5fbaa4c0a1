"""A mark of rows as they stand in the database: any change of what is marked gives another mark."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Aggregate, CharField, Count, F, Max, QuerySet, TextField, Value
from django.db.models.functions import Cast, Coalesce, Concat


class RowsMark(Aggregate):
    """The MD5 of some columns of all rows, ordered by the first; a mark against change by chance, not against forgers."""

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
        """Return the rows as quoted literals, in the order in which they are read."""
        return super().as_sql(
            compiler,
            connection,
            template="MD5(GROUP_CONCAT(QUOTE(%(expressions)s), ';'))",
            arg_joiner=") || '|' || QUOTE(",
            **extra,
        )


@dataclass(frozen=True)
class Marked:
    """Rows of one kind that something is worked out from.

    `field_path` leads to the row id of the field that they are about; empty: they count for every field. `columns` are
    what can change of a row; without any, rows are only ever added, and their number and newest id say it all.
    """

    name: str
    rows: QuerySet[Any]
    field_path: str = ""
    columns: Sequence[str] = ()

    def of_field(self, field_id: int) -> QuerySet[Any]:
        """Return the rows that are about a field, by its row id."""
        return self.rows.filter(**{self.field_path: field_id})

    def _mark(self) -> Any:
        if self.columns:
            return Coalesce(RowsMark(*self.columns), Value(""), output_field=TextField())
        return Concat(
            Cast(Count("pk"), TextField()),
            Value("/"),
            Cast(Coalesce(Max("pk"), 0), TextField()),
            output_field=TextField(),
        )

    def whole(self) -> QuerySet[Any]:
        """Return one row: the name and the mark of all rows."""
        named = self.rows.order_by().annotate(marked=Value(self.name, output_field=TextField()))
        return named.values("marked").annotate(mark=self._mark()).values_list("marked", "mark")

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
