"""What is possible, what looks like another unit, and what short gaps are made of."""

import datetime as dt
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.weather.sources import gaps
from farmops.weather.sources.days import assemble
from farmops.weather.sources.ranges import jump, off_the_globe, out_of_range, suspicions
from farmops.weather.sources.rows import Reading
from tests.open_climates import climate, climate_files

FIRST = dt.date(2026, 4, 1)
DRIZZLE = {"cambridge", "lincolnshire", "norfolk", "north_yorks", "northumberland", "suffolk"}


def reading(line: int, quantity: str, value: float, day: int = 0) -> Reading:
    return Reading(line, "yard", FIRST + dt.timedelta(days=day), quantity, value)


Columns = dict[str, list[float]]


@cache
def columns_of(name: str) -> Columns:
    days = climate(name)
    return {
        "temp_min_c": [float(row.temp_min_c) for row in days],
        "temp_max_c": [float(row.temp_max_c) for row in days],
        "rain_mm": [float(row.rain_mm) for row in days],
    }


def season(columns: Columns, start: int) -> Columns:
    return {name: column[start : start + 150] for name, column in columns.items()}


@pytest.mark.parametrize("name", climate_files())
def test_real_climates_are_not_taken_for_another_unit(name: str) -> None:
    """The open daily climates that ship with the package aquacrop, cut into stretches of 150 days."""
    columns = columns_of(name)
    doubted = [
        says
        for start in range(0, len(columns["rain_mm"]) - 150, 150)
        for says in suspicions(season(columns, start))
        if not (name in DRIZZLE and "inches" in says)
    ]
    assert doubted == []


@pytest.mark.parametrize("name", ["champion", "tunis", "hyderabad", "cordoba"])
def test_the_same_climates_in_fahrenheit_or_tenths_are_doubted(name: str) -> None:
    columns = columns_of(name)
    for start in range(0, len(columns["rain_mm"]) - 150, 1500):
        right = season(columns, start)
        temps = {key: right[key] for key in ("temp_min_c", "temp_max_c")}
        fahrenheit = {key: [value * 1.8 + 32 for value in column] for key, column in temps.items()}
        tenths = {key: [value * 10 for value in column] for key, column in temps.items()}
        assert any("°F" in says for says in suspicions(fahrenheit))
        assert any("tenths of a degree" in says for says in suspicions(tenths))


def test_winters_in_fahrenheit_are_told_by_their_nights_or_by_their_spread() -> None:
    # A mild January in °F: nights about 40, days about 55, nothing out of range for °C.
    mild = {
        "temp_min_c": [38.0, 41.0, 36.0, 44.0, 39.0, 30.0],
        "temp_max_c": [52.0, 55.0, 50.0, 56.0, 53.0, 49.0],
    }
    assert suspicions(mild) == ["5 of 6 nights stay above 32 °C: are the temperatures °F?"]
    # A cold one: nights about 8 °F, days about 40 °F.
    cold = {"temp_min_c": [8.0, 5.0, 11.0, 2.0, 9.0] * 2, "temp_max_c": [40.0, 38.0, 42.0, 36.0, 41.0] * 2}
    assert suspicions(cold) == ["highs are 32 degrees above lows on average: are the temperatures °F?"]


@pytest.mark.parametrize(("name", "share"), [("champion", 0.75), ("tunis", 0.99), ("brussels", 0.95)])
def test_a_single_day_in_fahrenheit_stands_out_from_the_days_before(name: str, share: float) -> None:
    """The open daily climates that ship with the package aquacrop; °F that no °C could be is refused elsewhere."""
    columns = columns_of(name)
    pairs = list(zip(columns["temp_min_c"], columns["temp_max_c"]))
    means = [(low + high) / 2 for low, high in pairs]
    told = [
        jump(mean_c=means[day] * 1.8 + 32, before_c=means[day - 14 : day]) is not None
        for day in range(14, len(means))
        if pairs[day][1] * 1.8 + 32 <= 57
    ]
    assert sum(told) > share * len(told) > 0
    assert not any(jump(mean_c=means[day], before_c=means[day - 14 : day]) for day in range(14, len(means)))


