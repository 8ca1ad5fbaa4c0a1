"""Days in one row: what is read, what is forecast, and what is only usual."""

import datetime as dt
import math
from collections.abc import Mapping

import numpy as np
import pytest

from farmops.farms.models import Farm
from farmops.weather.selectors import NoWeather, daily_series, hourly_forecast
from tests.factories import make_farm
from tests.farmops.weather.makers import make_days, make_issue, make_station

pytestmark = pytest.mark.django_db

SUNDAY = dt.date(2026, 4, 19)
EVENING = dt.datetime(2026, 4, 19, 22, 30, tzinfo=dt.UTC)  # 6:30 pm on the farm's clock


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def warm_hours(hour: int) -> Mapping[str, float | None]:
    return {"temp_c": 15.0 + 5 * math.sin(hour / 24 * 2 * math.pi), "rain_chance_pct": 40.0, "rain_mm": 0.25}


def test_days_that_were_read_come_back_as_they_were_read(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY, [{"rain_mm": 12.5}, {"temp_max_c": 25.0}, {}])
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + dt.timedelta(days=2))
    assert series.days == [SUNDAY, dt.date(2026, 4, 20), dt.date(2026, 4, 21)]
    assert series.rain_mm.tolist() == [12.5, 0.0, 0.0]
    assert series.temp_max_c.tolist() == [22.0, 25.0, 22.0]
    assert series.rain_chance.tolist() == [1.0, 0.0, 0.0]
    assert series.kind == ["observed"] * 3
    assert np.isnan(series.solar_mj_m2).all()
    assert series.notes == ()


def test_a_day_after_as_of_is_not_seen_even_if_it_was_read_since(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{}] * 21 + [{"rain_mm": 80.0}])
    monday = SUNDAY + dt.timedelta(days=1)
    known_now = daily_series(farm=farm, first=monday, last=monday)
    known_then = daily_series(farm=farm, first=monday, last=monday, as_of=SUNDAY)
    assert (known_now.rain_mm[0], known_now.kind[0]) == (80.0, "observed")
    assert (known_then.rain_mm[0], known_then.kind[0]) == (0.0, "climatology")


def test_the_newest_issue_before_the_end_of_the_day_speaks_for_later_days(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{}] * 21)
    make_issue(
        farm,
        EVENING - dt.timedelta(hours=12),
        hours=72,
        layers=lambda hour: {**warm_hours(hour), "rain_mm": 9.0},
    )
    make_issue(farm, EVENING, hours=72, layers=warm_hours)
    make_issue(
        farm,
        EVENING + dt.timedelta(hours=9),
        hours=72,
        layers=lambda hour: {**warm_hours(hour), "rain_mm": 5.0},
    )
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + dt.timedelta(days=2), as_of=SUNDAY)
    assert series.kind == ["observed", "forecast", "forecast"]
    assert series.rain_mm[1] == pytest.approx(24 * 0.25)
    assert series.rain_chance[1] == pytest.approx(0.4)
    assert series.temp_max_c[1] == pytest.approx(20.0, abs=0.2)
    assert series.temp_min_c[1] == pytest.approx(10.0, abs=0.2)


def test_an_issue_of_eleven_at_night_on_the_farms_clock_belongs_to_that_day(farm: Farm) -> None:
    make_issue(farm, dt.datetime(2026, 4, 20, 3, 0, tzinfo=dt.UTC), hours=48, layers=warm_hours)
    assert hourly_forecast(farm=farm, as_of=SUNDAY) is not None
    assert hourly_forecast(farm=farm, as_of=SUNDAY - dt.timedelta(days=1)) is None


def test_a_forecast_day_with_few_hours_is_left_to_the_usual_weather(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{"temp_max_c": 30.0}] * 21)
    make_issue(
        farm, EVENING, hours=5 + 24 + 19, layers=warm_hours
    )  # Sunday's rest, Monday, 19 hours of Tuesday
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + dt.timedelta(days=2), as_of=SUNDAY)
    assert series.kind == ["observed", "forecast", "climatology"]
    assert series.temp_max_c[2] == 30.0


