"""Hour meters across a replaced one, readings that cannot be right, pivots that ran and days out: worked by hand."""

import datetime as dt
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.care import (
    Apart,
    Backwards,
    Every,
    Left,
    Meter,
    Reading,
    Replaced,
    Run,
    Seen,
    TooFast,
    Unread,
    Use,
    Worked,
    disagreements,
    expected_day,
    left_of,
    outings_since,
    ran_h,
    running_stretches,
    runs_out_min,
    starts_since,
    unread,
)

MONDAY = dt.datetime(2026, 4, 20, 12, tzinfo=dt.UTC)
TODAY = dt.date(2026, 4, 20)
NEW_YORK = ZoneInfo("America/New_York")


def at(hours: float) -> dt.datetime:
    return MONDAY + dt.timedelta(hours=hours)


def read(hours: float, shows: str) -> Reading:
    return Reading(at(hours), Decimal(shows))


def test_hours_go_on_where_a_meter_was_replaced() -> None:
    """5,012.4 on the old one, 3.0 on the new from hour 48; 20 hours on, 9.5 is read: 5,018.9 run, 6.5 since."""
    meter = Meter(
        start_h=Decimal(4_900),
        readings=[read(0, "5000.0"), read(68, "9.5")],
        replaced=[Replaced(at(48), Decimal("5012.4"), Decimal("3.0"))],
        worked=[Worked(at(70), 90)],
    )
    assert meter.shows_h(at(47)) == Decimal("5000.0"), "nothing was worked since the reading"
    assert (meter.run_h(at(48)), meter.shows_h(at(48))) == (Decimal("5012.4"), Decimal("3.0"))
    assert (meter.run_h(at(80)), meter.shows_h(at(80))) == (Decimal("5020.4"), Decimal("11.0"))
    assert meter.added_h(at(80)) == Decimal("5009.4")


def test_two_meters_replaced_add_up() -> None:
    meter = Meter(
        start_h=Decimal(0),
        replaced=[Replaced(at(0), Decimal(100)), Replaced(at(10), Decimal(8), Decimal(1))],
        readings=[read(20, "4.0")],
    )
    assert meter.run_h(at(20)) == 111


@given(st.integers(0, 2_000), st.integers(0, 500), st.lists(st.integers(1, 300), max_size=6))
def test_a_new_meter_changes_no_hours_that_were_run(old: int, new: int, minutes: list[int]) -> None:
    """Whatever the new one begins at, the work after it adds the same."""
    worked = [Worked(at(1 + number), one) for number, one in enumerate(minutes)]
    plain = Meter(Decimal(old), (), (), worked)
    changed = Meter(Decimal(old), (), [Replaced(at(0.5), Decimal(old), Decimal(new))], worked)
    assert plain.run_h(at(100)) == changed.run_h(at(100))
    assert round(changed.shows_h(at(100)) * 60) == new * 60 + sum(minutes)


def test_readings_that_run_backwards_or_outrun_the_clock_are_told_apart_from_reports_that_differ() -> None:
    """Ten hours gained in three is one too fast; 12 h on the meter against 6 h reported is more than a quarter apart."""
    meter = Meter(
        start_h=Decimal(0),
        readings=[
            read(0, "100.0"),
            read(3, "110.0"),
            read(6, "109.0"),
            read(54, "121.0"),
            read(102, "127.0"),
        ],
        worked=[Worked(at(7), 360), Worked(at(60), 300)],
    )
    fast, back, apart = disagreements(meter)
    assert isinstance(fast, TooFast)
    assert (fast.gained_h, fast.passed_h) == (10, 3)
    assert isinstance(back, Backwards)
    assert (back.before.hours, back.after.hours) == (110, 109)
    assert isinstance(apart, Apart)
    assert (apart.gained_h, apart.reported_h) == (12, 6)


