"""The mark of all that the morning's page says but for what waits, which may be another from one instant to the next."""

import datetime as dt
import hashlib
from functools import lru_cache
from typing import Any

from django.db import connection

from farmops.desk.days import KnownDay
from farmops.farms.models import CareRule, Farm, Hand, HandAway, Implement, Machine, Pivot, Shift
from scheduling.models import FieldPass, PivotPlace, PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.day_rows import day_bounds
from scheduling.selectors.ground_marks import farm_mark
from scheduling.selectors.plan_documents import DOCUMENTS
from scheduling.selectors.plans import LONGEST_DAYS
from scheduling.selectors.row_marks import Marked, as_statement


def morning_mark(*, farm: Farm, known: KnownDay) -> str:
    """Return the mark of the ground of a day, of its plan, of the farm itself, of its hands, and of sights of its pivots."""
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, farm.zone, known.day, connection.vendor))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, one.attname)) for one in Farm._meta.concrete_fields]
    told = (of_farm, marks, farm_mark(farm=farm, day=known.day, as_of=known.as_of))
    return hashlib.sha256(repr(told).encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(farm_id: int, zone: str, day: dt.date, vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks."""
    noon = dt.datetime.combine(day, dt.time(12), dt.UTC)
    near = (noon - dt.timedelta(days=LONGEST_DAYS + 3), noon + dt.timedelta(days=3))
    begins, ends = day_bounds(day=day, zone=zone)
    tasks = PlannedTask.objects.filter(farm=farm_id, plan__starts_at__range=near)
    of_day = tasks.filter(starts_at__lt=ends, ends_at__gt=begins)
    kinds = {
        "hands": Hand.objects.filter(farm=farm_id),
        "shifts": Shift.objects.filter(farm=farm_id),
        "away": HandAway.objects.filter(farm=farm_id),
        "plans": WeekPlan.objects.filter(farm=farm_id).defer(*DOCUMENTS),
        "tasks": tasks,
        "passes": FieldPass.objects.filter(pk__in=of_day.values("field_pass")),
        "services": PlannedCare.objects.filter(farm=farm_id, starts_at__gte=begins, starts_at__lt=ends),
        "rules": CareRule.objects.filter(farm=farm_id),
        "machines": Machine.objects.filter(farm=farm_id),
        "implements": Implement.objects.filter(farm=farm_id),
        "pivots": Pivot.objects.filter(farm=farm_id),
    }
    changed = [Marked(name, rows, columns=("pk",)).as_written() for name, rows in kinds.items()]
    sights = Marked("sights", PivotPlace.objects.filter(farm=farm_id), added_at="recorded_at")
    return as_statement([*changed, sights.as_written()])
