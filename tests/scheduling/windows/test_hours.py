"""Elapsed minutes through the weeks in which clocks change."""

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.windows.hours import cut_cells, elapsed_min, horizon_min, hour_grid

NEW_YORK = "America/New_York"


def midnight(year: int, month: int, day: int, zone: str = NEW_YORK) -> dt.datetime:
    return dt.datetime(year, month, day, tzinfo=ZoneInfo(zone))


@pytest.mark.parametrize(
    ("start", "minutes"),
    [
        (midnight(2026, 4, 20), 7 * 1440),
        # US clocks change on the second Sunday of March and the first of November (Energy Policy Act of 2005)
        (midnight(2026, 3, 2), 7 * 1440 - 60),
        (midnight(2026, 10, 26), 7 * 1440 + 60),
    ],
)
def test_a_week_is_as_long_as_its_clocks_make_it(start: dt.datetime, minutes: int) -> None:
    assert horizon_min(starts_at=start, days=7, zone=NEW_YORK) == minutes


def test_the_day_clocks_go_forward_has_23_hours_and_no_2_am() -> None:
    grid = hour_grid(first=dt.date(2026, 3, 8), last=dt.date(2026, 3, 8), zone=NEW_YORK)
    assert len(grid.starts) == 23
    assert list(grid.clock_h[:4]) == [0, 1, 3, 4]


def test_the_day_clocks_go_back_has_25_hours_and_1_am_twice() -> None:
    grid = hour_grid(first=dt.date(2026, 11, 1), last=dt.date(2026, 11, 1), zone=NEW_YORK)
    assert len(grid.starts) == 25
    assert list(grid.clock_h[:4]) == [0, 1, 1, 2]


def test_a_half_hour_change_leaves_a_half_hour() -> None:
    # Lord Howe Island changes by 30 minutes (IANA time zone database)
    grid = hour_grid(first=dt.date(2026, 4, 5), last=dt.date(2026, 4, 6), zone="Australia/Lord_Howe")
    assert grid.minutes[grid.day_index == 0].sum() == 24.5 * 60
    assert grid.minutes[grid.day_index == 1].sum() == 24 * 60


@given(
    day=st.dates(dt.date(2024, 1, 1), dt.date(2028, 12, 31)),
    zone=st.sampled_from([NEW_YORK, "America/Chicago", "UTC", "Australia/Lord_Howe", "Asia/Kolkata"]),
    days=st.integers(1, 8),
    start_minute=st.integers(0, 1439),
    cuts=st.sets(st.integers(-100, 12000), max_size=5),
)
def test_cells_cover_every_minute_once(
    day: dt.date, zone: str, days: int, start_minute: int, cuts: set[int]
) -> None:
    midnight_utc = dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)
    start = midnight_utc + dt.timedelta(minutes=start_minute)
    until = horizon_min(starts_at=start, days=days, zone=zone)
    grid = hour_grid(first=day, last=day + dt.timedelta(days=days + 1), zone=zone)
    cells = cut_cells(edges=grid.minutes_from(start), until_min=until, cuts=cuts)
    assert cells.from_min[0] == 0
    assert cells.to_min[-1] == until
    assert all(before == after for before, after in zip(cells.to_min[:-1], cells.from_min[1:]))
    assert (cells.to_min > cells.from_min).all()
    begins = grid.minutes_from(start)
    assert (begins[cells.hour] <= cells.from_min).all()
    assert (cells.to_min <= begins[cells.hour] + grid.minutes[cells.hour]).all()


def test_hours_follow_each_other_without_a_gap() -> None:
    grid = hour_grid(first=dt.date(2026, 3, 1), last=dt.date(2026, 3, 31), zone=NEW_YORK)
    lengths = np.array([elapsed_min(before, after) for before, after in pairwise(grid.starts)])
    assert (lengths == grid.minutes[:-1]).all()


def test_a_horizon_beyond_the_hours_is_refused() -> None:
    grid = hour_grid(first=dt.date(2026, 4, 20), last=dt.date(2026, 4, 21), zone=NEW_YORK)
    with pytest.raises(ValueError, match="horizon"):
        cut_cells(edges=grid.minutes_from(midnight(2026, 4, 20)), until_min=2881, cuts=set())