def test_the_day_of_23_hours_is_a_forecast_day(farm: Farm) -> None:
    saturday = dt.date(2026, 3, 7)
    make_days(make_station(farm), saturday - dt.timedelta(days=20), [{}] * 21)
    noon = dt.datetime(2026, 3, 7, 17, 0, tzinfo=dt.UTC)
    make_issue(
        farm, noon, hours=72, layers=lambda hour: {"temp_c": 12.0, "rain_chance_pct": 100.0, "rain_mm": 1.0}
    )
    series = daily_series(farm=farm, first=saturday, last=saturday + dt.timedelta(days=2), as_of=saturday)
    assert series.rain_mm[1:].tolist() == [23.0, 24.0]


def test_a_missing_layer_is_not_zero(farm: Farm) -> None:
    wet_and_dry = [{"rain_mm": 10.0 if day % 4 == 0 else 0.0} for day in range(40)]
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=39), wet_and_dry)
    make_issue(farm, EVENING, hours=72, layers=lambda hour: {"temp_c": 15.0, "rain_chance_pct": 60.0})
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + dt.timedelta(days=1), as_of=SUNDAY)
    assert series.kind[1] == "forecast"
    assert series.rain_if_wet_mm[1] == 10.0
    assert series.rain_mm[1] == pytest.approx(6.0)
    assert np.isnan(series.wind_m_s[1])


@pytest.mark.parametrize(("rain_mm", "chance"), [(0.5, 1.0), (0.001, 0.0)])
def test_an_issue_with_amounts_and_no_chances_is_taken_at_its_word(
    farm: Farm, rain_mm: float, chance: float
) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{}] * 21)
    make_issue(farm, EVENING, hours=72, layers=lambda hour: {"temp_c": 15.0, "rain_mm": rain_mm})
    series = daily_series(farm=farm, first=dt.date(2026, 4, 20), last=dt.date(2026, 4, 20), as_of=SUNDAY)
    assert series.rain_chance[0] == chance


def test_wind_of_a_forecast_is_brought_down_to_two_meters(farm: Farm) -> None:
    # FAO Irrigation and Drainage Paper 56, example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m.
    make_issue(farm, EVENING, hours=72, layers=lambda hour: {**warm_hours(hour), "wind_m_s": 3.2})
    series = daily_series(farm=farm, first=dt.date(2026, 4, 20), last=dt.date(2026, 4, 20), as_of=SUNDAY)
    assert series.wind_m_s[0] == pytest.approx(2.4, abs=0.05)


def test_air_humidity_that_an_issue_lacks_is_worked_out_from_its_dewpoint(farm: Farm) -> None:
    # FAO Irrigation and Drainage Paper 56, table 2.3: 1.228 kPa at 10 °C, 2.338 kPa at 20 °C.
    make_issue(
        farm, EVENING, hours=72, layers=lambda hour: {"temp_c": 20.0, "dewpoint_c": 10.0, "rain_mm": 0.0}
    )
    series = daily_series(farm=farm, first=dt.date(2026, 4, 20), last=dt.date(2026, 4, 20), as_of=SUNDAY)
    assert series.humidity_min_pct[0] == pytest.approx(100 * 1.228 / 2.338, abs=0.1)


