"""An irrigation turn from its order to a plan, and through midnight into the next plan."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Field, Hand
from scheduling.models import FieldPass, PlannedTask
from scheduling.selectors.field_facts import watered_mm
from scheduling.services.passes import Step, lay_out
from scheduling.services.planning import send_plan
from scheduling.services.work import record_work
from tests.factories import make_field, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING, make_pivot
from tests.scheduling.weeks import made, working_farm

pytestmark = pytest.mark.django_db
TURN = Step("irrigate", depth_in=Decimal("0.50"), leave_cents=50_000)


@pytest.fixture
def farm() -> Farm:
    return working_farm()


@pytest.fixture
def field(farm: Farm) -> Field:
    field = make_field(farm, planted_ac=Decimal(80))
    make_pivot(field)
    return field


def test_a_turn_is_planned_through_the_night_and_its_water_is_ahead(farm: Farm, field: Field) -> None:
    """0.50 in on 80 ac at 800 gal/min is 22.63 h: longer than any shift, and nobody sits beside it."""
    start, water, stop = lay_out(season=make_season(field), steps=[TURN])
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    tasks = {task.field_pass_id: task for task in PlannedTask.objects.filter(plan=plan)}
    assert tasks[water.pk].work_min == 1358
    assert (tasks[water.pk].hand, tasks[water.pk].machine) == (None, None)
    assert tasks[start.pk].hand is not None
    assert tasks[start.pk].ends_at <= tasks[water.pk].starts_at
    assert tasks[water.pk].ends_at <= tasks[stop.pk].starts_at
    ahead = watered_mm(
        farm=farm,
        first=MONDAY.date(),
        last=MONDAY.date() + dt.timedelta(days=6),
        as_of=SUNDAY_EVENING.date(),
    )
    assert sum(ahead[field.pk].values()) == pytest.approx(12.7)  # 0.50 in


def test_a_turn_that_runs_at_midnight_runs_on(farm: Farm, field: Field) -> None:
    start, _water, _stop = lay_out(season=make_season(field), steps=[TURN])
    FieldPass.objects.filter(pk=start.pk).update(
        fixed_from=MONDAY + dt.timedelta(hours=17, minutes=30), fixed_outfit="pivot:pond-40+teo"
    )
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    evening = MONDAY + dt.timedelta(hours=20)
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=start,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=20,
        done_ac=Decimal(0),
        is_finished=True,
        recorded_by=None,
        now=evening,
    )
    asked: dict[str, Any] = {
        "starts_at": MONDAY + dt.timedelta(days=1),
        "now": evening,
        "as_of": MONDAY.date(),
        "days": 6,
        "keep_sent": True,
    }
    rows = {row["id"]: row for row in made(farm, **asked).problem["tasks"]}
    assert rows["pond-40/irrigate"]["under_way"] == {
        "mode": "pivot:pond-40+pump:pump-1",
        "minutes_left": 1358 - 360,  # it ran from 6 pm to midnight
        "cents_left": 0,
        "held_for": 360,
    }