@pytest.mark.parametrize(
    ("gained", "reported_min", "found"),
    [
        ("4.0", 0, 0),
        ("4.1", 0, 1),
        ("20.0", 900, 0),
        ("20.0", 890, 1),
        ("14.0", 1_200, 1),
        ("16.0", 1_200, 0),
    ],
)
def test_how_far_a_meter_and_the_reports_may_differ(gained: str, reported_min: int, found: int) -> None:
    """Four hours, or a quarter of the larger: 20 h against 15 h still agree, against 14 h 50 min no more."""
    meter = Meter(
        Decimal(0),
        readings=[read(0, "0.0"), read(72, gained)],
        worked=[Worked(at(1), reported_min)] if reported_min else [],
    )
    assert len(disagreements(meter)) == found


def test_a_meter_that_nobody_read_while_the_machine_worked_is_told() -> None:
    worked = [Worked(at(24 * day), 300) for day in range(1, 15)]
    assert unread(Meter(Decimal(0), [read(0, "5.0")], (), worked), at(24 * 13)) is None, "13 days"
    assert unread(Meter(Decimal(0), [read(0, "5.0")], (), worked), at(24 * 15)) == Unread(
        at(0), 15, Decimal(70)
    )
    assert unread(Meter(Decimal(0), [read(0, "5.0")], (), worked[:3]), at(24 * 90)) is None, "15 h in all"
    never = unread(Meter(Decimal(0), (), (), worked), at(24 * 5))
    assert never == Unread(None, None, Decimal(20))


def test_a_pivot_ran_from_a_sight_of_it_running_to_the_next_of_it_standing() -> None:
    """Seen running at 0 and 5, standing at 9 and 20, running at 30, now 36: 9 h and 6 h, two starts."""
    sights = [(30, True), (0, True), (5, True), (9, False), (20, False)]
    ran = running_stretches([Seen(at(hour), runs) for hour, runs in sights], at(36))
    assert ran == [(at(0), at(9)), (at(30), at(36))]
    assert (ran_h(ran, None), starts_since(ran, None)) == (15, 2)
    assert (ran_h(ran, at(7)), starts_since(ran, at(7))) == (8, 1)
    assert running_stretches([Seen(at(40), True)], at(36)) == []


def test_outings_are_days_on_the_farms_clock() -> None:
    """Noon UTC is 8 am there; 14 hours on it is 10 pm of the same day, 16 hours on it is the next."""
    began = [at(0), at(14), at(16), at(48)]
    assert outings_since(began, None, NEW_YORK) == 3
    assert outings_since(began, at(15), NEW_YORK) == 2


def test_starts_run_out_on_the_days_on_which_it_could_go_out() -> None:
    """Monday and Wednesday have hours: with two starts left it is due at the end of Wednesday."""
    running, ends = [(420, 1_080), (3_300, 3_960)], [1_440, 2_880, 4_320]

    def due(starts: int) -> int | None:
        left = Left(None, None, None, starts)
        return runs_out_min(left, running=running, day_ends_min=ends, ac_per_h=None)

    assert [due(starts) for starts in (0, 1, 2, 3)] == [0, 1_440, 4_320, None]
    assert left_of(Every(starts=20), Run(Decimal(0), 0, Decimal(0), 21)).is_over


def test_the_likely_day_goes_by_the_plan_first_and_by_the_pace_after_it() -> None:
    """30 h left: 10 planned today, 8 tomorrow, then 3 h a day: 12 more take four days, so it is the sixth day."""
    ahead = [Use(Decimal(10)), Use(Decimal(8))]
    pace = Use(Decimal(3), Decimal(20), Decimal("0.5"))
    left = Left(Decimal(30), None, None)
    assert expected_day(left, today=TODAY, ahead=ahead, pace=pace) == dt.date(2026, 4, 25)
    assert expected_day(Left(Decimal(30), 3, None), today=TODAY, ahead=ahead, pace=pace) == dt.date(
        2026, 4, 23
    )
    assert expected_day(Left(None, None, Decimal(50)), today=TODAY, ahead=[], pace=pace) == dt.date(
        2026, 4, 22
    )
    assert expected_day(Left(None, None, None, 2), today=TODAY, ahead=[], pace=pace) == dt.date(2026, 4, 23)
    assert expected_day(Left(Decimal(0), None, None), today=TODAY, ahead=ahead, pace=pace) == TODAY
    assert expected_day(left, today=TODAY, ahead=[], pace=Use()) is None
