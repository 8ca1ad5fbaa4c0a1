"""Undoing an entry by its number: to the cent, once, with a reason, into an open month."""

import datetime as dt

import pytest

from ledger.models import Entry, Line
from ledger.services.held_books import ReversalRefused
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from ledger.services.reversals import NoSuchEntry, reverse_by_number
from ledger.services.verify import verify_ledger
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place

IN_MAY = dt.datetime(2026, 5, 4, 16, tzinfo=dt.UTC)


def test_it_takes_every_line_back_and_both_stay(place: Place) -> None:
    make_bill(place, "100.00", machine=place.machine)
    post_pending(now=NOON)
    done = reverse_by_number(farm=place.farm, number=1, why="  entered\n twice ", now=NOON)
    assert (done.number, done.reverses, done.why) == (2, Entry.objects.get(number=1), "entered twice")
    assert sorted(done.lines.values_list("cents", flat=True)) == [-100_00, 100_00]
    assert Line.objects.count() == 4
    assert post_pending(now=NOON).posted == 0  # what caused it is not booked anew
    assert verify_ledger().is_whole


def test_of_a_closed_month_it_is_booked_into_the_open_one_and_keeps_its_day(place: Place) -> None:
    make_bill(place, "100.00")
    close_period(farm=place.farm, month=DAY, now=IN_MAY)
    done = reverse_by_number(farm=place.farm, number=1, why="entered twice", now=IN_MAY)
    assert (done.happened_on, done.booked_on) == (DAY, dt.date(2026, 5, 1))
    assert verify_ledger().is_whole


@pytest.mark.parametrize(
    ("number", "why", "says"),
    [
        (1, "  ", "A reversal needs a reason in words."),
        (1, "x" * 201, "The reason has 201 characters; at most 200."),
        (1, "a\x00b", "The reason holds a sign that cannot be printed."),
        (2, "again", "Entry 2 closes or opens a month; open or close the month instead."),
        (4, "again", "Entry 4 is itself a reversal; book what is right instead."),
        (3, "again", "Entry 3 was reversed before."),
    ],
)
def test_what_cannot_be_undone_is_refused_in_a_sentence(
    place: Place, number: int, why: str, says: str
) -> None:
    make_bill(place, "100.00")
    close_period(farm=place.farm, month=DAY, now=IN_MAY)
    make_bill(place, "50.00", bill_on=dt.date(2026, 5, 2), now=IN_MAY)
    post_pending(now=IN_MAY)
    reverse_by_number(farm=place.farm, number=3, why="wrong", now=IN_MAY)
    with pytest.raises(ReversalRefused) as refused:
        reverse_by_number(farm=place.farm, number=number, why=why, now=IN_MAY)
    assert refused.value.says == says
    assert Entry.objects.count() == 4


def test_another_farms_entry_is_not_there(place: Place) -> None:
    make_bill(make_place("fox-hollow"), "100.00")
    post_pending(now=NOON)
    with pytest.raises(NoSuchEntry) as refused:
        reverse_by_number(farm=place.farm, number=1, why="wrong", now=NOON)
    assert refused.value.says == f"{place.farm.name} has no entry 1."
