"""Values between stations: shares by distance, and what no set of stations can upset."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.weather.selectors.interpolation import at_place, blend, distances_km, weights
from farmops.weather.sources.rows import QUANTITIES

LOW, HIGH, RAIN = (QUANTITIES.index(name) for name in ("temp_min_c", "temp_max_c", "rain_mm"))
STATIONS, DAYS = 4, 5
km = st.sampled_from([0.0, 0.0005, 0.3, 4.0, 25.0, 99.9, 100.0, 100.1, 250.0, 399.0]) | st.floats(0, 400)
distances = arrays(np.float64, STATIONS, elements=km)
rain = st.just(np.nan) | st.just(0.0) | st.floats(0, 300, allow_subnormal=False)
readings = arrays(np.float64, (STATIONS, DAYS), elements=rain)


def apart(*km: float) -> np.ndarray:
    return np.array(km, dtype=np.float64)


def column(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)[:, None]


def test_shares_go_by_the_inverse_square_of_the_distance() -> None:
    # By hand: 1/10² : 1/20² is 4 : 1.
    shares = weights(distance_km=apart(10, 20), speaks=np.array([[True], [True]]))
    assert shares[:, 0].tolist() == pytest.approx([0.8, 0.2])
    assert at_place(distance_km=apart(10, 20), values=column(0.0, 5.0))[0] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("km", "values", "there"),
    [
        ((50, 110), (4.0, 40.0), 4.0),  # one beyond 100 km is left out
        ((110, 300), (4.0, 40.0), 4.0),  # of those beyond, the nearest alone
        ((50, 110), (np.nan, 40.0), 40.0),  # unless no nearer one speaks
        ((0, 1), (4.0, 40.0), 4.0),  # one at the place leaves nothing to the others
        ((0, 1), (np.nan, 40.0), 40.0),
        ((0, 0, 7), (4.0, 6.0, 90.0), 5.0),  # two at the place are one station
        ((0, 1), (np.nan, np.nan), np.nan),
    ],
)
def test_who_speaks_for_a_place(km: tuple[float, ...], values: tuple[float, ...], there: float) -> None:
    assert at_place(distance_km=apart(*km), values=column(*values))[0] == pytest.approx(there, nan_ok=True)


@given(value=st.floats(0, 300), km=km)
def test_a_single_station_is_handed_on_to_the_last_bit(value: float, km: float) -> None:
    assert at_place(distance_km=apart(km), values=column(value))[0] == value


@given(km=distances, values=readings, more=arrays(np.float64, (STATIONS, DAYS), elements=st.floats(0, 200)))
def test_more_rain_at_any_station_never_makes_less_anywhere(
    km: np.ndarray, values: np.ndarray, more: np.ndarray
) -> None:
    before = at_place(distance_km=km, values=values)
    after = at_place(distance_km=km, values=values + more)
    known = ~np.isnan(before)
    assert (np.isnan(after) == np.isnan(before)).all()
    assert (after[known] >= before[known]).all()


@given(km=distances, values=readings, index=st.integers(0, STATIONS - 1))
def test_a_place_at_a_station_gets_what_that_station_read(
    km: np.ndarray, values: np.ndarray, index: int
) -> None:
    km = np.where(np.arange(STATIONS) == index, 0.0, km + 0.002)
    there = at_place(distance_km=km, values=values)
    read = ~np.isnan(values[index])
    assert there[read].tolist() == values[index][read].tolist()


@given(km=distances, values=readings, order=st.permutations(range(STATIONS)))
def test_the_order_of_stations_changes_nothing(km: np.ndarray, values: np.ndarray, order: list[int]) -> None:
    there = at_place(distance_km=km, values=values)
    again = at_place(distance_km=km[order], values=values[order])
    assert again.tolist() == pytest.approx(there.tolist(), nan_ok=True, rel=1e-12)


@given(km=distances, values=readings)
def test_a_place_is_never_wetter_or_drier_than_all_stations(km: np.ndarray, values: np.ndarray) -> None:
    there = at_place(distance_km=km, values=values)
    for day in range(DAYS):
        read = values[:, day][~np.isnan(values[:, day])]
        assert np.isnan(there[day]) == (read.size == 0)
        if read.size:
            assert read.min() * (1 - 1e-12) <= there[day] <= read.max() * (1 + 1e-12)


@given(
    km=distances,
    low=arrays(np.float64, (STATIONS, DAYS), elements=st.floats(-20, 25)),
    spread=arrays(np.float64, (STATIONS, DAYS), elements=st.floats(0, 20)),
    unread=arrays(np.int8, (STATIONS, DAYS), elements=st.integers(0, 3)),
    is_made=arrays(np.bool_, (STATIONS, DAYS)),
)
def test_a_low_never_comes_out_above_its_high(km: np.ndarray, **drawn: Any) -> None:
    table = np.full((STATIONS, DAYS, len(QUANTITIES)), np.nan)
    table[:, :, LOW] = np.where(drawn["unread"] == 1, np.nan, drawn["low"])
    table[:, :, HIGH] = np.where(drawn["unread"] == 2, np.nan, drawn["low"] + drawn["spread"])
    is_made = drawn["is_made"][:, :, None]
    there = blend(
        distance_km=km, read=np.where(is_made, np.nan, table), made=np.where(is_made, table, np.nan)
    )
    assert not (there.values[:, LOW] > there.values[:, HIGH]).any()
    assert np.isnan(there.values[:, RAIN]).all()


def test_a_low_of_one_station_and_a_high_of_another_that_cross_leave_it_to_those_that_have_both() -> None:
    read = np.full((3, 1, len(QUANTITIES)), np.nan)
    read[0, 0, HIGH] = 10.0
    read[1, 0, LOW] = 15.0
    there = blend(distance_km=apart(1, 2, 3), read=read, made=np.full_like(read, np.nan))
    assert np.isnan(there.values[0, [LOW, HIGH]]).all()
    read[2, 0, [LOW, HIGH]] = 9.0, 14.0
    there = blend(distance_km=apart(1, 2, 3), read=read, made=np.full_like(read, np.nan))
    assert there.values[0, [LOW, HIGH]].tolist() == [9.0, 14.0]


def test_a_made_value_counts_only_where_no_station_read_one_however_far_that_stands() -> None:
    read, made = np.full((2, 1, len(QUANTITIES)), np.nan), np.full((2, 1, len(QUANTITIES)), np.nan)
    made[0, 0, RAIN] = 3.0
    there = blend(distance_km=apart(0, 90), read=read, made=made)
    assert (there.values[0, RAIN], there.is_filled[0]) == (3.0, True)
    read[1, 0, RAIN] = 8.0
    there = blend(distance_km=apart(0, 90), read=read, made=made)
    assert (there.values[0, RAIN], there.is_filled[0]) == (8.0, False)


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "to_latitude_deg", "to_longitude_deg", "km"),
    [
        # One degree on the WGS 84 ellipsoid, as tables of degree lengths print it (from memory): of latitude 110.574 km
        # from the equator on and 111.1 km about 45° N, of longitude 111.320 km on the equator and 78.85 km at 45° N.
        (0, 10, 1, 10, 110.574),
        (44.5, 10, 45.5, 10, 111.132),
        (0, 10, 0, 11, 111.320),
        (45, 10, 45, 11, 78.847),
        (31.6, -83.52, 31.6, -83.52, 0.0),
    ],
)
def test_distances_are_those_of_the_ellipsoid(
    latitude_deg: float, longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float, km: float
) -> None:
    found = distances_km(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        latitudes_deg=np.array([to_latitude_deg], dtype=np.float64),
        longitudes_deg=np.array([to_longitude_deg], dtype=np.float64),
    )
    assert found[0] == pytest.approx(km, abs=0.002)
