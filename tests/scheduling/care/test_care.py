"""Hours on a meter, what is left of a service rule, and when it runs out: worked by hand."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.care import (
    CareError,
    Every,
    Left,
    Reading,
    Run,
    Worked,
    left_of,
    meter_h,
    runs_out_min,
    worked_since,
)

MONDAY = dt.datetime(2026, 4, 20, 11, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)
SHIFTS = [(420, 1_080), (1_860, 2_520)]
ENDS = [1_440, 2_880]


def at(days: float) -> dt.datetime:
    return MONDAY + days * DAY


def test_a_meter_shows_its_last_reading_and_the_work_begun_since() -> None:
    """2,104.6 read on Monday; 90 + 300 minutes after it are 6.5 h; what began before is in the reading."""
    worked = [Worked(at(-1), 600), Worked(at(0.2), 90), Worked(at(1), 300), Worked(at(3), 480)]
    shows = meter_h(
        readings=[Reading(at(0), Decimal("2104.6"))], worked=worked, start_h=Decimal(2_000), at=at(2)
    )
    assert shows == Decimal("2111.1")


def test_a_meter_that_was_never_read_counts_from_its_entry() -> None:
    assert meter_h(readings=[], worked=[Worked(at(0), 30)], start_h=Decimal(50), at=at(1)) == Decimal("50.5")


def test_between_two_readings_no_work_runs_past_the_later_one() -> None:
    readings = [Reading(at(0), Decimal(100)), Reading(at(2), Decimal(103))]
    assert meter_h(readings=readings, worked=[Worked(at(0.5), 600)], start_h=Decimal(0), at=at(1)) == 103


def test_hours_and_acres_since_an_instant() -> None:
    worked = [Worked(at(-1), 60, Decimal(10)), Worked(at(1), 90, Decimal(20))]
    assert worked_since(worked, at(0)) == (Decimal("1.5"), Decimal(20))
    assert worked_since(worked, None) == (Decimal("2.5"), Decimal(30))


def test_whichever_count_runs_out_first_is_due() -> None:
    left = left_of(Every(hours=Decimal(250), days=365), Run(Decimal(240), 366, Decimal(0)))
    assert left == Left(Decimal(10), -1, None)
    assert left.is_over
    assert runs_out_min(left, running=SHIFTS, day_ends_min=ENDS, ac_per_h=None) == 0


@pytest.mark.parametrize(
    ("hours", "share", "minute"),
    [
        ("10", 1, 420 + 600),
        ("11", 1, 420 + 660),
        ("12", 1, 1_860 + 60),
        ("23", 1, None),
        ("6", Fraction(1, 2), 1_860 + 60),
        ("-3", 1, 0),
    ],
)
def test_hours_left_run_out_in_the_hours_it_can_run(
    hours: str, share: Fraction | int, minute: int | None
) -> None:
    """Two shifts of 11 h: 12 h left end one hour into the second; 6 h at half the time likewise."""
    left = Left(Decimal(hours), None, None)
    found = runs_out_min(left, running=SHIFTS, day_ends_min=ENDS, ac_per_h=None, busy_share=Fraction(share))
    assert found == minute


@pytest.mark.parametrize(("days", "minute"), [(0, 0), (1, 1_440), (2, 2_880), (3, None), (-5, 0)])
def test_days_left_run_out_at_the_end_of_a_day(days: int, minute: int | None) -> None:
    assert runs_out_min(Left(None, days, None), running=[], day_ends_min=ENDS, ac_per_h=None) == minute


def test_acres_left_run_out_at_the_pace_of_the_work() -> None:
    """60 acres at 10 an hour are 6 h."""
    left = Left(None, None, Decimal(60))
    assert runs_out_min(left, running=SHIFTS, day_ends_min=ENDS, ac_per_h=Decimal(10)) == 420 + 360
    assert runs_out_min(left, running=SHIFTS, day_ends_min=ENDS, ac_per_h=None) is None
    over = Left(None, None, Decimal(0))
    assert runs_out_min(over, running=SHIFTS, day_ends_min=ENDS, ac_per_h=None) == 0


def test_days_that_nobody_counted_from_are_over() -> None:
    assert left_of(Every(days=30), Run(Decimal(0), None, Decimal(0))).is_over


def test_a_rule_without_a_number_or_a_share_out_of_range_is_refused() -> None:
    for every in ({}, {"hours": Decimal(0)}, {"days": -1}, {"hours": Decimal(5), "acres": Decimal(-2)}):
        with pytest.raises(CareError, match="above 0"):
            Every(**every)
    for share in (Fraction(0), Fraction(3, 2)):
        with pytest.raises(CareError, match="busy share"):
            runs_out_min(
                Left(Decimal(1), None, None), running=SHIFTS, day_ends_min=[], ac_per_h=None, busy_share=share
            )


@given(st.integers(0, 3_000), st.integers(0, 3_000))
def test_no_plan_can_run_it_past_its_limit_before_that_minute(left_min: int, minute: int) -> None:
    """However the hours are used, up to the limit's minute no more than what is left can have been run."""
    found = runs_out_min(
        Left(Decimal(left_min) / 60, None, None), running=SHIFTS, day_ends_min=ENDS, ac_per_h=None
    )
    could = sum(max(0, min(ends, minute) - begins) for begins, ends in SHIFTS)
    if found is None or minute <= found:
        assert could <= left_min + 1
