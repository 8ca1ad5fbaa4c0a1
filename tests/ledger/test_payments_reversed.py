"""A payment that was reversed in the books pays nothing: not on the list, not for form 1099, not on Schedule F."""

import datetime as dt

import pytest
from django.db import connection
from django.db.models import Sum
from django.test.utils import CaptureQueriesContext

from ledger.models import BillPayment, Entry, Line
from ledger.selectors.bills import is_paid, listed_bills, paid_among, standing_bills, unpaid_bills
from ledger.selectors.form_lines import form_rows
from ledger.selectors.payees import payee_years
from ledger.services.bills import BillDiffers, pay_bill
from ledger.services.posting import post_pending
from ledger.services.reversals import reverse_by_number
from ledger.services.verify import verify_ledger
from tests.ledger.makers import DAY, NOON, Place, make_bill


def owed(place: Place) -> int:
    """What the books say is owed, beside what the list of bills says."""
    sums = Line.objects.filter(farm=place.farm, account="bills_owed").aggregate(cents=Sum("cents"))
    return -(sums["cents"] or 0)


def undo(place: Place, **of: object) -> None:
    number = Entry.objects.get(**of).number
    reverse_by_number(farm=place.farm, number=number, why="the check was void", now=NOON)


def test_a_void_check_leaves_the_bill_owed_everywhere(place: Place) -> None:
    bill = make_bill(place, "2500", category="land_rent", payee="Elm Heirs", paid_on=DAY, check_no="1030")
    post_pending(now=NOON)
    assert (owed(place), unpaid_bills(farm=place.farm)) == (0, [])
    undo(place, payment__bill=bill)
    assert owed(place) == 250_000
    assert unpaid_bills(farm=place.farm) == [bill]
    assert is_paid(bill=bill) is False
    assert payee_years(farm=place.farm, year=DAY.year) == []
    assert form_rows(farm=place.farm, tax_year=DAY.year) == []


def test_it_is_paid_again_by_its_correction_and_not_twice_by_itself(place: Place) -> None:
    bill = make_bill(place, "2500", category="land_rent", payee="Elm Heirs", paid_on=DAY, check_no="1030")
    post_pending(now=NOON)
    undo(place, payment__bill=bill)
    with pytest.raises(BillDiffers, match="was reversed in the books: correct the Elm Heirs"):
        pay_bill(bill=bill, paid_on=DAY, check_no="1030", now=NOON)
    right = make_bill(place, "2500", category="land_rent", payee="Elm Heirs", supersedes=bill)
    assert not BillPayment.objects.filter(bill=right).exists(), "the void check is not taken over"
    post_pending(now=NOON)
    assert unpaid_bills(farm=place.farm) == [right]
    pay_bill(bill=right, paid_on=DAY + dt.timedelta(days=1), check_no="1031", now=NOON)
    post_pending(now=NOON)
    assert (owed(place), unpaid_bills(farm=place.farm)) == (0, [])
    assert [one.paid_cents for one in payee_years(farm=place.farm, year=DAY.year)] == [250_000]
    assert verify_ledger().faults == []


def test_of_many_bills_those_are_paid_that_are_paid_alone(place: Place) -> None:
    """Not paid; paid; paid and void; put right after it was paid; put right after a check that is void."""
    owed_one = make_bill(place, "10", number="1")
    paid, void, wrong, voided = (
        make_bill(place, "20", number=str(number), paid_on=DAY, check_no=str(1000 + number))
        for number in range(2, 6)
    )
    post_pending(now=NOON)
    undo(place, payment__bill=void)
    undo(place, payment__bill=voided)
    right = make_bill(place, "21", number="4", supersedes=wrong)
    anew = make_bill(place, "21", number="5", supersedes=voided)
    bills = [owed_one, paid, void, right, anew]
    assert paid_among(bills=bills) == {paid.pk, right.pk} == {one.pk for one in bills if is_paid(bill=one)}
    assert paid_among(bills=[]) == set()
    assert listed_bills(farm=place.farm, most=9) == (
        [owed_one, void, anew],
        [anew, right, void, paid, owed_one],
    )


def test_the_bills_of_a_list_are_read_at_once_and_are_those_that_are_asked_for_alone(place: Place) -> None:
    """The oldest is owed and not among the newest two; the newest of all is paid."""
    bills = [
        make_bill(place, "10", number=str(day), bill_on=DAY + dt.timedelta(days=day), season=place.season)
        for day in (2, 0, 1)
    ]
    pay_bill(bill=bills[0], paid_on=DAY + dt.timedelta(days=3), check_no="1030", now=NOON)
    with CaptureQueriesContext(connection) as asked:
        owed_now, newest = listed_bills(farm=place.farm, most=2)
        about = [(one.payee.name, one.season, list(one.items.all())) for one in (*owed_now, *newest)]
    assert [one.number for one in owed_now] == ["0", "1"]
    assert [one.number for one in newest] == ["2", "1"]
    assert about == [(bills[0].payee.name, place.season, [])] * 4
    assert len(asked) == 5, "those owed, the newest, and both with their items and their photos"
    assert (owed_now, newest) == (unpaid_bills(farm=place.farm), list(standing_bills(farm=place.farm)[:2]))


def test_a_bill_that_was_reversed_is_not_owed(place: Place) -> None:
    bill = make_bill(place, "80")
    post_pending(now=NOON)
    undo(place, bill=bill)
    assert (owed(place), unpaid_bills(farm=place.farm)) == (0, [])
    assert verify_ledger().faults == []
