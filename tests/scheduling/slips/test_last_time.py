"""Which records looked right, which are shown for today's ground, and how a new hand's days in heat grow."""

import datetime as dt

import pytest

from scheduling.slips.facts import GroundToday, LastTime
from scheduling.slips.first_days import new_hand
from scheduling.slips.last_time import last_times_for, looked_right
from scheduling.slips.wetness import WETNESS, wetness_of

RIGHT = {"ridges": "none", "mounds": "none", "clods": "some", "cut": "right"}


def last(day: int, wetness: str, zone: str = "all") -> LastTime:
    return LastTime(dt.date(2026, 3, day), "Imani", zone, wetness, (("speed_mph", None, ""),))


def ground(share: float, zone: str = "all") -> GroundToday:
    return GroundToday(zone, 0.2 * share, 0.2)


def test_what_looked_right_has_no_ridges_no_mounds_and_the_right_cut() -> None:
    assert looked_right(**RIGHT)
    assert looked_right(ridges="", mounds="", clods="", cut="right")


@pytest.mark.parametrize(
    "wrong",
    [{"ridges": "some"}, {"mounds": "many"}, {"clods": "many"}, {"cut": "deep"}, {"cut": "shallow"}],
    ids=str,
)
def test_one_thing_that_was_wrong_is_enough(wrong: dict[str, str]) -> None:
    assert not looked_right(**{**RIGHT, **wrong})


def test_a_look_that_says_nothing_is_no_proof() -> None:
    assert not looked_right(ridges="", mounds="", clods="", cut="")


@pytest.mark.parametrize(
    ("share", "key"), [(0.59, "dry"), (0.6, "moist"), (0.85, "damp"), (1.0, "sticky"), (1.15, "wet")]
)
def test_wetness_goes_with_the_words_for_the_ground(share: float, key: str) -> None:
    assert wetness_of(GroundToday("all", share, 1.0)) == key
    assert key in WETNESS


def test_ground_that_nobody_knows_has_no_wetness() -> None:
    assert wetness_of(None) == ""


def test_times_of_like_ground_go_before_newer_ones_of_other_ground() -> None:
    times = [last(1, "damp"), last(9, "dry"), last(5, "damp")]
    assert [one.work_on.day for one in last_times_for(times, ground(0.9))] == [5, 1]


def test_of_like_ground_the_same_zone_goes_first() -> None:
    times = [last(1, "damp", "low end"), last(5, "damp", "ridge")]
    assert [one.zone for one in last_times_for(times, ground(0.9, "low end"))] == ["low end", "ridge"]


def test_without_like_ground_the_newest_is_shown_alone() -> None:
    times = [last(1, "wet"), last(9, "dry")]
    assert last_times_for(times, ground(0.9)) == (times[1],)
    assert last_times_for(times, None) == (times[1],)
    assert last_times_for([], ground(0.9)) == ()


def test_two_times_are_enough() -> None:
    assert len(last_times_for([last(day, "damp") for day in range(1, 9)], ground(0.9))) == 2


def test_a_new_hands_share_of_heat_grows_by_a_fifth_a_day() -> None:
    """OSHA, Protecting new workers: 20 % on the first day, 20 % more each day after, so that day 5 is a whole one."""
    shares = [new_hand(days_worked=days) for days in range(6)]
    assert [one.most_share_pct if one else None for one in shares] == [20, 40, 60, 80, None, None]
    assert [one.day_no for one in shares if one] == [1, 2, 3, 4]


def test_days_below_none_are_refused() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        new_hand(days_worked=-1)
