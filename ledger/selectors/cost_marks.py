"""Marks of all that the costs and budgets of a crop year, and lines of the books, are worked out from and said with.

Each is read in two queries. What only the books point to and what never changes there is in the head of the books: bills,
work, rates, and of which work a pass is. Whoever makes these pages read another kind of row adds it here; a test changes
each kind that there is and sees the mark change.
"""

import hashlib
from functools import lru_cache, partial
from typing import Any

from django.db import connection
from django.db.models import Model

from farmops.farms.models import (
    CareRule,
    Farm,
    Field,
    Hand,
    Implement,
    LatePlantingFacts,
    Machine,
    Pivot,
    Pump,
    Season,
)
from ledger.models import BudgetLine, FarmCategory, Payee, PostingWait, SeasonYield
from ledger.selectors.chain import chain_head
from scheduling.selectors.row_marks import Marked, as_statement

SAID_OF_THINGS = ("pk", "code", "name", "name_es")


def costs_mark(*, farm: Farm, crop_year: int) -> str:
    """Return the mark of costs: the head of the books, the farm itself, and the rows beside that costs are told by."""
    return _mark(farm, crop_year, with_sources=False)


def lines_mark(*, farm: Farm, crop_year: int | None = None) -> str:
    """Return the mark of lines that tell what they came from: that of costs, and the rows by which sources are told.

    Without a crop year that of lines which name no season.
    """
    return _mark(farm, crop_year, with_sources=True)


def _mark(farm: Farm, crop_year: int | None, *, with_sources: bool) -> str:
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, crop_year, connection.vendor, with_sources))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, name)) for name in _columns(Farm)]
    told = repr((of_farm, crop_year, chain_head(farm=farm), marks))
    return hashlib.sha256(told.encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(
    farm_id: int, crop_year: int | None, vendor: str, with_sources: bool
) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks of all kinds."""
    kinds = _marked(farm_id, crop_year) + (_sources(farm_id) if with_sources else [])
    return as_statement([one.whole() for one in kinds])


def _marked(farm_id: int, crop_year: int | None) -> list[Marked]:
    of = partial(_of, farm_id)
    return [
        Marked(Farm.__name__, Farm.objects.filter(pk=farm_id), columns=_columns(Farm)),
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


def _sources(farm_id: int) -> list[Marked]:
    of = partial(_of, farm_id)
    return [of(model, *_columns(model)) for model in (Hand, Pump, Pivot, CareRule, Payee)]


def _of(farm_id: int, model: type[Model], *columns: str, **where: Any) -> Marked:
    rows = model._default_manager.filter(farm=farm_id, **where)
    return Marked(model.__name__, rows, columns=columns)


def _columns(model: type[Model]) -> tuple[str, ...]:
    return tuple(one.attname for one in model._meta.concrete_fields)
