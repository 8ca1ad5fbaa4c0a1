"""Rain at fields: the gauge there before the stations, the stations by distance, and nothing made of nothing."""

import datetime as dt
import uuid
from decimal import Decimal

import numpy as np
import pytest

from farmops.farms.models import Farm, Field
from farmops.weather.models import Station
from farmops.weather.selectors import FieldRain, daily_series, field_rain, known_days, soil_readings
from farmops.weather.services.field_readings import record_gauge, record_soil_reading
from tests.factories import make_farm, make_field
from tests.farmops.weather.makers import make_days, make_issue, make_station

pytestmark = pytest.mark.django_db

SUNDAY = dt.date(2026, 4, 19)
MONDAY = dt.date(2026, 4, 20)
NOON = dt.datetime(2026, 4, 24, 16, tzinfo=dt.UTC)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def field(farm: Farm) -> Field:
    return make_field(farm)


def placed(farm: Farm, code: str, latitude_deg: str, longitude_deg: str = "-83.520000") -> Station:
    return make_station(farm, code, latitude_deg=latitude_deg, longitude_deg=longitude_deg)


def gauge(field: Field, day: dt.date, rain_in: str, now: dt.datetime = NOON) -> None:
    record_gauge(
        farm=field.farm,
        field=field,
        day=day,
        rain_in=Decimal(rain_in),
        client_id=uuid.uuid4(),
        recorded_by=None,
        now=now,
    )


def rain_at(
    field: Field, *, first: dt.date = SUNDAY, last: dt.date = MONDAY, as_of: dt.date | None = None
) -> FieldRain:
    place = float(field.latitude_deg), float(field.longitude_deg)
    return field_rain(farm=field.farm, places={field.pk: place}, first=first, last=last, as_of=as_of)[
        field.pk
    ]


def test_one_station_is_every_fields_rain(farm: Farm, field: Field) -> None:
    make_days(make_station(farm), SUNDAY, [{"rain_mm": 12.3}, {"rain_mm": 0.1}])
    found = rain_at(field)
    assert found.rain_mm.tolist() == [12.3, 0.1]
    assert found.source == ("station", "station")


def test_a_gauge_at_the_field_outranks_the_station_and_the_newest_reading_counts(
    farm: Farm, field: Field
) -> None:
    make_days(make_station(farm), SUNDAY, [{"rain_mm": 12.3}, {"rain_mm": 5.0}])
    gauge(field, MONDAY, "0.00")
    gauge(field, SUNDAY, "0.80")
    gauge(field, SUNDAY, "1.00", NOON + dt.timedelta(minutes=1))
    found = rain_at(field)
    assert found.rain_mm.tolist() == pytest.approx([25.4, 0.0])
    assert found.source == ("gauge", "gauge")
    neighbor = make_field(farm, "pine-20")
    assert rain_at(neighbor).rain_mm.tolist() == [12.3, 5.0]


def test_a_gauge_counts_on_a_day_that_no_station_has(farm: Farm, field: Field) -> None:
    gauge(field, MONDAY, "0.50")
    found = rain_at(field)
    assert np.isnan(found.rain_mm[0])
    assert found.rain_mm[1] == pytest.approx(12.7)
    assert found.source == ("", "gauge")


def test_a_made_value_is_a_stations_and_a_day_without_any_is_nobodys(farm: Farm, field: Field) -> None:
    station = make_station(farm)
    make_days(station, SUNDAY, [{"rain_mm": 3.0, "is_filled": True, "filled_names": "rain_mm"}])
    make_days(station, MONDAY, [{"rain_mm": None}])
    found = rain_at(field)
    assert found.rain_mm[0] == 3.0
    assert np.isnan(found.rain_mm[1])
    assert found.source == ("station", "")


def test_what_was_read_after_as_of_is_not_seen(farm: Farm, field: Field) -> None:
    make_days(make_station(farm), SUNDAY, [{"rain_mm": 3.0}] * 2)
    gauge(field, MONDAY, "0.50")
    found = rain_at(field, as_of=SUNDAY)
    assert found.rain_mm[0] == 3.0
    assert np.isnan(found.rain_mm[1])
    assert found.source == ("station", "")


