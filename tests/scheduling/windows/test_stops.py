"""What the clock and a farm's records stop, to the minute, also where clocks change: counted by hand."""

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from scheduling.windows.hours import horizon_min, hour_grid
from scheduling.windows.limits import Limit
from scheduling.windows.power import PowerCut
from scheduling.windows.stops import FieldRecords, PivotSeen, Sky, Sprayed, Stop, stops_of
from tests.scheduling.windows.scene import LIMITS

NEW_YORK = ZoneInfo("America/New_York")
SPRING = dt.date(2026, 3, 7)
"""The Saturday before US clocks go forward."""


def stops(key: str, *, first: dt.date = SPRING, days: int = 3, **records: object) -> list[Stop]:
    return stops_of(
        limit(key),
        records=FieldRecords(**records),  # type: ignore[arg-type]
        sky=Sky(np.full(days + 1, 6.5), np.full(days + 1, 18.5)),
        grid=hour_grid(first=first, last=first + dt.timedelta(days=days), zone=NEW_YORK.key),
        starts_at=local(first, 0),
        until_min=horizon_min(starts_at=local(first, 0), days=days, zone=NEW_YORK.key),
    )


def limit(key: str) -> Limit:
    return next(one for one in LIMITS if one.key == key)


def local(day: dt.date, hour: int, minute: int = 0) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=NEW_YORK)


def spans(found: list[Stop]) -> list[tuple[int, int]]:
    return [(one.from_min, one.to_min) for one in found]


def test_re_entry_counts_hours_that_pass_over_the_night_of_the_clocks() -> None:
    (stop,) = stops("re_entry", sprayings=(Sprayed(local(SPRING, 20), "A", 12.0),))
    assert (stop.from_min, stop.to_min) == (20 * 60, 32 * 60)
    assert stop.words["until"].english == "Sunday 9 am"
    assert stop.words["until"].spanish == "el domingo a las 9 de la mañana"


def test_re_entry_of_part_hours_ends_on_its_minute() -> None:
    (stop,) = stops("re_entry", sprayings=(Sprayed(local(SPRING, 8, 7), "A", 2.5),))
    assert (stop.from_min, stop.to_min) == (8 * 60 + 7, 10 * 60 + 37)


def test_a_spraying_that_ended_before_the_days_looked_at_stops_what_is_left() -> None:
    (stop,) = stops("re_entry", sprayings=(Sprayed(local(SPRING, 0) - dt.timedelta(hours=20), "A", 24.0),))
    assert (stop.from_min, stop.to_min) == (0, 4 * 60)
    assert stops("re_entry", sprayings=(Sprayed(local(SPRING, 0) - dt.timedelta(hours=24), "A", 24.0),)) == []


def test_plant_back_days_end_at_midnight_of_the_farms_clock() -> None:
    (stop,) = stops("plant_back", sprayings=(Sprayed(local(SPRING, 15), "A", 4.0, 2),))
    # Monday's midnight is 47 hours after Saturday's: Sunday has 23
    assert (stop.from_min, stop.to_min) == (15 * 60, 47 * 60)
    assert stops("plant_back", sprayings=(Sprayed(local(SPRING, 15), "A", 4.0),)) == []


def test_nights_are_dark_on_both_sides_of_the_clocks() -> None:
    assert spans(stops("spray_light")) == [
        (0, 390),
        (18 * 60 + 30, 24 * 60 + 5 * 60 + 30),
        (23 * 60 + 18 * 60 + 30, 47 * 60 + 6 * 60 + 30),
        (47 * 60 + 18 * 60 + 30, 71 * 60),
    ]


def test_power_hours_stand_on_the_farms_clock() -> None:
    cut = PowerCut(SPRING.weekday() + 1, dt.time(14), dt.time(19))
    assert spans(stops("power", power_cuts=(cut,), pump="Well 2")) == [(24 * 60 + 13 * 60, 24 * 60 + 18 * 60)]


@pytest.mark.parametrize(("angle_deg", "off_deg"), [(350.0, 20.0), (30.0, 20.0), (190.0, 180.0)])
def test_a_pivot_is_off_its_line_by_the_shorter_way_round(angle_deg: float, off_deg: float) -> None:
    seen = PivotSeen(local(SPRING, 6), False, angle_deg, 10.0)
    (stop,) = stops("pivot_in_way", pivot=seen)
    assert stop.value == off_deg
    assert (stop.from_min, stop.to_min) == (6 * 60, 71 * 60)
    assert stops("pivot_in_way", pivot=PivotSeen(local(SPRING, 6), False, None, 10.0)) == []


def test_a_quantity_of_the_weather_is_no_stop() -> None:
    with pytest.raises(ValueError, match="not of the clock"):
        stops("sticks")
