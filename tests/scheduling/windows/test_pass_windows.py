"""Windows of a farm in the database: scoped to it, in a constant number of queries, the same every time."""

import datetime as dt
import json
import uuid
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import Farm, Pivot, Pump, PumpShutHours, SoilZone
from farmops.weather.selectors import NoWeather
from scheduling.models import FieldPass, SaySo
from scheduling.selectors.ground import NoSoil, farm_ground, field_ground_table
from scheduling.selectors.passes import open_passes
from scheduling.selectors.windows import pass_windows
from scheduling.services.say_so import SaySoRefused, say_so
from scheduling.services.sprayings import record_spraying
from scheduling.windows import UnknownPass, WindowsReport
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.scheduling.windows.makers import make_days, make_forecast
from tests.scheduling.windows.scene import chance_at, open_minutes, shut_by

pytestmark = pytest.mark.django_db

NEW_YORK = ZoneInfo("America/New_York")
MONDAY = dt.date(2026, 4, 20)
SUNDAY = dt.date(2026, 4, 19)
DAY = 1440


def report_of(
    farm: Farm, *, first: dt.date = MONDAY, days: int = 7, as_of: dt.date | None = None
) -> WindowsReport:
    return pass_windows(
        farm=farm,
        passes=list(open_passes(farm=farm)),
        starts_at=dt.datetime.combine(first, dt.time(), ZoneInfo(farm.zone)),
        days=days,
        as_of=as_of or first - dt.timedelta(days=1),
    )


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def disking(farm: Farm) -> FieldPass:
    return make_pass(make_season(make_field(farm, "pond-40")), "disk")


def rainy_weekend(farm: Farm) -> None:
    """Two wet days, and a dry week forecast."""
    make_days(
        farm, first=dt.date(2026, 1, 1), last=SUNDAY, rain_mm={dt.date(2026, 4, 18): 40.0, SUNDAY: 40.0}
    )
    make_forecast(
        farm,
        issued_at=dt.datetime(2026, 4, 19, 18, tzinfo=NEW_YORK),
        first_hour=dt.datetime(2026, 4, 20, tzinfo=NEW_YORK),
        hours=168,
    )


