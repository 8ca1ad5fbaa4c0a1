"""What a tank lacks between two readings. Numbers worked by hand, as a storekeeper's stock card."""

import datetime as dt
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from scheduling.fuel import Flow, Level, since_reading, stretches

MONDAY = dt.datetime(2026, 4, 20, 7, tzinfo=dt.UTC)


def at(hours: float) -> dt.datetime:
    return MONDAY + dt.timedelta(hours=hours)


def gal(text: str) -> Decimal:
    return Decimal(text)


def test_what_was_there_and_came_less_what_went_is_what_should_be_found() -> None:
    levels = [Level(at(0), gal("412.0")), Level(at(72), gal("655.5"))]
    came = [Flow(at(20), gal("400.0"))]
    went = [Flow(at(8), gal("61.5")), Flow(at(30), gal("80.0"))]
    (only,) = stretches(levels=levels, came=came, went=went)
    assert (only.had_gal, only.came_gal, only.went_gal) == (gal("412.0"), gal("400.0"), gal("141.5"))
    assert only.should_gal == gal("670.5")
    assert only.missing_gal == gal("15.0")


def test_a_flow_at_the_hour_of_a_reading_came_before_it() -> None:
    levels = [Level(at(0), gal("100")), Level(at(10), gal("90")), Level(at(20), gal("90"))]
    went = [Flow(at(0), gal("30")), Flow(at(10), gal("10"))]
    first, second = stretches(levels=levels, came=[], went=went)
    assert (first.went_gal, first.missing_gal) == (gal("10"), 0)
    assert (second.went_gal, second.missing_gal) == (0, 0)


def test_more_than_there_should_be_is_below_zero() -> None:
    (only,) = stretches(levels=[Level(at(0), gal("100")), Level(at(10), gal("104"))], came=[], went=[])
    assert only.missing_gal == gal("-4")


def test_of_two_readings_of_one_instant_the_later_one_counts() -> None:
    levels = [Level(at(0), gal("100")), Level(at(9), gal("50")), Level(at(9), gal("95"))]
    (only,) = stretches(levels=levels, came=[], went=[])
    assert only.found_gal == gal("95")
    now = since_reading(levels=levels, came=[], went=[Flow(at(10), gal("5"))])
    assert now is not None
    assert (now.had_gal, now.should_gal, now.missing_gal) == (gal("95"), gal("90"), None)


def test_a_tank_that_was_never_read_has_nothing_to_reckon_from() -> None:
    assert stretches(levels=[], came=[], went=[Flow(at(0), gal("5"))]) == []
    assert since_reading(levels=[], came=[], went=[]) is None


HOURS, TENTHS = st.integers(0, 100), st.integers(0, 5000)
FLOWS = st.lists(st.tuples(HOURS, TENTHS.filter(bool)), max_size=12)


@given(st.lists(st.tuples(HOURS, TENTHS), min_size=1, max_size=8, unique_by=lambda one: one[0]), FLOWS, FLOWS)
def test_what_is_missing_adds_up_over_the_stretches(
    read: list[tuple[int, int]], came: list[tuple[int, int]], went: list[tuple[int, int]]
) -> None:
    """From the first reading to the last, the tank's own balance says the same as the stretches together."""
    levels = [Level(at(hour), Decimal(tenths) / 10) for hour, tenths in read]
    flows = [[Flow(at(hour), Decimal(tenths) / 10) for hour, tenths in side] for side in (came, went)]
    first, last = min(levels, key=lambda one: one.at), max(levels, key=lambda one: one.at)
    whole = first.gallons - last.gallons
    for sign, side in ((1, flows[0]), (-1, flows[1])):
        whole += sign * sum(one.gallons for one in side if first.at < one.at <= last.at)
    found = stretches(levels=levels, came=flows[0], went=flows[1])
    assert len(found) == len(levels) - 1
    assert sum(one.missing_gal or 0 for one in found) == whole
