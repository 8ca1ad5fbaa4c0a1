"""The kept ground of a day: never another than what is recorded gives, and worked out anew for what changed alone."""

import datetime as dt
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import CropWaterFacts, Farm, Field, Pump, Season, SoilZone
from farmops.weather.models import (
    DailyWeather,
    FieldGroundKept,
    ForecastIssue,
    GaugeReading,
    SoilReading,
    Station,
)
from farmops.weather.services.field_readings import take_back_gauge, take_back_soil_reading
from scheduling.models import (
    FieldPass,
    LimitChoice,
    PassLink,
    PassState,
    Remark,
    SaySo,
    Spraying,
    Watering,
)
from scheduling.selectors.day_ground import work_out_day
from scheduling.selectors.ground_marks import ahead_mark, farm_mark, field_marks
from scheduling.services.keeping_ground import forget_old_ground, ground_of_day
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.farmops.weather.makers import read_in_grid
from tests.scheduling.care_facts import make_pivot, make_seen, make_work
from tests.scheduling.ground import MONDAY, SUNDAY, make_dry_spring

DAY = SUNDAY + dt.timedelta(days=1)
NOW = MONDAY + dt.timedelta(hours=5)


@pytest.fixture
def farm(db: None) -> Farm:
    farm = make_farm()
    make_dry_spring(farm)
    for code in ("pond-40", "low-30"):
        season = make_season(make_field(farm, code))
        before, after = make_pass(season, "disk"), make_pass(season, "plant")
        PassLink.objects.create(farm=farm, before=before, after=after)
    return farm


def kept(farm: Farm) -> dict[str, FieldGroundKept]:
    found = ground_of_day(farm=farm, day=DAY, as_of=SUNDAY, now=NOW)
    return {row.field.code: row for row in found.fields.select_related("field")}


def a_row(farm: Farm, **facts: Any) -> dict[str, Any]:
    return {"farm": farm, "client_id": uuid.uuid4(), "recorded_at": NOW, **facts}


CHANGES: dict[str, Callable[[Farm, Field], Any]] = {
    "weather": lambda farm, field: DailyWeather.objects.filter(farm=farm, day=SUNDAY).update(rain_mm=40),
    "station": lambda farm, field: Station.objects.update(latitude_deg=Decimal("31.9")),
    "forecast": lambda farm, field: ForecastIssue.objects.create(
        farm=farm, source="made up", issued_at=NOW - dt.timedelta(days=1), file_sha256="0" * 64
    ),
    "crop water": lambda farm, field: CropWaterFacts.objects.create(
        farm=farm, crop="cotton", root_depth_in=Decimal(30), set_at=NOW
    ),
    "limit": lambda farm, field: LimitChoice.objects.create(
        farm=farm, field=field, key="wind_most", number=8, source="farm judgement", set_at=NOW
    ),
    "field": lambda farm, field: Field.objects.filter(pk=field.pk).update(latitude_deg=Decimal("31.7")),
    "zone": lambda farm, field: SoilZone.objects.filter(field=field).update(texture="clay_loam"),
    "season": lambda farm, field: Season.objects.filter(field=field).update(crop="corn"),
    "pass": lambda farm, field: FieldPass.objects.filter(season__field=field, operation="disk").update(
        state=PassState.FINISHED
    ),
    "link": lambda farm, field: PassLink.objects.filter(after__season__field=field).delete(),
    "pivot": lambda farm, field: make_pivot(field),
    "pump": lambda farm, field: Pump.objects.create(
        farm=farm, code="well-9", name="Well 9", flow_gpm=Decimal(1)
    ),
    "pivot place": lambda farm, field: make_seen(make_pivot(field), MONDAY, is_running=True),
    "gauge": lambda farm, field: GaugeReading.objects.create(
        **a_row(farm, field=field, day=SUNDAY, rain_in=2)
    ),
    "thermometer": lambda farm, field: SoilReading.objects.create(
        **a_row(farm, field=field, read_at=NOW, depth_in=4, temp_f=60)
    ),
    "remark": lambda farm, field: Remark.objects.create(
        **a_row(farm, field=field, said_at=NOW, what="too_wet", operation="disk")
    ),
    "watering": lambda farm, field: Watering.objects.create(
        **a_row(farm, field=field, water_on=SUNDAY, depth_in=1)
    ),
    "spraying": lambda farm, field: Spraying.objects.create(
        **a_row(farm, field=field, ended_at=NOW, products="a made-up product", reentry_h=48)
    ),
    "work": lambda farm, field: make_work(
        FieldPass.objects.filter(season__field=field).order_by("id")[0], make_hand(farm), SUNDAY
    ),
    "say-so": lambda farm, field: SaySo.objects.create(
        farm=farm, field=field, day=DAY, word="not_today", said_at=NOW
    ),
}
OF_ALL = {"weather", "station", "forecast", "crop water", "pump"}


@pytest.mark.parametrize("kind", CHANGES)
def test_whatever_the_ground_rests_on_changes_the_mark_of_what_it_is_about(farm: Farm, kind: str) -> None:
    pond, low = Field.objects.get(code="pond-40"), Field.objects.get(code="low-30")

    def marks() -> tuple[str, dict[int, str]]:
        return farm_mark(farm=farm, day=DAY, as_of=SUNDAY), field_marks(farm=farm, day=DAY, as_of=SUNDAY)

    def ahead(field: Field) -> str:
        return ahead_mark(farm=farm, field=field, first=DAY, last=DAY + dt.timedelta(days=9), as_of=SUNDAY)

    whole, by_field = marks()
    assert marks() == (whole, by_field)
    pond_ahead, low_ahead = ahead(pond), ahead(low)
    CHANGES[kind](farm, pond)
    now_whole, now_by_field = marks()
    assert (ahead(pond) != pond_ahead) is (kind != "link"), "which pass waits for which is read anew"
    if kind not in OF_ALL | {"limit", "pivot", "pivot place"}:
        assert ahead(low) == low_ahead
    assert now_whole != whole
    assert now_by_field[pond.pk] != by_field[pond.pk]
    if kind not in OF_ALL:
        pump_is_new = Pump.objects.exists()  # a pump may serve any field
        assert (now_by_field[low.pk] == by_field[low.pk]) is not pump_is_new