def test_rain_on_the_weekend_shuts_monday_morning(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    windows = report_of(farm).of("pond-40/disk")
    assert shut_by(windows, 0) == "sticks"
    assert 0 < open_minutes(windows) < 7 * DAY


def test_every_minute_of_every_pass_is_open_or_shut_once(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    for operation in ("rip_bed", "plant", "pivot_walk"):
        make_pass(disking.season, operation)
    report = report_of(farm)
    for windows in report.passes:
        stretches = sorted(
            [(one.from_min, one.to_min) for one in windows.open]
            + [(one.from_min, one.to_min) for one in windows.shut]
        )
        assert stretches[0][0] == 0
        assert stretches[-1][1] == report.horizon_min == 7 * DAY
        assert all(before[1] == after[0] for before, after in pairwise(stretches))
        assert all(0 < one.chance <= 1 and round(one.chance, 4) == one.chance for one in windows.open)


def test_the_same_report_is_the_same_json(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    once, twice = (json.dumps(report_of(farm).to_json()) for _ in range(2))
    assert once == twice
    told = json.loads(once)
    assert told["format"] == "windows/1"
    assert told["passes"][0]["pass"] == "pond-40/disk"
    assert set(told["passes"][0]["open"][0]) == {"from", "to", "chance"}
    assert {"limit", "says", "says_es"} <= set(told["passes"][0]["shut"][0])
    assert len(told["ground"][0]["days"]) == 7


def test_more_fields_take_no_more_queries(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)

    def count() -> int:
        passes = list(open_passes(farm=farm))
        with CaptureQueriesContext(connection) as queries:
            pass_windows(
                farm=farm,
                passes=passes,
                starts_at=dt.datetime.combine(MONDAY, dt.time(), NEW_YORK),
                days=7,
                as_of=SUNDAY,
            )
        return len(queries)

    before = count()
    for number in range(5):
        field = make_field(farm, f"more-{number}")
        make_pass(make_season(field), "disk")
        make_pass(make_season(field, crop="corn"), "plant")
    assert count() == before


def test_a_forecast_of_rain_makes_the_days_after_it_less_sure(farm: Farm, disking: FieldPass) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    noon = dt.datetime(2026, 4, 22, 12, tzinfo=NEW_YORK).astimezone(dt.UTC)
    midnight = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)
    make_forecast(
        farm,
        issued_at=dt.datetime(2026, 4, 19, 18, tzinfo=NEW_YORK),
        first_hour=midnight,
        hours=168,
        rain={noon: (40.0, 40.0)},
    )
    windows = report_of(farm).of("pond-40/disk")
    assert chance_at(windows, 2 * DAY + 11 * 60) == 1.0
    assert chance_at(windows, 2 * DAY + 12 * 60) == 0.6
    # of forty wet members some get little: on dry ground their hours open again
    assert 0.6 < chance_at(windows, 2 * DAY + 15 * 60) < 0.9


def test_rain_falls_in_the_hours_with_amounts_and_not_in_those_with_chances(
    farm: Farm, disking: FieldPass
) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    hours = [dt.datetime(2026, 4, 22, hour, tzinfo=NEW_YORK).astimezone(dt.UTC) for hour in range(8, 16)]
    make_forecast(
        farm,
        issued_at=dt.datetime(2026, 4, 19, 18, tzinfo=NEW_YORK),
        first_hour=dt.datetime(2026, 4, 20, tzinfo=NEW_YORK),
        hours=168,
        rain={hour: (40.0, 40.0 if hour == hours[4] else 0.0) for hour in hours},
    )
    windows = report_of(farm).of("pond-40/disk")
    assert chance_at(windows, 2 * DAY + 11 * 60) == 1.0
    assert chance_at(windows, 2 * DAY + 12 * 60) == 0.6


def test_weather_after_as_of_is_not_looked_at(farm: Farm, disking: FieldPass) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    before = report_of(farm)
    make_days(farm, first=MONDAY, last=MONDAY, rain_mm={MONDAY: 50.0})
    assert report_of(farm) == before
    after = report_of(farm, as_of=MONDAY).of("pond-40/disk")
    assert shut_by(after, 12 * 60) == "rain_now"


def test_a_say_so_opens_its_own_field_and_no_other(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    other = make_pass(make_season(make_field(farm, "low-80")), "disk")
    said_at = dt.datetime(2026, 4, 20, 5, tzinfo=NEW_YORK)
    say_so(farm=farm, field=disking.season.field, day=MONDAY, word="fit", said_by=None, now=said_at)
    report = report_of(farm)
    assert chance_at(report.of("pond-40/disk"), 60) == 1.0
    assert shut_by(report.of(f"{other.season.field.code}/disk"), 60) == "sticks"


def test_a_say_so_on_one_zone_is_told_by_its_name(farm: Farm, disking: FieldPass) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    field = disking.season.field
    SoilZone.objects.filter(field=field).update(share_pct=60)
    low = SoilZone.objects.create(farm=farm, field=field, name="low end", texture="clay_loam", share_pct=40)
    said_at = dt.datetime(2026, 4, 20, 5, tzinfo=NEW_YORK)
    say_so(
        farm=farm,
        field=field,
        zone=low,
        day=MONDAY,
        word="after",
        after_at=dt.time(13),
        said_by=None,
        now=said_at,
    )
    windows = report_of(farm).of("pond-40/disk")
    assert windows.shut[0].says_en == "the grower says of low end: after 1 pm; opens about 1 pm"
    assert chance_at(windows, 13 * 60) == 1.0


def test_power_hours_of_the_pump_shut_the_pivot_only(farm: Farm, disking: FieldPass) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    walk = make_pass(disking.season, "pivot_walk")
    pump = Pump.objects.create(farm=farm, code="well-2", name="Well 2", flow_gpm=Decimal("800"))
    Pivot.objects.create(
        farm=farm,
        field=walk.season.field,
        pump=pump,
        name="pond pivot",
        last_tower_radius_ft=Decimal("1200"),
        walk_ft_per_min=Decimal("9"),
        tower_count=7,
        parking_angle_deg=Decimal("90"),
    )
    PumpShutHours.objects.create(farm=farm, pump=pump, weekday=1, starts_at=dt.time(14), ends_at=dt.time(19))
    report = report_of(farm)
    assert [(one.from_min, one.to_min) for one in report.of("pond-40/pivot_walk").shut] == [
        (DAY + 14 * 60, DAY + 19 * 60)
    ]
    assert report.of("pond-40/disk").shut == ()


@pytest.mark.parametrize(("first", "minutes"), [(dt.date(2026, 3, 2), 10020), (dt.date(2026, 10, 26), 10140)])
def test_a_week_that_changes_the_clock_is_told_in_elapsed_minutes(
    farm: Farm, disking: FieldPass, first: dt.date, minutes: int
) -> None:
    # US clocks change on 8 March and 1 November 2026
    make_days(farm, first=first - dt.timedelta(days=90), last=first + dt.timedelta(days=20))
    sunday = first + dt.timedelta(days=6)
    said_at = dt.datetime.combine(first, dt.time(5), NEW_YORK)
    say_so(
        farm=farm,
        field=disking.season.field,
        day=sunday,
        word="after",
        after_at=dt.time(10),
        said_by=None,
        now=said_at,
    )
    report = report_of(farm, first=first)
    assert report.horizon_min == minutes
    assert [row.day for row in report.ground[0].days] == [
        first + dt.timedelta(days=index) for index in range(7)
    ]
    ten = dt.datetime.combine(sunday, dt.time(10), NEW_YORK).astimezone(dt.UTC)
    opens = report.start.astimezone(dt.UTC) + dt.timedelta(
        minutes=report.of("pond-40/disk").open[-1].from_min
    )
    assert opens == ten


def test_a_label_of_years_ago_still_shuts_planting(farm: Farm, disking: FieldPass) -> None:
    """As long as a label's plant-back days can be, 1460, they count."""
    rainy_weekend(farm)
    make_pass(disking.season, "plant")
    ended_at = dt.datetime(2023, 4, 21, 12, tzinfo=NEW_YORK)
    record_spraying(
        farm=farm,
        client_id=uuid.UUID(int=1),
        field=disking.season.field,
        ended_at=ended_at,
        products="Long Stayer",
        reentry_h=Decimal(24),
        plant_back_days=1460,
        recorded_by=None,
        now=ended_at,
    )
    shut = report_of(farm).of("pond-40/plant").shut
    assert {one.limit for one in shut} == {"plant_back"}
    assert shut[-1].to_min == 7 * DAY


def test_a_plan_from_midday_judges_from_midday(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    whole = report_of(farm, days=3).of("pond-40/disk")
    noon = pass_windows(
        farm=farm,
        passes=[disking],
        starts_at=dt.datetime.combine(MONDAY, dt.time(12, 10), NEW_YORK),
        days=2,
        as_of=SUNDAY,
    )
    assert noon.horizon_min == 2 * DAY
    for minute in range(0, 2 * DAY, 7):
        assert chance_at(noon.of("pond-40/disk"), minute) == chance_at(whole, minute + 730)


def test_another_farms_rows_stay_out(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    before = report_of(farm)
    other = make_farm("cane-brake")
    make_days(other, first=dt.date(2026, 1, 1), last=dt.date(2026, 5, 1), mean_c=5.0)
    other_pass = make_pass(make_season(make_field(other, "pond-40")), "disk")
    say_so(
        farm=other,
        field=other_pass.season.field,
        day=MONDAY,
        word="not_today",
        said_by=None,
        now=dt.datetime(2026, 4, 20, 5, tzinfo=NEW_YORK),
    )
    assert report_of(farm) == before


def test_the_ground_of_a_field_can_be_asked_alone(farm: Farm, disking: FieldPass) -> None:
    rainy_weekend(farm)
    make_field(farm, "low-80", texture="clay_loam")
    (zone,) = field_ground_table(
        farm=farm, field=disking.season.field, first=SUNDAY, last=MONDAY, as_of=SUNDAY
    )
    assert (zone.field, zone.zone, zone.texture) == ("pond-40", "all", "sandy_loam")
    sunday, monday = zone.days
    assert (sunday.kind, sunday.rain_mm) == ("observed", 40.0)
    assert sunday.topsoil_m3_m3 > sunday.workable_below_m3_m3
    assert monday.topsoil_m3_m3 < sunday.topsoil_m3_m3
    # 20 °C on average since January; at 8 am 4 in down the night's cold is still there; 8 DD60 a day (68 F - 60 F)
    assert (sunday.soil_temp_mean_c, sunday.soil_temp_three_days_c) == pytest.approx((20.0, 20.0), abs=0.01)
    assert 16.0 < sunday.soil_temp_8am_c < 19.5
    assert sunday.dd60_five_days_f == pytest.approx(40.0)


def test_the_depth_of_soil_warmth_is_the_crops(farm: Farm) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    make_season(make_field(farm, "corn-40"), crop="corn")
    make_season(make_field(farm, "white-40"), crop="cotton")
    depths = {
        zone.field: zone.soil_depth_in
        for zone in farm_ground(farm=farm, first=MONDAY, last=MONDAY, as_of=SUNDAY).table()
    }
    assert depths == {"corn-40": 2.0, "white-40": 4.0}


def test_a_farm_without_weather_is_told_so(farm: Farm, disking: FieldPass) -> None:
    with pytest.raises(NoWeather):
        report_of(farm)


def test_a_texture_nobody_knows_is_named(farm: Farm) -> None:
    make_field(farm, "odd-40", texture="moon_dust")
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    with pytest.raises(NoSoil, match="moon_dust"):
        report_of(farm)


def test_a_pass_that_was_not_asked_for_is_refused(farm: Farm, disking: FieldPass) -> None:
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY)
    with pytest.raises(UnknownPass, match="pond-40/harvest"):
        report_of(farm).of("pond-40/harvest")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"word": "maybe"}, "maybe"),
        ({"word": "after"}, "after which hour"),
        ({"word": "fit", "after_at": dt.time(10)}, "An hour goes with"),
    ],
)
def test_a_word_that_makes_no_sense_is_refused(
    farm: Farm, disking: FieldPass, changes: dict[str, object], says: str
) -> None:
    asked = {"day": MONDAY, "said_by": None, "now": dt.datetime(2026, 4, 20, 5, tzinfo=NEW_YORK), **changes}
    with pytest.raises(SaySoRefused, match=says):
        say_so(farm=farm, field=disking.season.field, **asked)  # type: ignore[arg-type]
    assert not farm_has_words(farm)


def test_a_word_on_another_farms_field_or_zone_is_refused(farm: Farm, disking: FieldPass) -> None:
    strange = make_field(make_farm("cane-brake"), "far-40")
    now = dt.datetime(2026, 4, 20, 5, tzinfo=NEW_YORK)
    with pytest.raises(SaySoRefused, match="no field 'far-40'"):
        say_so(farm=farm, field=strange, day=MONDAY, word="fit", said_by=None, now=now)
    zone = strange.zones.get()
    with pytest.raises(SaySoRefused, match="no zone 'all'"):
        say_so(
            farm=farm, field=disking.season.field, zone=zone, day=MONDAY, word="fit", said_by=None, now=now
        )
    assert not farm_has_words(farm)


def farm_has_words(farm: Farm) -> bool:
    return SaySo.objects.filter(farm=farm).exists()
