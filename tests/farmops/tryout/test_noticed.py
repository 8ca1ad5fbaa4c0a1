"""What people notice in the demo's week, on a small farm: kept once, and told with what it changes."""

import datetime as dt
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from farmops.core.models import User
from farmops.farms.models import Farm
from farmops.tryout.noticed import evening_notes, morning_words
from farmops.tryout.scenario import Gauge, RemarkMade, SaidSo, Scenario, Thermometer, read_scenario
from farmops.weather.models import GaugeReading, SoilReading
from scheduling.models import Remark, SaySo
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.digests.planned import MONDAY, at
from tests.scheduling.ground import make_dry_spring

pytestmark = pytest.mark.django_db
SUNDAY = MONDAY - dt.timedelta(days=1)
EVENING = at(SUNDAY, 20)


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_pass(make_season(make_field(farm)))
    make_dry_spring(farm, rain_mm=9.0)
    return farm


@pytest.fixture
def quiet() -> Scenario:
    """The demo's scenario in which nobody notices anything."""
    return replace(read_scenario(), said=(), gauges=(), thermometers=(), remarks=())


def evening(farm: Farm, scenario: Scenario) -> list[str]:
    by = User.objects.get_or_create(username="mona")[0]
    return evening_notes(farm=farm, scenario=scenario, day=SUNDAY, said_by=by, now=EVENING)


def test_a_gauge_above_the_station_makes_the_topsoil_wetter_and_one_below_it_drier(
    farm: Farm, quiet: Scenario
) -> None:
    (wet,) = evening(farm, replace(quiet, gauges=(Gauge(SUNDAY, "pond-40", Decimal("1.50")),)))
    assert re.fullmatch(r"gauge at Pond 40 1\.50 in, the station \d\.\d\d: topsoil wetter by 0\.\d{3}", wet)
    assert GaugeReading.objects.get().rain_in == Decimal("1.50")


def test_a_thermometer_and_a_remark_are_told_with_what_they_move(farm: Farm, quiet: Scenario) -> None:
    cold = Thermometer(SUNDAY, dt.time(8), "pond-40", Decimal(4), Decimal(50))
    remark = RemarkMade(SUNDAY, dt.time(9), "pond-40", "all", "too_wet", "disk", "sticks")
    soil, wet = evening(farm, replace(quiet, thermometers=(cold,), remarks=(remark,)))
    assert re.fullmatch(r"soil at Pond 40 50 °F at 4 in: the model's day colder by \d+\.\d °F", soil)
    assert re.fullmatch(r"Pond 40: too wet to disk, topsoil put up by 0\.\d{3}", wet)
    assert (SoilReading.objects.count(), Remark.objects.get().note) == (1, "sticks")


def test_a_word_of_the_morning_is_told_with_the_hours_that_it_shuts(farm: Farm, quiet: Scenario) -> None:
    said = replace(quiet, said=(SaidSo(MONDAY, "pond-40", "all", "not_today"),))
    by = User.objects.create(username="mona")
    told = morning_words(farm=farm, scenario=said, day=MONDAY, said_by=by, now=at(MONDAY, 6))
    assert len(told) == 1
    shut = re.fullmatch(r"Pond 40: “not today”, shuts (\d+\.\d) hours of the day", told[0])
    assert shut is not None
    assert 0 < float(shut[1]) <= 14
    assert SaySo.objects.get().word == "not_today"


def test_another_day_keeps_nothing(farm: Farm, quiet: Scenario) -> None:
    later = Gauge(MONDAY, "pond-40", Decimal("1.50"))
    assert evening(farm, replace(quiet, gauges=(later,))) == []
    assert GaugeReading.objects.count() == 0
