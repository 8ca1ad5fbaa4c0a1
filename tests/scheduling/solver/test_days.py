"""Days of the problem's clock."""

import datetime as dt
from dataclasses import replace

import pytest

from scheduling.solver import Problem, parse_problem
from scheduling.solver.days import day_named, days_of, minutes_of, name_of, within, without
from scheduling.solver.problem import Stretch, WorkStretch
from tests.scheduling.solver import example


@pytest.fixture
def problem() -> Problem:
    """Seven days from Monday, April 5, 2027, New York time."""
    return parse_problem(example.problem())


def fall_back() -> Problem:
    """Two weeks from Monday, November 1, 2027; the clock goes back at 2 am on Sunday the 7th (15 USC 260a)."""
    problem = example.problem()
    problem |= {"start": "2027-11-01T00:00:00-04:00", "horizon": 14 * 1440}
    return parse_problem(problem)


def test_a_week_has_seven_days_from_midnight_to_midnight(problem: Problem) -> None:
    days = list(days_of(problem))
    assert days == [dt.date(2027, 4, day) for day in range(5, 12)]
    assert [minutes_of(problem, day) for day in days] == [
        Stretch(number * 1440, (number + 1) * 1440) for number in range(7)
    ]


def test_a_day_on_which_the_clock_goes_back_has_25_hours_and_the_last_is_cut_short() -> None:
    problem = fall_back()
    days = list(days_of(problem))
    minutes = [minutes_of(problem, day) for day in days]
    assert [one.end - one.start for one in minutes] == [1440] * 6 + [1500] + [1440] * 6 + [1380]
    assert minutes[7].start == 7 * 1440 + 60


def test_a_horizon_from_noon_begins_with_half_a_day(problem: Problem) -> None:
    later = replace(problem, start=problem.start + dt.timedelta(hours=12))
    assert minutes_of(later, dt.date(2027, 4, 5)) == Stretch(0, 720)
    assert minutes_of(later, dt.date(2027, 4, 6)) == Stretch(720, 2160)
    assert len(list(days_of(later))) == 8


def test_a_day_outside_the_horizon_is_empty(problem: Problem) -> None:
    for day in (dt.date(2027, 4, 4), dt.date(2027, 4, 12), dt.date.min):
        inside = minutes_of(problem, day)
        assert inside.start >= inside.end


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("thursday", dt.date(2027, 4, 8)),
        (" THU ", dt.date(2027, 4, 8)),
        ("thurs", dt.date(2027, 4, 8)),
        ("2027-04-08", dt.date(2027, 4, 8)),
        ("2031-01-01", dt.date(2031, 1, 1)),
        ("t", None),
        ("th", None),
        ("thursdays", None),
        ("someday", None),
        ("2027-02-30", None),
        ("", None),
    ],
)
def test_a_day_is_named_by_its_weekday_or_date(problem: Problem, text: str, day: dt.date | None) -> None:
    assert day_named(problem, text) == day


def test_in_two_weeks_a_weekday_is_the_first_and_the_second_goes_by_its_date() -> None:
    problem = fall_back()
    first, second = dt.date(2027, 11, 4), dt.date(2027, 11, 11)
    assert day_named(problem, "thursday") == first
    assert (name_of(problem, first), name_of(problem, second)) == ("thursday", "2027-11-11")
    assert all(day_named(problem, name_of(problem, day)) == day for day in days_of(problem))


def test_what_lies_within_and_without_a_stretch_keeps_its_price() -> None:
    hours = [WorkStretch(0, 10), WorkStretch(10, 20, 900), WorkStretch(30, 40)]
    inside = Stretch(5, 35)
    assert within(hours, inside) == [WorkStretch(5, 10), WorkStretch(10, 20, 900), WorkStretch(30, 35)]
    assert without(hours, inside) == [WorkStretch(0, 5), WorkStretch(35, 40)]
    assert without(hours, Stretch(12, 15)) == [
        WorkStretch(0, 10),
        WorkStretch(10, 12, 900),
        WorkStretch(15, 20, 900),
        WorkStretch(30, 40),
    ]
    assert within(hours, Stretch(20, 30)) == []
    assert without(hours, Stretch(20, 30)) == hours
