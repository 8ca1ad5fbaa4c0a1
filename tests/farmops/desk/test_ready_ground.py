"""The ground kept ready before anybody looks: of farms that somebody looked at or planned lately, and of no others."""

import datetime as dt

import pytest

from farmops.desk.ready_ground import LATELY, keep_ready
from farmops.farms.models import Farm
from farmops.weather.models import GroundKept
from scheduling.models import WeekPlan
from scheduling.services.keeping_ground import ground_of_day
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY, make_dry_spring

NOW = MONDAY + dt.timedelta(hours=5)


@pytest.fixture
def farm(db: None) -> Farm:
    farm = make_farm()
    make_dry_spring(farm)
    make_pass(make_season(make_field(farm)))
    return farm


def planned(farm: Farm, made_at: dt.datetime) -> None:
    WeekPlan.objects.create(
        farm=farm,
        number=1,
        starts_at=MONDAY,
        days=7,
        made_at=made_at,
        problem={},
        problem_hash="0" * 64,
        plan={},
        windows={},
        status="good",
        cost_cents=0,
        bound_cents=0,
        seed=1,
        limits={},
    )


def test_nothing_is_worked_out_for_a_farm_that_nobody_looks_at_or_plans(farm: Farm) -> None:
    planned(farm, NOW - LATELY - dt.timedelta(minutes=1))
    assert keep_ready(now=NOW) == 0
    assert not GroundKept.objects.exists()


def test_a_farm_that_was_planned_is_ready_before_the_first_look(farm: Farm) -> None:
    planned(farm, NOW - dt.timedelta(hours=1))
    assert keep_ready(now=NOW) == 1
    [kept] = GroundKept.objects.all()
    assert kept.fields.count() == 1
    looked_at = ground_of_day(farm=farm, day=kept.day, as_of=kept.as_of, now=NOW + dt.timedelta(minutes=1))
    assert looked_at.made_at == kept.made_at == NOW


def test_a_farm_that_was_looked_at_lately_stays_ready(farm: Farm) -> None:
    ground_of_day(farm=farm, day=SUNDAY, as_of=SUNDAY, now=NOW - LATELY + dt.timedelta(minutes=1))
    assert keep_ready(now=NOW) == 1
    assert GroundKept.objects.filter(made_at=NOW).exists()
