"""A mark of all that the costs and budgets of a crop year are worked out from and said with, in two queries.

Whoever makes their pages read another kind of row adds it here; a test changes each kind that there is and sees the
mark change.
"""

import hashlib
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Model

from farmops.farms.models import Farm, Field, Implement, LatePlantingFacts, Machine, Season
from ledger.models import BudgetLine, FarmCategory, PostingWait, SeasonYield
from ledger.selectors.chain import chain_head
from scheduling.selectors.row_marks import Marked

SAID_OF_THINGS = ("pk", "code", "name", "name_es")


def costs_mark(*, farm: Farm, crop_year: int) -> str:
    """Return the mark: the head of the books, the farm itself, and the rows beside the books that costs are told by."""
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, crop_year, connection.vendor))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, name)) for name in _columns(Farm)]
    told = repr((of_farm, crop_year, chain_head(farm=farm), marks))
    return hashlib.sha256(told.encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(farm_id: int, crop_year: int, vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks of all kinds as the database takes it: putting it together takes longer than asking."""
    first, *others = [one.whole() for one in _marked(farm_id, crop_year)]
    sql, params = first.union(*others, all=True).query.get_compiler(connection=connection).as_sql()
    return sql, tuple(params)


def _marked(farm_id: int, crop_year: int) -> list[Marked]:
    def of(model: type[Model], *columns: str, **where: Any) -> Marked:
        rows = model._default_manager.filter(farm=farm_id, **where)
        return Marked(model.__name__, rows, columns=columns)

    return [
        of(Field, "pk", "code", "name"),
        of(Season, *_columns(Season), crop_year=crop_year),
        of(Machine, *SAID_OF_THINGS),
        of(Implement, *SAID_OF_THINGS),
        of(FarmCategory, *_columns(FarmCategory)),
        of(LatePlantingFacts, *_columns(LatePlantingFacts)),
        of(PostingWait, "pk", "happened_on", "source_kind", "source_id", "says"),
        of(SeasonYield),
        of(BudgetLine),
    ]


def _columns(model: type[Model]) -> tuple[str, ...]:
    return tuple(one.attname for one in model._meta.concrete_fields)