@pytest.mark.parametrize("kind", ["gauge", "thermometer"])
def test_a_reading_that_is_taken_back_is_in_the_marks_and_no_more_in_the_ground(
    farm: Farm, kind: str
) -> None:
    pond = Field.objects.get(farm=farm, code="pond-40")
    first, last = kept(farm)["pond-40"].told, DAY + dt.timedelta(days=9)
    reading = CHANGES[kind](farm, pond)

    def marks() -> list[object]:
        ahead = ahead_mark(farm=farm, field=pond, first=DAY, last=last, as_of=SUNDAY)
        by_field = field_marks(farm=farm, day=DAY, as_of=SUNDAY)
        return [farm_mark(farm=farm, day=DAY, as_of=SUNDAY), by_field[pond.pk], ahead]

    before, told = marks(), kept(farm)["pond-40"].told
    if kind == "gauge":
        take_back_gauge(reading=reading, by=None, now=NOW)
    else:
        take_back_soil_reading(reading=reading, by=None, now=NOW)
    assert all(now != then for now, then in zip(marks(), before, strict=True))
    assert kept(farm)["pond-40"].told == first != told


def test_the_end_of_the_day_goes_by_the_zone_that_the_farm_has_now(farm: Farm) -> None:
    pivot = make_pivot(Field.objects.get(farm=farm, code="pond-40"))
    farm_mark(farm=farm, day=DAY, as_of=SUNDAY)
    midnight = dt.datetime.combine(DAY + dt.timedelta(days=1), dt.time(), ZoneInfo(farm.zone))
    farm.zone = "America/Los_Angeles"
    farm.save()
    before = farm_mark(farm=farm, day=DAY, as_of=SUNDAY)
    make_seen(pivot, midnight + dt.timedelta(hours=1), is_running=True)
    assert farm_mark(farm=farm, day=DAY, as_of=SUNDAY) != before


def test_a_word_on_a_later_day_is_anew_in_the_days_ahead_and_not_in_the_day_before(farm: Farm) -> None:
    pond = Field.objects.get(farm=farm, code="pond-40")
    last = DAY + dt.timedelta(days=9)

    def marks() -> tuple[str, str]:
        ahead = ahead_mark(farm=farm, field=pond, first=DAY, last=last, as_of=SUNDAY)
        return ahead, farm_mark(farm=farm, day=DAY, as_of=SUNDAY)

    before = marks()
    SaySo.objects.create(farm=farm, field=pond, day=last, word="not_today", said_at=NOW)
    after = marks()
    assert after[0] != before[0]
    assert after[1] == before[1]
    SaySo.objects.create(farm=farm, field=pond, day=last + dt.timedelta(days=1), word="fit", said_at=NOW)
    assert marks() == after


@pytest.mark.parametrize("had", [{"hours": 96}, {"hours": 10, "rain_mm": 4.0}], ids=["layers", "hours"])
def test_what_comes_of_a_forecast_that_is_here_already_is_in_the_marks_and_in_the_ground(
    farm: Farm, had: dict[str, Any]
) -> None:
    pond = Field.objects.get(farm=farm, code="pond-40")
    issued_at = MONDAY - dt.timedelta(hours=9)

    def marks() -> list[object]:
        last = DAY + dt.timedelta(days=9)
        asked: dict[str, Any] = {"farm": farm, "field": pond, "first": DAY, "last": last, "as_of": SUNDAY}
        by_field = field_marks(farm=farm, day=DAY, as_of=SUNDAY)
        return [farm_mark(farm=farm, day=DAY, as_of=SUNDAY), by_field[pond.pk], ahead_mark(**asked)]

    read_in_grid(farm, issued_at, **had)
    before, told = marks(), kept(farm)["pond-40"].told
    whole = read_in_grid(farm, issued_at, hours=96, rain_mm=4.0)
    assert whole.new + whole.completed > 80
    after = marks()
    assert all(now != then for now, then in zip(after, before, strict=True))
    fresh = work_out_day(farm=farm, day=DAY, as_of=SUNDAY, fields=[pond]).fields[pond.pk]
    assert kept(farm)["pond-40"].told == fresh != told
    assert not read_in_grid(farm, issued_at, hours=96, rain_mm=4.0).changes
    assert marks() == after, "the same again is no change"


def test_what_is_kept_is_what_would_be_worked_out_now_and_the_rest_stays(farm: Farm) -> None:
    before = kept(farm)
    with CaptureQueriesContext(connection) as asked:
        kept(farm)
    assert len(asked) <= 5
    GaugeReading.objects.create(**a_row(farm, field=before["pond-40"].field, day=SUNDAY, rain_in=3))
    FieldGroundKept.objects.filter(pk=before["low-30"].pk).update(told={"untouched": True})
    after = kept(farm)
    assert after["low-30"].told == {"untouched": True}
    assert before["pond-40"].is_fit
    assert not after["pond-40"].is_fit
    pond = before["pond-40"].field
    fresh = work_out_day(farm=farm, day=DAY, as_of=SUNDAY, fields=[pond])
    assert after["pond-40"].told == fresh.fields[pond.pk]
    assert forget_old_ground(farm=farm, before=DAY) == 0
    assert forget_old_ground(farm=farm, before=DAY + dt.timedelta(days=1)) == 1
