"""The mark of all that the pages of debris are worked out from and said with, beside the day that they are about.

Whoever makes these pages read another kind of row adds it here; a test holds the tables that they read against these.
"""

import hashlib
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Model

from farmops.farms.models import Farm, Field, Hand, HandSkill, Implement, ImplementOperation, Machine, Season
from farmops.farms.operations import Operation
from ledger.models import Bill, MachineCostFacts, Rate
from scheduling.models import (
    DebrisNumbers,
    FieldPass,
    Incident,
    IncidentMended,
    IncidentPlace,
    PassLink,
    WorkRecord,
)
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.row_marks import Marked, as_statement

OF_FARM: tuple[type[Model], ...] = (
    Field,
    Season,
    Machine,
    Implement,
    Hand,
    HandSkill,
    ImplementOperation,
    DebrisNumbers,
    Rate,
    MachineCostFacts,
    Bill,
    Incident,
    IncidentMended,
    IncidentPlace,
    PassLink,
)
EVERY = ("pk",)
"""Rows that can change, whichever of their columns it is."""


def debris_mark(*, farm: Farm) -> str:
    """Return the mark of the farm itself and of these rows, in one query."""
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, connection.vendor))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, one.attname)) for one in Farm._meta.concrete_fields]
    return hashlib.sha256(repr((of_farm, marks)).encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(farm_id: int, vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of all marks."""
    return as_statement([one.as_written() for one in _marked(farm_id)])


def _marked(farm_id: int) -> list[Marked]:
    passes = FieldPass.objects.filter(farm=farm_id)
    return [
        *(
            Marked(model.__name__, model._default_manager.filter(farm=farm_id), columns=EVERY)
            for model in OF_FARM
        ),
        Marked("work", WorkRecord.objects.filter(farm=farm_id), added_at="recorded_at"),
        Marked("open passes", passes.filter(state__in=OPEN_STATES), columns=EVERY),
        Marked("walks", passes.filter(operation=Operation.DEBRIS_WALK), columns=EVERY),
    ]
