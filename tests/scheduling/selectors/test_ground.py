"""The ground of a farm in the database: what is read, said and done on a field is in it, and nothing else is."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import CropWaterFacts, Farm, Field, SoilZone
from farmops.weather.services.field_readings import record_gauge, record_soil_reading
from scheduling.models import WorkRecord
from scheduling.selectors.ground import FarmGround, farm_ground
from scheduling.services.remarks import record_remark
from scheduling.services.waterings import record_watering
from scheduling.windows.report import GroundDay
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.ground import NEW_YORK, make_pivot
from tests.scheduling.windows.makers import make_days, make_forecast

pytestmark = pytest.mark.django_db

MONDAY = dt.date(2026, 4, 20)
SUNDAY = dt.date(2026, 4, 19)
SUNDAY_NIGHT = dt.datetime(2026, 4, 19, 21, tzinfo=NEW_YORK)
MONDAY_MORNING = dt.datetime(2026, 4, 20, 6, tzinfo=NEW_YORK)


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_days(farm, first=dt.date(2025, 9, 1), last=SUNDAY, rain_mm={SUNDAY: 30.0})
    return farm


@pytest.fixture
def field(farm: Farm) -> Field:
    return make_field(farm, "pond-40")


@pytest.fixture
def other(farm: Farm) -> Field:
    return make_field(farm, "white-40")


def sent(**facts: Any) -> dict[str, Any]:
    return {"client_id": uuid.uuid4(), "now": SUNDAY_NIGHT, "recorded_by": None, **facts}


def ground_of(farm: Farm, *, first: dt.date = MONDAY, as_of: dt.date = SUNDAY, **asked: Any) -> FarmGround:
    return farm_ground(farm=farm, first=first, last=first + dt.timedelta(days=6), as_of=as_of, **asked)


def mornings(worked_out: FarmGround) -> dict[tuple[str, str], GroundDay]:
    """Return the first day of each zone by field and name."""
    return {(zone.field, zone.zone): zone.days[0] for zone in worked_out.table()}


def test_a_gauge_at_a_field_outranks_the_station_there_and_nowhere_else(
    farm: Farm, field: Field, other: Field
) -> None:
    record_gauge(farm=farm, field=field, day=SUNDAY, rain_in=Decimal("0.00"), **sent())
    worked_out = ground_of(farm, first=SUNDAY)
    here, there = (mornings(worked_out)[code, "all"] for code in ("pond-40", "white-40"))
    assert (here.rain_mm, here.rain_source, here.rain_chance) == (0.0, "gauge", 0.0)
    assert (there.rain_mm, there.rain_source, there.rain_chance) == (30.0, "station", 1.0)
    assert here.topsoil_m3_m3 < there.topsoil_m3_m3 - 0.05
    assert ground_of(farm).ground.columns == (0, 1)


def test_a_gauge_read_after_as_of_is_not_looked_at_save_on_the_morning_after(
    farm: Farm, field: Field, other: Field
) -> None:
    before, evening = ground_of(farm).table(), dt.datetime(2026, 4, 20, 18, tzinfo=NEW_YORK)
    for read, day, now in (
        (other, MONDAY, evening + dt.timedelta(hours=12)),
        (other, MONDAY + dt.timedelta(days=1), evening + dt.timedelta(days=1)),
        (field, MONDAY, evening),
    ):
        record_gauge(farm=farm, field=read, day=day, rain_in=Decimal("2.00"), **sent(now=now))
    after = ground_of(farm).table()
    assert after[1] == before[1]
    assert after[0].days[0].topsoil_m3_m3 > before[0].days[0].topsoil_m3_m3
    monday = ground_of(farm, as_of=MONDAY).table()[0].days[0]
    assert (monday.rain_mm, monday.rain_source) == (pytest.approx(50.8), "gauge")


def test_fields_of_which_the_same_is_known_share_a_column(farm: Farm, field: Field, other: Field) -> None:
    assert ground_of(farm).ground.columns == (0, 0)


def test_a_remark_of_the_morning_moves_its_zone_and_is_told(farm: Farm, field: Field, other: Field) -> None:
    SoilZone.objects.filter(field=field).update(share_pct=60)
    low = SoilZone.objects.create(farm=farm, field=field, name="low end", texture="sandy_loam", share_pct=40)
    make_days_dry = ground_of(farm, first=MONDAY)
    record_remark(
        farm=farm,
        field=field,
        zone=low,
        said_at=MONDAY_MORNING,
        what="too_dry",
        operation="disk",
        said_by=None,
        client_id=uuid.uuid4(),
        now=MONDAY_MORNING,
    )
    told = mornings(ground_of(farm))
    assert told["pond-40", "low end"].remark_shift_m3_m3 < -0.02
    assert told["pond-40", "all"].remark_shift_m3_m3 == told["white-40", "all"].remark_shift_m3_m3 == 0
    assert told["white-40", "all"] == mornings(make_days_dry)["white-40", "all"]
    assert told["pond-40", "low end"].topsoil_m3_m3 < told["pond-40", "all"].topsoil_m3_m3 - 0.02


def test_a_remark_on_a_field_counts_for_all_of_its_zones(farm: Farm, field: Field) -> None:
    SoilZone.objects.create(farm=farm, field=field, name="low end", texture="clay_loam", share_pct=40)
    record_remark(
        farm=farm,
        field=field,
        said_at=MONDAY_MORNING,
        what="too_dry",
        operation="disk",
        said_by=None,
        client_id=uuid.uuid4(),
        now=MONDAY_MORNING,
    )
    assert all(day.remark_shift_m3_m3 < -0.01 for day in mornings(ground_of(farm)).values())


def test_a_thermometer_reading_of_the_morning_moves_its_field(farm: Farm, field: Field, other: Field) -> None:
    plain = mornings(ground_of(farm))["pond-40", "all"]
    record_soil_reading(
        farm=farm,
        field=field,
        read_at=MONDAY_MORNING,
        depth_in=Decimal("4"),
        temp_f=Decimal("57"),
        client_id=uuid.uuid4(),
        recorded_by=None,
        now=MONDAY_MORNING,
    )
    told = mornings(ground_of(farm))
    assert told["pond-40", "all"].soil_temp_mean_c < plain.soil_temp_mean_c - 2
    assert told["pond-40", "all"].soil_temp_8am_c == pytest.approx(13.9, abs=0.8)  # 57 F two hours before
    assert told["white-40", "all"].soil_temp_mean_c == pytest.approx(plain.soil_temp_mean_c, abs=1e-9)
    assert told["pond-40", "all"].soil_temp_high_c - told["pond-40", "all"].soil_temp_low_c >= 4.0


def test_water_that_was_put_on_is_in_the_ground(farm: Farm, field: Field, other: Field) -> None:
    make_pivot(field)
    record_watering(farm=farm, field=field, water_on=dt.date(2026, 4, 17), depth_in=Decimal("0.75"), **sent())
    worked_out = ground_of(farm, first=dt.date(2026, 4, 17))
    watered, dry = (mornings(worked_out)[code, "all"] for code in ("pond-40", "white-40"))
    assert (watered.watered_mm, dry.watered_mm) == (pytest.approx(19.05), 0.0)
    assert watered.topsoil_m3_m3 > dry.topsoil_m3_m3 + 0.08


def plant(farm: Farm, field: Field, day: dt.date, crop: str = "cotton") -> None:
    WorkRecord.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=make_pass(make_season(field, crop=crop, crop_year=day.year), "plant"),
        hand=make_hand(farm, code=f"hand-{field.code}"),
        work_on=day,
        hand_min=300,
        done_ac=Decimal("40"),
        is_finished=True,
        recorded_at=SUNDAY_NIGHT,
    )


def test_a_planted_field_has_roots_and_an_allowance_and_the_farm_may_set_its_own(
    farm: Farm, field: Field, other: Field
) -> None:
    june = dt.date(2026, 6, 30)
    make_days(farm, first=MONDAY, last=june, mean_c=27.0)
    plant(farm, field, dt.date(2026, 4, 22))
    planted, bare = (
        mornings(ground_of(farm, first=june, as_of=june))[code, "all"] for code in ("pond-40", "white-40")
    )
    assert (planted.stage, bare.stage, bare.root_depth_in) == ("full cover", "bare", None)
    assert planted.root_depth_in == pytest.approx(18.0, abs=0.5)
    assert planted.rootzone_allowed_mm == pytest.approx(
        27.4, abs=0.8
    )  # half of 18 in of sandy loam, 0.12 m³/m³
    CropWaterFacts.objects.create(
        farm=farm,
        crop="cotton",
        root_depth_in=Decimal("12"),
        allowed_share=Decimal("0.400"),
        set_by=None,
        set_at=SUNDAY_NIGHT,
    )
    own = mornings(ground_of(farm, first=june, as_of=june))["pond-40", "all"]
    assert own.root_depth_in == pytest.approx(12.0, abs=0.3)
    assert own.rootzone_allowed_mm == pytest.approx(0.4 * 0.12 * 12 * 25.4, abs=0.5)


def test_roots_never_start_deeper_than_the_farm_lets_them_go(farm: Farm, field: Field) -> None:
    plant(farm, field, dt.date(2026, 4, 15))
    CropWaterFacts.objects.create(
        farm=farm, crop="cotton", root_depth_in=Decimal("5"), set_by=None, set_at=SUNDAY_NIGHT
    )
    young = mornings(ground_of(farm))["pond-40", "all"]
    assert (young.stage, young.root_depth_in) == ("young", pytest.approx(5.0))


def test_a_crop_of_long_ago_is_over(farm: Farm, field: Field) -> None:
    make_days(farm, first=dt.date(2024, 12, 1), last=dt.date(2025, 8, 31))
    plant(farm, field, dt.date(2025, 4, 22))
    day = mornings(ground_of(farm))["pond-40", "all"]
    assert (day.stage, day.root_depth_in) == ("done", None)


def test_a_zones_own_limits_and_curve_go_before_its_textures(farm: Farm, field: Field) -> None:
    zones = SoilZone.objects.filter(field=field)
    by_texture = mornings(ground_of(farm))["pond-40", "all"]
    zones.update(
        retention_residual_m3_m3=0.065,
        retention_saturation_m3_m3=0.41,
        retention_alpha_per_m=7.5,
        retention_n=1.89,
    )
    by_curve = mornings(ground_of(farm))["pond-40", "all"]
    assert by_curve.workable_below_m3_m3 != by_texture.workable_below_m3_m3
    zones.update(workable_m3_m3=0.19, dry_m3_m3=0.08)
    own = mornings(ground_of(farm))["pond-40", "all"]
    assert (own.workable_below_m3_m3, own.dry_below_m3_m3) == (0.19, 0.08)


def test_the_forecasts_hours_are_the_grounds_hours(farm: Farm, field: Field) -> None:
    make_forecast(
        farm,
        issued_at=SUNDAY_NIGHT,
        first_hour=dt.datetime(2026, 4, 20, tzinfo=NEW_YORK),
        hours=72,
        mean_c=15.0,
    )
    ground = ground_of(farm).ground
    tuesday_noon = dt.datetime(2026, 4, 21, 12, tzinfo=NEW_YORK).astimezone(dt.UTC)
    at = ground.grid.starts.index(tuesday_noon)
    assert ground.air_hour_c[at].mean() == pytest.approx(15.0, abs=0.05)


def test_beyond_the_forecast_members_come_from_the_farms_own_days(farm: Farm, field: Field) -> None:
    ground = ground_of(farm, members=200).ground
    assert ground.members == 200
    # a single day of rain in eight months: hardly a member is wet, and none by a drizzle of the mean
    rain = ground.rain_hour_mm.sum(axis=0)
    assert 0 <= (rain > 0).mean() < 0.5
    assert set(rain[rain > 0].round(6)) <= {30.0, 60.0}


def test_what_is_known_of_fields_takes_no_more_queries_with_more_of_it(farm: Farm, field: Field) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            ground_of(farm)
        return len(queries)

    def know(one: Field) -> None:
        record_gauge(farm=farm, field=one, day=SUNDAY, rain_in=Decimal("0.40"), **sent())
        record_watering(farm=farm, field=one, water_on=SUNDAY, depth_in=Decimal("0.50"), **sent())
        plant(farm, one, dt.date(2026, 4, 1))
        for what in ("too_wet", "fits"):
            record_remark(
                farm=farm,
                field=one,
                said_at=SUNDAY_NIGHT - dt.timedelta(hours=3),
                what=what,
                operation="disk",
                said_by=None,
                client_id=uuid.uuid4(),
                now=SUNDAY_NIGHT,
            )
        record_soil_reading(
            farm=farm,
            field=one,
            read_at=SUNDAY_NIGHT - dt.timedelta(hours=3),
            depth_in=Decimal("2"),
            temp_f=Decimal("66"),
            client_id=uuid.uuid4(),
            recorded_by=None,
            now=SUNDAY_NIGHT,
        )

    make_pivot(field)
    know(field)
    before = count()
    for number in range(4):
        more = make_field(farm, f"more-{number}")
        make_pivot(more)
        know(more)
    assert count() == before