def test_usual_weather_is_the_mean_of_the_same_fortnight_of_other_years(farm: Farm) -> None:
    station = make_station(farm)
    for year, high, rain in ((2023, 20.0, 0.0), (2024, 24.0, 8.0)):
        make_days(station, dt.date(year, 5, 1), [{"temp_max_c": high, "rain_mm": rain}] * 31)
        make_days(station, dt.date(year, 1, 1), [{"temp_min_c": -5.0, "temp_max_c": 0.0}] * 31)
    day = dt.date(2026, 5, 15)
    series = daily_series(farm=farm, first=day, last=day, as_of=SUNDAY)
    assert series.temp_max_c[0] == pytest.approx(22.0)
    assert series.rain_mm[0] == pytest.approx(4.0)
    assert (series.rain_chance[0], series.rain_if_wet_mm[0]) == (0.5, 8.0)
    assert series.notes == ()


def test_usual_weather_wraps_around_the_new_year_and_the_leap_day(farm: Farm) -> None:
    station = make_station(farm)
    make_days(station, dt.date(2023, 12, 25), [{"temp_min_c": 1.0, "temp_max_c": 8.0}] * 15)
    make_days(station, dt.date(2024, 2, 22), [{"temp_max_c": 16.0}] * 15)
    for day, high in ((dt.date(2026, 1, 1), 8.0), (dt.date(2028, 2, 29), 16.0)):
        series = daily_series(farm=farm, first=day, last=day, as_of=dt.date(2025, 12, 1))
        assert series.temp_max_c[0] == high
        assert series.notes == ()


def test_with_too_little_history_the_nearest_known_days_stand_in_and_the_notes_say_so(farm: Farm) -> None:
    make_days(
        make_station(farm),
        SUNDAY - dt.timedelta(days=29),
        [{"temp_max_c": 10.0}] * 16 + [{"temp_max_c": 20.0}] * 14,
    )
    day = dt.date(2026, 7, 1)
    series = daily_series(farm=farm, first=day, last=day, as_of=SUNDAY)
    assert series.temp_max_c[0] == 20.0
    assert "too little history" in series.notes[0]


def test_one_wet_spell_does_not_make_a_wet_season(farm: Farm) -> None:
    make_days(
        make_station(farm), SUNDAY - dt.timedelta(days=59), [{"rain_mm": 0.0}] * 54 + [{"rain_mm": 20.0}] * 6
    )
    day = SUNDAY + dt.timedelta(days=3)
    series = daily_series(farm=farm, first=day, last=day, as_of=SUNDAY)
    assert (series.rain_chance[0], series.rain_if_wet_mm[0]) == (pytest.approx(0.1), 20.0)


def test_a_hole_in_the_past_gets_usual_weather_not_zero_rain(farm: Farm) -> None:
    station = make_station(farm)
    make_days(station, SUNDAY - dt.timedelta(days=30), [{"rain_mm": 6.0}] * 20)
    make_days(station, SUNDAY, [{}])
    hole = SUNDAY - dt.timedelta(days=5)
    series = daily_series(farm=farm, first=hole, last=SUNDAY, as_of=SUNDAY)
    assert series.kind == ["climatology"] * 5 + ["observed"]
    assert series.rain_mm[0] == pytest.approx(20 * 6.0 / 21)  # all known wet days, and the dry one after


def test_the_nearer_station_speaks_first_and_the_other_fills_what_it_lacks(farm: Farm) -> None:
    far = make_station(farm, "far", latitude_deg="32.600000", longitude_deg="-83.520000")
    near = make_station(farm, "near", latitude_deg="31.610000", longitude_deg="-83.520000")
    make_days(far, SUNDAY, [{"rain_mm": 30.0, "wind_m_s": 3.0}])
    make_days(near, SUNDAY, [{"rain_mm": 5.0, "wind_m_s": None}])
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY)
    assert (series.rain_mm[0], series.wind_m_s[0]) == (5.0, 3.0)


def test_a_made_value_yields_to_a_reading_of_another_station(farm: Farm) -> None:
    near = make_station(farm, "near", latitude_deg="31.610000", longitude_deg="-83.520000")
    far = make_station(farm, "far", latitude_deg="32.600000", longitude_deg="-83.520000")
    make_days(near, SUNDAY, [{"rain_mm": 5.0, "is_filled": True, "filled_names": "rain_mm"}])
    assert daily_series(farm=farm, first=SUNDAY, last=SUNDAY).kind == ["filled"]
    make_days(far, SUNDAY, [{"rain_mm": 30.0}])
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY)
    assert (series.rain_mm[0], series.kind[0]) == (30.0, "observed")


