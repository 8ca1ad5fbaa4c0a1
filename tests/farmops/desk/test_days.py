"""From which day on a manager is offered to plan, and which days are refused."""

import datetime as dt

import pytest

from farmops.desk.days import (
    day_to_plan_again,
    first_day,
    observed_to,
    refuse_far_day,
    suggested_day,
    weather_as_of,
    working_day,
)
from farmops.farms.models import Farm
from scheduling.models import PlanState, WeekPlan
from scheduling.selectors.plans import plan_to_keep
from scheduling.services.planning import BadWeek, send_plan
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING, make_dry_spring
from tests.scheduling.weeks import made, working_farm

pytestmark = pytest.mark.django_db
FIRST = dt.date(2026, 4, 20)


def on(day: int) -> dt.date:
    return FIRST + dt.timedelta(days=day)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def test_without_weather_and_plan_the_next_monday_is_offered(farm: Farm) -> None:
    assert observed_to(farm=farm) is None
    assert [suggested_day(farm=farm, today=on(day)) for day in (0, 1, 6, 7)] == [on(0), on(7), on(7), on(7)]


def test_where_the_weather_ended_days_ago_the_day_after_it_is_offered(farm: Farm) -> None:
    make_dry_spring(farm)
    known_to = observed_to(farm=farm)
    assert known_to == on(-1)
    assert suggested_day(farm=farm, today=on(200)) == first_day(farm=farm, today=on(200)) == on(0)
    assert suggested_day(farm=farm, today=on(1)) == on(7)


def test_the_pages_are_about_today_until_the_record_is_old(farm: Farm) -> None:
    assert working_day(farm=farm, today=on(0)) == weather_as_of(farm=farm, today=on(0)) == on(0)
    make_dry_spring(farm)  # to the day before
    for today in (0, 1, 2):
        assert (
            working_day(farm=farm, today=on(today)) == weather_as_of(farm=farm, today=on(today)) == on(today)
        )
    assert weather_as_of(farm=farm, today=on(3)) == on(-1)
    assert working_day(farm=farm, today=on(3)) == on(0)


def test_in_a_sent_week_tomorrow_is_offered(farm: Farm) -> None:
    WeekPlan.objects.create(
        farm=farm, number=1, state=PlanState.SENT, starts_at=MONDAY, days=7, made_at=MONDAY, sent_at=MONDAY,
        problem={}, problem_hash="0" * 64, plan={}, windows={}, status="good", seed=1, limits={},
    )  # fmt: skip
    assert [suggested_day(farm=farm, today=on(day)) for day in (-1, 2, 5, 6)] == [on(0), on(3), on(6), on(7)]


def test_what_is_said_on_sunday_evening_is_about_the_week_that_begins() -> None:
    farm = working_farm()
    make_pass(make_season(make_field(farm, "pond-40")), leave_cents=90_000)
    assert day_to_plan_again(farm=farm, now=SUNDAY_EVENING) == on(-1)
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert day_to_plan_again(farm=farm, now=SUNDAY_EVENING) == on(0)
    assert day_to_plan_again(farm=farm, now=SUNDAY_EVENING - dt.timedelta(days=3)) == on(-4)
    assert day_to_plan_again(farm=farm, now=MONDAY + dt.timedelta(hours=5)) == on(0)
    again = made(farm, starts_at=MONDAY - dt.timedelta(days=1), keep_sent=True)
    assert again.against == plan
    assert plan_to_keep(farm=farm, first_on=on(-1), days=7) == plan
    assert plan_to_keep(farm=farm, first_on=on(-7), days=7) is None


def test_while_the_day_has_work_left_what_is_said_is_about_it() -> None:
    farm = working_farm()
    make_pass(make_season(make_field(farm, "pond-40")), leave_cents=90_000)
    first = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    task = first.tasks.get()
    made(farm, starts_at=MONDAY + dt.timedelta(days=1))
    assert day_to_plan_again(farm=farm, now=task.ends_at - dt.timedelta(minutes=1)) == on(0)
    assert day_to_plan_again(farm=farm, now=task.ends_at) == on(1)


@pytest.mark.parametrize(("day", "is_refused"), [(-1, True), (0, False), (60, False), (61, True)])
def test_days_that_are_over_or_far_off_are_refused(farm: Farm, day: int, is_refused: bool) -> None:
    if not is_refused:
        refuse_far_day(farm=farm, first_on=on(day), today=FIRST)
        return
    with pytest.raises(BadWeek, match=str(on(day))):
        refuse_far_day(farm=farm, first_on=on(day), today=FIRST)
