"""The mark of all that the pages of debris are worked out from and said with, beside the day that they are about.

Whoever makes these pages read another kind of row adds it here; a test holds the tables that they read against these.
"""

from django.db.models import Model

from farmops.desk.incident_marks import reversals
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
from scheduling.selectors.row_marks import Marked, every_row, mark_of

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
    return mark_of(farm, _marked)


def _marked(farm_id: int) -> list[Marked]:
    passes = FieldPass.objects.filter(farm=farm_id)
    return [
        *every_row(farm_id, OF_FARM),
        reversals(farm_id),
        Marked("work", WorkRecord.objects.filter(farm=farm_id), added_at="recorded_at"),
        Marked("open passes", passes.filter(state__in=OPEN_STATES), columns=EVERY),
        Marked("walks", passes.filter(operation=Operation.DEBRIS_WALK), columns=EVERY),
    ]
