"""Which plan rules a day."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from farmops.farms.models import Farm
from scheduling.models import PlanState, WeekPlan
from scheduling.selectors.plans import plan_of_day
from tests.factories import make_farm

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("America/New_York")
MONDAY = dt.date(2026, 4, 20)


def plan(farm: Farm, number: int, first_on: dt.date, *, days: int = 7, sent_on: dt.date | None) -> WeekPlan:
    starts_at = dt.datetime.combine(first_on, dt.time(), ZONE)
    sent_at = dt.datetime.combine(sent_on, dt.time(18), ZONE) if sent_on else None
    newest = not WeekPlan.objects.filter(farm=farm, state=PlanState.SENT).exists() and sent_at is not None
    return WeekPlan.objects.create(
        farm=farm,
        number=number,
        state=PlanState.SENT if newest else PlanState.REPLACED if sent_at else PlanState.MADE,
        starts_at=starts_at,
        days=days,
        made_at=sent_at or starts_at,
        sent_at=sent_at,
        problem={},
        problem_hash="0" * 64,
        plan={},
        windows={},
        status="good",
        seed=1,
        limits={},
    )


def number_on(farm: Farm, day: dt.date) -> int | None:
    ruling = plan_of_day(farm=farm, day=day)
    return ruling.number if ruling else None


def test_a_week_sent_ahead_leaves_the_days_before_it_to_the_week_before() -> None:
    farm = make_farm()
    plan(farm, 1, MONDAY, sent_on=MONDAY - dt.timedelta(days=1))
    plan(farm, 2, MONDAY + dt.timedelta(days=7), sent_on=MONDAY + dt.timedelta(days=5))
    ruled = [number_on(farm, MONDAY + dt.timedelta(days=count)) for count in (-1, 0, 5, 6, 7, 13, 14)]
    assert ruled == [None, 1, 1, 1, 2, 2, None]


def test_a_plan_made_anew_in_the_week_rules_from_its_first_day_on() -> None:
    farm = make_farm()
    plan(farm, 1, MONDAY, sent_on=MONDAY - dt.timedelta(days=1))
    plan(farm, 2, MONDAY + dt.timedelta(days=3), days=4, sent_on=MONDAY + dt.timedelta(days=2))
    assert [number_on(farm, MONDAY + dt.timedelta(days=count)) for count in range(7)] == [1, 1, 1, 2, 2, 2, 2]


def test_a_plan_that_was_not_sent_rules_nothing() -> None:
    farm = make_farm()
    plan(farm, 1, MONDAY, sent_on=None)
    assert number_on(farm, MONDAY) is None
