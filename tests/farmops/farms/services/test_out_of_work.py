"""What is down and who is away: kept, taken back, refused."""

import datetime as dt

import pytest

from farmops.farms.models import Hand, HandAway, Machine
from farmops.farms.services.out_of_work import (
    OutOfWorkRefused,
    set_away,
    set_down,
    set_working,
    take_back_away,
)
from tests.factories import make_farm, make_hand, make_implement, make_machine

NOON = dt.datetime(2026, 4, 20, 16, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)


@pytest.fixture
def tractor(db: None) -> Machine:
    return make_machine(make_farm())


@pytest.fixture
def hand(db: None) -> Hand:
    return make_hand(make_farm())


def test_what_is_down_is_back_about_then_and_works_when_it_is_said(tractor: Machine) -> None:
    for row in (tractor, make_implement(tractor.farm)):
        for _ in range(2):
            assert set_down(row=row, back_at=NOON + dt.timedelta(hours=5), now=NOON).down_until == (
                NOON + dt.timedelta(hours=5)
            )
        for _ in range(2):
            assert set_working(row=row).down_until is None


@pytest.mark.parametrize("hours", [0, -1, 24 * 731])
def test_back_at_an_hour_that_is_over_or_years_ahead_is_refused(tractor: Machine, hours: int) -> None:
    with pytest.raises(OutOfWorkRefused) as refused:
        set_down(row=tractor, back_at=NOON + dt.timedelta(hours=hours), now=NOON)
    assert list(refused.value.fields) == ["back_at"]
    tractor.refresh_from_db()
    assert tractor.down_until is None


def test_days_away_are_kept_once_and_taken_back(hand: Hand) -> None:
    away, is_new = set_away(hand=hand, first_on=DAY, last_on=DAY, why=" dentist ", today=DAY)
    assert (away.why, is_new) == ("dentist", True)
    assert set_away(hand=hand, first_on=DAY, last_on=DAY, today=DAY) == (away, False)
    assert set_away(hand=hand, first_on=DAY, last_on=DAY, why="court", today=DAY) == (away, True)
    away.refresh_from_db()
    assert away.why == "court", "another reason takes the place of the one before"
    for _ in range(2):
        take_back_away(away=away)
        assert not HandAway.objects.filter(hand=hand).exists()


@pytest.mark.parametrize(
    ("first", "last", "box"),
    [(1, 0, "last_on"), (-3, -1, "last_on"), (0, 731, "last_on"), (2, 4, "first_on")],
)
def test_days_that_make_no_sense_are_refused(hand: Hand, first: int, last: int, box: str) -> None:
    set_away(hand=hand, first_on=DAY + dt.timedelta(days=4), last_on=DAY + dt.timedelta(days=6), today=DAY)
    with pytest.raises(OutOfWorkRefused) as refused:
        set_away(
            hand=hand,
            first_on=DAY + dt.timedelta(days=first),
            last_on=DAY + dt.timedelta(days=last),
            today=DAY,
        )
    assert list(refused.value.fields) == [box]
    assert HandAway.objects.count() == 1