def test_a_field_between_two_stations_gets_more_of_the_nearer(farm: Farm, field: Field) -> None:
    # On one meridian, so that distances go as the differences of latitude (to a thousandth): 3 and 6 times 0.01°.
    make_days(placed(farm, "south", "31.571800", "-83.517900"), SUNDAY, [{"rain_mm": 10.0}])
    make_days(placed(farm, "north", "31.661800", "-83.517900"), SUNDAY, [{"rain_mm": 0.0}])
    assert rain_at(field).rain_mm[0] == pytest.approx(8.0, abs=0.01)


def test_a_field_exactly_at_a_station_gets_that_station_alone(farm: Farm, field: Field) -> None:
    make_days(placed(farm, "there", "31.601800", "-83.517900"), SUNDAY, [{"rain_mm": 7.1}])
    make_days(placed(farm, "near", "31.601900", "-83.517900"), SUNDAY, [{"rain_mm": 90.0}])
    assert rain_at(field).rain_mm[0] == 7.1


def test_a_station_without_a_place_stands_on_the_farm(farm: Farm, field: Field) -> None:
    make_days(make_station(farm, "yard"), SUNDAY, [{"rain_mm": 6.0}])
    make_days(placed(farm, "town", "31.700000"), SUNDAY, [{"rain_mm": 60.0}])
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY)
    assert series.rain_mm[0] == 6.0
    at_field = rain_at(field).rain_mm[0]
    assert 6.0 < at_field < 6.5
    town = field_rain(farm=farm, places={field.pk: (31.7, -83.52)}, first=SUNDAY, last=SUNDAY)
    assert town[field.pk].rain_mm[0] == 60.0


def test_the_farms_own_days_are_interpolated_too_quantity_by_quantity(farm: Farm) -> None:
    make_days(
        placed(farm, "south", "31.510000"), SUNDAY, [{"temp_max_c": 20.0, "rain_mm": 8.0, "wind_m_s": 2.0}]
    )
    make_days(
        placed(farm, "north", "31.780000"), SUNDAY, [{"temp_max_c": 25.0, "rain_mm": None, "wind_m_s": 7.0}]
    )
    series = daily_series(farm=farm, first=SUNDAY, last=SUNDAY)
    # 0.09° and 0.18° away: shares 4/5 and 1/5.
    assert series.temp_max_c[0] == pytest.approx(21.0, abs=0.01)
    assert series.wind_m_s[0] == pytest.approx(3.0, abs=0.01)
    assert series.rain_mm[0] == 8.0


def test_the_order_in_which_stations_came_changes_nothing() -> None:
    stations = [("south", "31.510000", 8.3), ("north", "31.780000", 0.7), ("west", "31.610000", 44.4)]
    found = []
    for code, order in (
        ("first", stations),
        ("second", stations[::-1]),
        ("third", stations[1:] + stations[:1]),
    ):
        farm = make_farm(code)
        for name, latitude_deg, rain_mm in order:
            make_days(placed(farm, name, latitude_deg), SUNDAY, [{"rain_mm": rain_mm}])
        field = make_field(farm)
        found.append(
            (rain_at(field).rain_mm[0], daily_series(farm=farm, first=SUNDAY, last=SUNDAY).rain_mm[0])
        )
    assert found[0] == found[1] == found[2]


def test_more_rain_at_a_station_never_lowers_the_rain_of_any_field(farm: Farm) -> None:
    dice = np.random.default_rng(20260419)
    stations = [
        placed(farm, f"s-{index}", f"{31.2 + dice.random():.6f}", f"{-84 + dice.random():.6f}")
        for index in range(4)
    ]
    for station in stations:
        make_days(station, SUNDAY, [{"rain_mm": min(60.0, dice.gamma(0.4, 12))} for _ in range(30)])
    places = {key: (31.2 + dice.random(), -84 + dice.random()) for key in range(20)}

    def rain() -> np.ndarray:
        last = SUNDAY + dt.timedelta(days=29)
        found = field_rain(farm=farm, places=places, first=SUNDAY, last=last)
        return np.array([found[key].rain_mm for key in places])

    before = rain()
    for station in stations:
        station.days.filter(day__gte=SUNDAY + dt.timedelta(days=10)).update(rain_mm=80.0)
        after = rain()
        assert (after[:, :10] == before[:, :10]).all()
        assert (after[:, 10:] >= before[:, 10:]).all()
        assert (after[:, 10:] > before[:, 10:]).any()
        before = after