def test_a_jump_wants_a_week_of_days_to_stand_against() -> None:
    assert jump(mean_c=40.0, before_c=[5.0] * 6) is None
    says = jump(mean_c=40.0, before_c=[30.0] * 7 + [5.0] * 14)
    assert says == "the mean is 40, 35 degrees above that of the days known before: are the temperatures °F?"


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "is_there"),
    [(90, 180, True), (-90, -180, True), (90.1, 0, False), (0, -180.1, False), (float("nan"), 0, False)],
)
def test_a_place_is_on_the_globe_or_is_not(latitude_deg: float, longitude_deg: float, is_there: bool) -> None:
    assert (off_the_globe(latitude_deg=latitude_deg, longitude_deg=longitude_deg) is None) == is_there


def test_rain_in_inches_or_tenths_is_doubted_where_it_rained_enough_to_tell() -> None:
    rain_mm = columns_of("champion")["rain_mm"][:730]
    inches, tenths = [value / 25.4 for value in rain_mm], [value * 10 for value in rain_mm]
    assert any("inches" in says for says in suspicions({"rain_mm": inches}))
    assert any("tenths of a millimeter" in says for says in suspicions({"rain_mm": tenths}))


@pytest.mark.parametrize(
    ("column", "values", "says"),
    [
        ("solar_mj_m2", [220.0, 250.0, 240.0], "W/m²"),
        ("wind_m_s", [14.0] * 20, "km/h or mph"),
        ("humidity_max_pct", [0.9, 0.8, 0.95, 0.7, 1.0], "a share of 1"),
    ],
)
def test_the_other_columns_have_their_own_doubt(column: str, values: list[float], says: str) -> None:
    assert says in suspicions({column: values})[0]


def test_one_slip_of_the_pen_is_a_bad_row_and_no_other_unit() -> None:
    assert suspicions({"temp_max_c": [22.0] * 30 + [220.0], "temp_min_c": [9.0] * 31}) == []
    assert out_of_range(quantity="temp_max_c", value=220.0) == "temp_max_c is 220 °C; possible is -60 to 57"


@pytest.mark.parametrize(("value", "is_possible"), [(0.0, False), (1.0, True), (100.0, True), (110.0, False)])
def test_air_humidity_of_nothing_or_of_more_than_all_is_refused(value: float, is_possible: bool) -> None:
    assert (out_of_range(quantity="humidity_min_pct", value=value) is None) == is_possible


def test_a_line_with_one_impossible_value_is_left_out_whole() -> None:
    days, bad = assemble(
        [reading(2, "rain_mm", 3.0), reading(2, "temp_max_c", 99.0), reading(3, "rain_mm", 1.0, 1)]
    )
    assert [row.line for row in bad] == [2]
    assert [(day.day.day, dict(day.values)) for day in days] == [(2, {"rain_mm": 1.0})]


def test_a_low_above_the_high_names_both_lines() -> None:
    _, bad = assemble([reading(4, "temp_min_c", 20.0), reading(9, "temp_max_c", 12.0)])
    assert [row.line for row in bad] == [4, 9]
    assert "temp_min_c 20 is above temp_max_c 12" in bad[0].says


days_read = st.dictionaries(
    st.integers(0, 25).map(lambda offset: FIRST + dt.timedelta(days=offset)),
    st.fixed_dictionaries(
        {}, optional={name: st.floats(0, 40) for name in ("temp_min_c", "temp_max_c", "rain_mm", "wind_m_s")}
    ),
)


@given(read=days_read)
def test_only_gaps_of_at_most_three_days_are_made_and_between_their_neighbors(
    read: dict[dt.date, dict[str, float]],
) -> None:
    made, long_gaps = gaps.fill(read)
    for day, values in made.items():
        for name, value in values.items():
            assert name not in read.get(day, {})
            before = max(other for other in read if other < day and name in read[other])
            after = min(other for other in read if other > day and name in read[other])
            assert (after - before).days - 1 <= 3
            low, high = sorted([read[before][name], read[after][name]])
            assert low - 1e-9 <= value <= high + 1e-9
    for day, values in made.items():
        both = {**values, **read.get(day, {})}
        if "temp_min_c" in values or "temp_max_c" in values:
            assert both.get("temp_min_c", -99) <= both.get("temp_max_c", 99)
    assert all(gap.days > 3 for gap in long_gaps)


def test_a_made_gap_runs_straight_from_one_side_to_the_other() -> None:
    read = {FIRST: {"temp_max_c": 10.0}, FIRST + dt.timedelta(days=4): {"temp_max_c": 18.0}}
    made, long_gaps = gaps.fill(read)
    assert [values["temp_max_c"] for values in made.values()] == [12.0, 14.0, 16.0]
    assert long_gaps == []
