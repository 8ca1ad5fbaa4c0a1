"""Rain in a field's gauge on the day that is planned: it outranks the forecast, whose rest of the day still may add."""

import datetime as dt
import uuid
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from farmops.farms.models import Farm
from farmops.weather.services.field_readings import record_gauge
from scheduling.models import FieldPass
from scheduling.selectors.passes import open_passes
from scheduling.selectors.windows import pass_windows
from scheduling.windows import WindowsReport
from scheduling.windows.report import GroundDay
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.scheduling.windows.makers import make_days, make_forecast
from tests.scheduling.windows.scene import chance_at, shut_by

pytestmark = pytest.mark.django_db

NEW_YORK = ZoneInfo("America/New_York")
MONDAY, SUNDAY = dt.date(2026, 4, 20), dt.date(2026, 4, 19)
MIDNIGHT = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)
AT_SEVEN = MIDNIGHT + dt.timedelta(hours=7)
EIGHT, TEN = 8 * 60, 10 * 60


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    return farm


@pytest.fixture
def disking(farm: Farm) -> FieldPass:
    make_pass(make_season(make_field(farm, "pine-20")), "disk")
    return make_pass(make_season(make_field(farm, "pond-40")), "disk")


def dry_week(farm: Farm, rain: dict[dt.datetime, tuple[float, float]] | None = None) -> None:
    make_forecast(
        farm,
        issued_at=MIDNIGHT - dt.timedelta(hours=6),
        first_hour=MIDNIGHT,
        hours=168,
        rain={hour.astimezone(dt.UTC): told for hour, told in (rain or {}).items()},
    )


def gauge(field_pass: FieldPass, rain_in: str, now: dt.datetime = AT_SEVEN, day: dt.date = MONDAY) -> None:
    record_gauge(
        farm=field_pass.farm,
        field=field_pass.season.field,
        day=day,
        rain_in=Decimal(rain_in),
        client_id=uuid.uuid4(),
        recorded_by=None,
        now=now,
    )


def report_of(farm: Farm, as_of: dt.date = MONDAY) -> WindowsReport:
    passes = list(open_passes(farm=farm))
    return pass_windows(farm=farm, passes=passes, starts_at=MIDNIGHT, days=2, as_of=as_of)


def first_day(report: WindowsReport, field: str = "pond-40") -> GroundDay:
    return next(zone.days[0] for zone in report.ground if zone.field == field)


@pytest.mark.parametrize("as_of", [MONDAY, SUNDAY])
def test_rain_since_midnight_shuts_the_field_that_morning(
    farm: Farm, disking: FieldPass, as_of: dt.date
) -> None:
    dry_week(farm)
    dry = report_of(farm, as_of)
    assert chance_at(dry.of("pond-40/disk"), TEN) == 1.0
    gauge(disking, "2.40")
    wet = report_of(farm, as_of)
    assert shut_by(wet.of("pond-40/disk"), TEN) == "sticks"
    told, before = first_day(wet), first_day(dry)
    assert told.topsoil_8am_m3_m3 > before.topsoil_8am_m3_m3 + 0.05
    assert (told.rain_source, told.rain_chance) == ("gauge", 1.0)
    assert told.rain_mm == pytest.approx(60.96)
    assert chance_at(wet.of("pine-20/disk"), TEN) == 1.0, "a neighbor stays as it was"
    assert first_day(wet, "pine-20") == first_day(dry, "pine-20")


def test_what_is_forecast_for_the_rest_of_the_day_adds(farm: Farm, disking: FieldPass) -> None:
    early, noon = MIDNIGHT + dt.timedelta(hours=4), MIDNIGHT + dt.timedelta(hours=12)
    dry_week(farm, {early: (100.0, 10.0), noon: (100.0, 30.0)})
    gauge(disking, "0.00")
    report = report_of(farm)
    told, neighbor = first_day(report), first_day(report, "pine-20")
    assert (told.rain_mm, told.rain_source, told.rain_chance) == (0.0, "gauge", 1.0)
    assert told.topsoil_8am_m3_m3 < neighbor.topsoil_8am_m3_m3, "the early rain did not come there"
    assert told.topsoil_m3_m3 > told.topsoil_8am_m3_m3 + 0.05, "that of the noon may"
    gauge(disking, "1.00", AT_SEVEN + dt.timedelta(minutes=1))
    wet = first_day(report_of(farm))
    assert wet.topsoil_8am_m3_m3 > neighbor.topsoil_8am_m3_m3
    assert wet.rain_mm == pytest.approx(25.4)


def test_no_rain_by_the_morning_leaves_the_chance_of_the_afternoon(farm: Farm, disking: FieldPass) -> None:
    dry_week(farm, {MIDNIGHT + dt.timedelta(hours=15): (40.0, 12.0)})
    gauge(disking, "0.00")
    told = first_day(report_of(farm))
    assert told.rain_chance == pytest.approx(0.4)
    late = MIDNIGHT + dt.timedelta(hours=15)
    told_at_four = chance_at(report_of(farm).of("pond-40/disk"), 18 * 60)
    assert 0 < told_at_four < 1
    gauge(disking, "0.00", late + dt.timedelta(hours=2))
    assert chance_at(report_of(farm).of("pond-40/disk"), 18 * 60) == 1.0


def test_once_the_days_weather_is_in_the_gauge_is_that_of_the_whole_day(
    farm: Farm, disking: FieldPass
) -> None:
    gauge(disking, "0.40")
    make_days(farm, first=MONDAY, last=MONDAY, rain_mm={MONDAY: 2.0})
    told = first_day(report_of(farm))
    assert (told.rain_mm, told.rain_source, told.kind) == (pytest.approx(10.16), "gauge", "observed")


def test_what_was_read_when_the_morning_after_was_over_is_no_part_of_its_plan(
    farm: Farm, disking: FieldPass
) -> None:
    dry_week(farm)
    dry = report_of(farm, SUNDAY)
    gauge(disking, "2.40", AT_SEVEN + dt.timedelta(days=1))
    assert report_of(farm, SUNDAY) == dry
    assert first_day(report_of(farm, MONDAY)).rain_mm == pytest.approx(60.96)


def test_a_round_long_after_the_records_end_counts_its_rain_as_the_nights(
    farm: Farm, disking: FieldPass
) -> None:
    dry_week(farm)
    gauge(disking, "2.40", AT_SEVEN + dt.timedelta(days=3))
    report = report_of(farm, SUNDAY)
    assert shut_by(report.of("pond-40/disk"), EIGHT) == "sticks"
    assert first_day(report).rain_mm == pytest.approx(60.96)


def test_the_hour_in_which_a_gauge_is_read_is_read_where_most_of_it_was_over(
    farm: Farm, disking: FieldPass
) -> None:
    noon = MIDNIGHT + dt.timedelta(hours=12)
    dry_week(farm, {noon: (100.0, 30.0)})
    gauge(disking, "0.00", noon + dt.timedelta(minutes=5))
    assert shut_by(report_of(farm).of("pond-40/disk"), 18 * 60) == "sticks", (
        "the storm of that hour comes yet"
    )
    gauge(disking, "0.00", noon + dt.timedelta(minutes=40))
    assert chance_at(report_of(farm).of("pond-40/disk"), 18 * 60) == 1.0
