"""A fill-up pays for what the machine ran since the one before. Numbers worked by hand."""

import datetime as dt
from decimal import Decimal

import pytest

from scheduling.fuel import Fill, FuelError, Ran, burned_by_fill

MONDAY = dt.datetime(2026, 4, 20, 7, tzinfo=dt.UTC)


def at(hours: float) -> dt.datetime:
    return MONDAY + dt.timedelta(hours=hours)


def gal(text: str) -> Decimal:
    return Decimal(text)


def test_each_fill_up_is_shared_to_the_work_since_the_one_before() -> None:
    fills = [Fill(1, at(12), gal("40.0")), Fill(2, at(36), gal("33.0"))]
    ran = [Ran(11, at(0), 300), Ran(12, at(6), 100), Ran(13, at(24), 330)]
    first, second = burned_by_fill(fills=fills, ran=ran)
    assert first.gallons == {11: gal("30.0"), 12: gal("10.0")}
    assert (first.worked_min, first.gal_per_h) == (400, gal("6.0"))
    assert second.gallons == {13: gal("33.0")}
    assert second.gal_per_h == gal("6.0")


def test_work_that_begins_at_the_fill_up_belongs_to_the_next_one() -> None:
    fills = [Fill(1, at(5), gal("10.0")), Fill(2, at(9), gal("20.0"))]
    first, second = burned_by_fill(fills=fills, ran=[Ran(11, at(5), 60)])
    assert first.gallons == {}
    assert first.gal_per_h is None
    assert second.gallons == {11: gal("20.0")}


def test_what_the_meter_says_beyond_the_work_was_burned_on_no_pass() -> None:
    """5 h of work within 6.0 h by the meter: a sixth of 36 gal went on the road and at the yard."""
    fills = [Fill(1, at(0), gal("50.0"), gal("2400.0")), Fill(2, at(10), gal("36.0"), gal("2406.0"))]
    second = burned_by_fill(fills=fills, ran=[Ran(11, at(1), 300)])[1]
    assert (second.meter_min, second.worked_min, second.engine_min) == (360, 300, 360)
    assert second.gallons == {11: gal("30.0")}
    assert second.no_work_gal == gal("6.0")
    assert second.gal_per_h == gal("6.0")


@pytest.mark.parametrize("last_h", ["2405.2", "2404.0", "7.5"])
def test_a_meter_that_agrees_or_was_replaced_leaves_all_to_the_work(last_h: str) -> None:
    fills = [Fill(1, at(0), gal("50.0"), gal("2400.0")), Fill(2, at(10), gal("36.0"), gal(last_h))]
    second = burned_by_fill(fills=fills, ran=[Ran(11, at(1), 300)])[1]
    assert second.gallons == {11: gal("36.0")}
    assert second.no_work_gal == 0
    assert second.meter_min == {"2405.2": 312, "2404.0": 240, "7.5": None}[last_h]


def test_a_meter_that_ran_without_any_work_leaves_all_to_no_pass() -> None:
    fills = [Fill(1, at(0), gal("50.0"), gal("2400.0")), Fill(2, at(10), gal("9.5"), gal("2402.0"))]
    second = burned_by_fill(fills=fills, ran=[])[1]
    assert (second.gallons, second.no_work_gal) == ({}, gal("9.5"))


def test_the_first_fill_up_on_record_reaches_a_week_back() -> None:
    ran = [Ran(11, at(-7 * 24 - 1), 600), Ran(12, at(-7 * 24), 60)]
    only = burned_by_fill(fills=[Fill(1, at(0), gal("12.0"))], ran=ran)[0]
    assert only.gallons == {12: gal("12.0")}


def test_fill_ups_of_one_machine_are_taken_in_their_order() -> None:
    fills = [Fill(2, at(36), gal("33.0")), Fill(1, at(12), gal("40.0"))]
    assert [one.fill.key for one in burned_by_fill(fills=fills, ran=[])] == [1, 2]


def test_a_key_of_work_is_above_zero() -> None:
    with pytest.raises(FuelError, match="above 0"):
        burned_by_fill(fills=[], ran=[Ran(0, at(0), 5)])