def test_another_farms_stations_and_gauges_are_not_seen(farm: Farm, field: Field) -> None:
    other = make_farm("another")
    make_days(make_station(other), SUNDAY, [{"rain_mm": 9.0}])
    theirs = make_field(other)
    gauge(theirs, SUNDAY, "1.00")
    assert rain_at(field).source == ("", "")
    asked = field_rain(farm=farm, places={theirs.pk: (31.6, -83.5)}, first=SUNDAY, last=SUNDAY)
    assert asked[theirs.pk].source == ("",)


def test_the_days_of_a_field_end_no_earlier_than_they_begin(farm: Farm) -> None:
    with pytest.raises(ValueError, match="is before first"):
        field_rain(farm=farm, places={}, first=MONDAY, last=SUNDAY)


def test_known_days_are_those_that_were_read_or_filled_and_none_forecast(farm: Farm) -> None:
    station = make_station(farm)
    make_days(station, SUNDAY, [{"rain_mm": 3.0, "is_filled": True, "filled_names": "rain_mm"}, {}])
    make_days(station, SUNDAY + dt.timedelta(days=9), [{"temp_max_c": 30.0, "wind_m_s": 2.5}])
    make_issue(farm, NOON, hours=72, layers=lambda hour: {"temp_c": 20.0, "rain_mm": 0.0})
    known = known_days(farm=farm, as_of=None)
    assert known.days == (SUNDAY, MONDAY, SUNDAY + dt.timedelta(days=9))
    assert known.temp_max_c.tolist() == [22.0, 22.0, 30.0]
    assert known.is_filled.tolist() == [True, False, False]
    assert np.isnan(known.wind_m_s).tolist() == [True, True, False]
    assert known_days(farm=farm, as_of=SUNDAY).days == (SUNDAY,)
    assert known_days(farm=make_farm("another"), as_of=None).days == ()


def test_thermometers_come_in_order_by_the_farms_own_days(farm: Farm, field: Field) -> None:
    for hour in (30, 3, 4, 28):  # hours of UTC from Monday on; the farm's Monday begins at 4
        record_soil_reading(
            farm=farm,
            field=field,
            zone=field.zones.get(),
            read_at=dt.datetime(2026, 4, 20, tzinfo=dt.UTC) + dt.timedelta(hours=hour),
            depth_in=Decimal(4),
            temp_f=Decimal(60 + hour),
            client_id=uuid.uuid4(),
            recorded_by=None,
            now=NOON,
        )
    tuesday = MONDAY + dt.timedelta(days=1)
    both = soil_readings(farm=farm, first=MONDAY, last=tuesday)
    assert [float(row.temp_f) for row in both] == [64.0, 88.0, 90.0]
    assert [
        float(row.temp_f) for row in soil_readings(farm=farm, first=MONDAY, last=tuesday, as_of=MONDAY)
    ] == [64]
    assert soil_readings(farm=make_farm("another"), first=MONDAY, last=tuesday) == ()


def test_the_number_of_queries_does_not_grow_with_fields_and_days(
    farm: Farm, field: Field, django_assert_num_queries: object
) -> None:
    make_days(make_station(farm), SUNDAY, [{}] * 60)
    gauge(field, SUNDAY, "0.10")
    places = {field.pk: (31.6, -83.5), **dict.fromkeys(range(1000, 1100), (31.7, -83.4))}
    with django_assert_num_queries(3):  # type: ignore[operator]
        field_rain(farm=farm, places=places, first=SUNDAY, last=SUNDAY + dt.timedelta(days=59))
