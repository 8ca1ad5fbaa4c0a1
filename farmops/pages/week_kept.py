"""The mark of all that the week's page says of a plan, beside the clock and what the address asks for."""

import hashlib
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Model

from farmops.farms.models import (
    CareRule,
    Farm,
    Field,
    Hand,
    HandAway,
    Implement,
    Machine,
    Pivot,
    Pump,
    Season,
)
from scheduling.models import (
    CareDone,
    FieldPass,
    PassLink,
    PlannedCare,
    PlannedTask,
    WeekPlan,
)
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.plan_documents import DOCUMENTS
from scheduling.selectors.row_marks import Marked, as_statement

OF_FARM: tuple[type[Model], ...] = (
    Field,
    Season,
    Pivot,
    Pump,
    Machine,
    Implement,
    Hand,
    HandAway,
    CareRule,
)
YEARS_BACK = 1
"""What ended since the plan before is of a season that was planted in its year or the year before."""


def week_mark(*, farm: Farm, plan: WeekPlan, before: WeekPlan | None) -> str:
    """Return the mark of all that the page says of a plan and of the one it is read beside.

    The documents of a plan never change. Of passes it holds those that are open, those of both plans, and, where there are
    two, those of their seasons that ended since.
    """
    plans = (plan.pk,) if before is None else (plan.pk, before.pk)
    since = min(one.starts_at.year for one in (plan, before) if one is not None) - YEARS_BACK
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, plans, since, connection.vendor))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, one.attname)) for one in Farm._meta.concrete_fields]
    return hashlib.sha256(repr((of_farm, plans, marks)).encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(farm_id: int, plans: tuple[int, ...], since: int, vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks."""
    passes = FieldPass.objects.filter(farm=farm_id)
    kinds = {
        **{model.__name__: model._default_manager.filter(farm=farm_id) for model in OF_FARM},
        "plans": WeekPlan.objects.filter(farm=farm_id).defer(*DOCUMENTS),
        "tasks": PlannedTask.objects.filter(plan__in=plans),
        "stops": PlannedCare.objects.filter(plan__in=plans),
        "open": passes.filter(state__in=OPEN_STATES),
        "planned": passes.filter(planned_tasks__plan__in=plans),
    }
    if len(plans) > 1:
        kinds["ended"] = passes.exclude(state__in=OPEN_STATES).filter(season__crop_year__gte=since)
    changed = [Marked(name, rows, columns=("pk",)).as_written() for name, rows in kinds.items()]
    added = [
        Marked("links", PassLink.objects.filter(farm=farm_id)),
        Marked("served", CareDone.objects.filter(farm=farm_id), added_at="recorded_at"),
    ]
    return as_statement([*changed, *(one.as_written() for one in added)])
