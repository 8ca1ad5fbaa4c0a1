"""Planning again from a page, on the day itself and long after the weather's record ended."""

import datetime as dt

import pytest

from farmops.desk.anew import plan_anew
from scheduling.models import WeekPlan
from scheduling.services.passes import lay_out
from scheduling.services.planning import send_plan
from tests.factories import make_field, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import DISK, made, working_farm

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("after", "soonest_min"), [(dt.timedelta(hours=6), 360), (dt.timedelta(days=200), 0)], ids=str
)
def test_what_was_sent_for_the_day_that_the_pages_are_about_stays(
    after: dt.timedelta, soonest_min: int
) -> None:
    """The weather ends on Sunday: on Monday at six, and on any day long after, the pages are about Monday."""
    farm = working_farm()
    lay_out(season=make_season(make_field(farm)), steps=[DISK])
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    now = MONDAY + after
    plan = plan_anew(farm=farm, first_on=MONDAY.date(), seconds=1, made_by=None, now=now)
    (row,) = plan.problem["tasks"]
    assert row["was"]["change_cents"] > 90_000, "more than leaving the pass undone would cost"
    assert row["earliest"] == soonest_min
    assert WeekPlan.objects.get(number=2).made_at == now