def test_an_old_forecast_is_named(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{}] * 21)
    make_issue(farm, EVENING - dt.timedelta(days=3), hours=150, layers=warm_hours)
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + dt.timedelta(days=1), as_of=SUNDAY)
    assert series.kind[1] == "forecast"
    assert series.notes == ("The newest forecast is of 2026-04-16, more than a day before 2026-04-19.",)


def test_a_forecast_that_has_run_out_is_named(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=20), [{}] * 21)
    make_issue(farm, EVENING - dt.timedelta(days=9), hours=150, layers=warm_hours)
    tomorrow = SUNDAY + dt.timedelta(days=1)
    series = daily_series(farm=farm, first=SUNDAY, last=tomorrow, as_of=SUNDAY)
    assert series.kind[1] == "climatology"
    assert (
        "The newest forecast is of 2026-04-10 and tells no day after 2026-04-19; the usual weather stands in."
        in series.notes
    )
    make_issue(farm, EVENING, hours=150, layers=warm_hours)
    later = SUNDAY + dt.timedelta(days=12)
    assert not any(
        "forecast" in says for says in daily_series(farm=farm, first=later, last=later, as_of=SUNDAY).notes
    )


def test_a_farm_without_weather_is_told_so_and_sees_none_of_another_farm(farm: Farm) -> None:
    other = make_farm("another")
    make_days(make_station(other), SUNDAY, [{}])
    make_issue(other, EVENING, hours=72, layers=warm_hours)
    with pytest.raises(NoWeather, match="No weather is known for Heron Slough"):
        daily_series(farm=farm, first=SUNDAY, last=SUNDAY)
    assert hourly_forecast(farm=farm, as_of=SUNDAY) is None


def test_hours_come_in_order_in_utc_with_gaps_as_nan(farm: Farm) -> None:
    make_issue(
        farm,
        EVENING,
        hours=30,
        layers=lambda hour: {"temp_c": float(hour), "sky_cover_pct": None if hour else 55.0},
    )
    series = hourly_forecast(farm=farm, as_of=SUNDAY)
    assert series is not None
    assert series.hour_at[0] == dt.datetime(2026, 4, 19, 23, 0, tzinfo=dt.UTC)
    assert series.hour_at[1] - series.hour_at[0] == dt.timedelta(hours=1)
    assert series.temp_c.tolist() == [float(hour) for hour in range(30)]
    assert series.sky_cover_pct[0] == 55.0
    assert np.isnan(series.sky_cover_pct[1:]).all()


def test_the_number_of_queries_does_not_grow_with_the_days(
    farm: Farm, django_assert_max_num_queries: object
) -> None:
    make_days(make_station(farm), SUNDAY - dt.timedelta(days=60), [{}] * 61)
    make_issue(farm, EVENING, hours=150, layers=warm_hours)
    with django_assert_max_num_queries(6):  # type: ignore[operator]
        daily_series(
            farm=farm, first=SUNDAY - dt.timedelta(days=60), last=SUNDAY + dt.timedelta(days=14), as_of=SUNDAY
        )


def test_an_issue_of_midnight_belongs_to_the_day_that_begins(farm: Farm) -> None:
    midnight = dt.datetime(2026, 4, 20, 4, tzinfo=dt.UTC)  # on the farm's clock
    make_issue(farm, midnight, hours=24, layers=warm_hours)
    assert hourly_forecast(farm=farm, as_of=SUNDAY) is None
    assert hourly_forecast(farm=farm, as_of=SUNDAY + dt.timedelta(days=1)) is not None
