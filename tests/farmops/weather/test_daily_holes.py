"""What stands in for days that nobody read, how the series says so, and chances that stay chances."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.farms.models import Farm
from farmops.weather.selectors import daily_series
from farmops.weather.selectors.climatology import RAIN, Climatology
from farmops.weather.selectors.observed import ObservedDay
from farmops.weather.sources.rows import QUANTITIES
from tests.factories import make_farm
from tests.farmops.weather.makers import make_days, make_issue, make_station

pytestmark = pytest.mark.django_db

SUNDAY = dt.date(2026, 4, 19)
ONE = dt.timedelta(days=1)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def test_a_missing_month_is_named_and_gets_usual_weather(farm: Farm) -> None:
    station = make_station(farm)
    make_days(station, dt.date(2026, 2, 1), [{"rain_mm": 6.0}] * 28)
    make_days(station, dt.date(2026, 4, 1), [{}] * 19)
    for as_of in (SUNDAY, None):
        series = daily_series(farm=farm, first=dt.date(2026, 2, 20), last=SUNDAY, as_of=as_of)
        assert series.kind == ["observed"] * 9 + ["climatology"] * 31 + ["observed"] * 19
        assert (
            "2026-03-01 to 2026-03-31 (31 days): nothing was read; the usual weather stands in."
        ) in series.notes


def test_days_before_the_first_known_one_and_days_to_come_are_no_hole(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - 30 * ONE, [{}] * 31)
    for as_of in (SUNDAY, None):
        series = daily_series(farm=farm, first=SUNDAY - 60 * ONE, last=SUNDAY + 14 * ONE, as_of=as_of)
        assert not [note for note in series.notes if "nothing was read" in note]


def test_readings_that_come_three_days_late_are_no_hole_and_four_are(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - 40 * ONE, [{}] * 41)
    for late, is_said in ((3, False), (4, True)):
        as_of = SUNDAY + late * ONE
        series = daily_series(farm=farm, first=SUNDAY, last=as_of, as_of=as_of)
        said = f"2026-04-20 to {as_of} ({late} days): nothing was read; the usual weather stands in."
        assert (said in series.notes) == is_said


def test_a_month_without_highs_is_one_sentence_and_many_holes_are_counted(farm: Farm) -> None:
    rows = [{"temp_max_c": None if day >= 30 else 22.0} for day in range(60)]
    make_days(make_station(farm), SUNDAY - 59 * ONE, rows)
    series = daily_series(farm=farm, first=SUNDAY - 59 * ONE, last=SUNDAY, as_of=SUNDAY)
    assert series.notes[0] == (
        "2026-03-21 to 2026-04-19 (30 days): not all was read; the usual of the season stands in."
    )
    assert not [note for note in series.notes[1:] if "not all was read" in note]
    make_days(
        make_station(farm, "odd"), SUNDAY + ONE, [{"rain_mm": None if day % 2 else 0.0} for day in range(40)]
    )
    series = daily_series(farm=farm, first=SUNDAY + ONE, last=SUNDAY + 40 * ONE)
    told = [note for note in series.notes if "not all was read" in note]
    assert told[0] == "2026-04-21: not all was read; the usual of the season stands in."
    assert told[-1] == "14 more stretches of days: not all was read; the usual of the season stands in."
    assert len(told) == 7


@pytest.mark.parametrize(
    ("read", "low_c", "high_c"),
    [
        # Of the 14 nearest days 13 had 10 to 22 °C, and this one what was read.
        ({"temp_max_c": 4.0, "temp_min_c": None}, 4.0 - ((13 * 22 + 4) / 14 - 10), 4.0),
        ({"temp_max_c": None, "temp_min_c": 25.0}, 25.0, 25.0 + (22 - (13 * 10 + 25) / 14)),
        ({"temp_max_c": 18.0, "temp_min_c": None}, 10.0, 18.0),
    ],
)
def test_the_usual_low_never_stands_above_the_high_that_was_read(
    farm: Farm, read: dict[str, float | str | None], low_c: float, high_c: float
) -> None:
    make_days(make_station(farm), SUNDAY - 20 * ONE, [{}] * 20 + [read])
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY, as_of=SUNDAY)
    assert (series.temp_min_c[0], series.temp_max_c[0]) == (pytest.approx(low_c), pytest.approx(high_c))
    assert series.kind == ["filled"]


def test_the_age_of_a_forecast_goes_by_the_farms_own_clock(farm: Farm) -> None:
    make_days(make_station(farm), SUNDAY - 20 * ONE, [{}] * 21)
    evening = dt.datetime(2026, 4, 18, 2, tzinfo=dt.UTC)  # 10 pm of the 17th on the farm's clock
    make_issue(farm, evening, hours=150, layers=lambda hour: {"temp_c": 15.0, "rain_mm": 0.0})
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY + ONE, as_of=SUNDAY)
    assert series.notes == ("The newest forecast is of 2026-04-17, more than a day before 2026-04-19.",)


def test_chances_of_rain_are_between_none_and_all_wherever_a_day_comes_from(farm: Farm) -> None:
    dice = np.random.default_rng(7)
    near = make_station(farm, "near", latitude_deg="31.650000", longitude_deg="-83.520000")
    far = make_station(farm, "far", latitude_deg="32.000000", longitude_deg="-83.520000")
    for station in (near, far):
        wet = dice.random(400) < 0.3
        amounts = np.where(wet, dice.gamma(0.7, 9, 400), 0.0)
        make_days(station, SUNDAY - 399 * ONE, [{"rain_mm": float(amount)} for amount in amounts])
    make_issue(
        farm,
        dt.datetime(2026, 4, 19, 22, tzinfo=dt.UTC),
        hours=150,
        layers=lambda hour: {
            "temp_c": 15.0,
            "rain_chance_pct": float(dice.choice([0.0, 37.0, 100.0])),
            "rain_mm": float(dice.gamma(0.5, 2)) if hour < 72 else None,
        },
    )
    series = daily_series(farm=farm, first=SUNDAY - 60 * ONE, last=SUNDAY + 60 * ONE, as_of=SUNDAY)
    assert set(series.kind) == {"observed", "forecast", "climatology"}
    assert ((series.rain_chance >= 0) & (series.rain_chance <= 1)).all()
    assert (series.rain_mm >= 0).all()
    assert (series.rain_if_wet_mm >= 0).all()


@given(
    rain_mm=st.lists(st.just(0.0) | st.floats(0, 300), min_size=1, max_size=80),
    ahead=st.integers(-400, 400),
)
def test_a_usual_chance_times_its_amount_is_the_usual_rain(rain_mm: list[float], ahead: int) -> None:
    known = {}
    for index, amount in enumerate(rain_mm):
        values = np.full(len(QUANTITIES), 10.0)
        values[RAIN] = 0.0 if amount < 0.25 else amount  # less is no day with rain to the weather service
        known[SUNDAY - index * ONE] = ObservedDay(values=values, is_filled=False)
    usual = Climatology(known).usual(SUNDAY + ahead * ONE)
    assert 0 <= usual.rain_chance <= 1
    assert usual.rain_chance * usual.rain_if_wet_mm == pytest.approx(usual.values[RAIN])
