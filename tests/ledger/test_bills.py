"""Bills: where they end, what is refused, and that a repeat is the same bill."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.db.models import Sum

from farmops.farms.models import Season
from ledger.models import Account, Bill, BillPayment, Entry, Line, Payee, PunctureTo
from ledger.selectors.bills import bill_place_words, bill_places
from ledger.services.bills import BillDiffers, BillRefused, enter_bill, pay_bill
from ledger.services.books import ChoiceUnknown, choose_puncture
from ledger.services.payees import set_payee
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from scheduling.models import Incident, IncidentKind
from tests.factories import make_field, make_season
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place


def make_incident(place: Place, kind: str = IncidentKind.PUNCTURE, **facts: Any) -> Incident:
    defaults: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "happened_at": NOON,
        "field": place.season.field,
        "season": place.season,
        "machine": place.machine,
        "hand": place.hand,
        "wheel": "rear left, inner",
        "met": "bone",
        "recorded_at": NOON,
    }
    return Incident.objects.create(farm=place.farm, kind=kind, **{**defaults, **facts})


def places_of(place: Place) -> dict[tuple[str, str], int]:
    lines = Line.objects.filter(farm=place.farm).exclude(account__in=[Account.BILLS_OWED, Account.BANK])
    return {
        (row[0], row[1]): row[2] for row in lines.values_list("account", "subject").annotate(Sum("cents"))
    }


def test_a_puncture_goes_to_the_field_unless_the_farm_chose_the_machine(place: Place) -> None:
    incident = make_incident(place)
    make_bill(place, "412.38", category="tires", incident=incident, machine=place.machine)
    post_pending(now=NOON)
    assert places_of(place) == {("season", "pond-40 cotton 2026"): 41_238}
    line = Line.objects.get(account=Account.SEASON)
    assert (line.category, line.says) == ("tires", "bill of Three Rivers Supply")

    choose_puncture(farm=place.farm, puncture_to=PunctureTo.MACHINE_POOL)
    make_bill(place, "88.00", category="tires", incident=incident, season=place.season)
    post_pending(now=NOON)
    assert places_of(place) == {
        ("season", "pond-40 cotton 2026"): 41_238,
        ("machine_pool", "tractor-1"): 8_800,
    }


def test_a_puncture_on_a_field_of_two_halves_is_shared_by_acres_to_the_cent(place: Place) -> None:
    """By hand: 100.00 over 26.67 and 13.33 acres of 40 are 66.675 and 33.325; the left cent goes to the first."""
    field = make_field(place.farm, "split-40")
    make_season(field, part="north", area_ac=Decimal("26.67"))
    make_season(field, part="south", crop="peanuts", area_ac=Decimal("13.33"))
    make_season(field, crop="corn", crop_year=2025)
    incident = make_incident(place, field=field, season=None)
    make_bill(place, "100.00", category="tires", incident=incident)
    post_pending(now=NOON)
    assert places_of(place) == {
        ("season", "split-40.north cotton 2026"): 6_668,
        ("season", "split-40.south peanuts 2026"): 3_332,
    }


def test_a_breakage_goes_to_the_pool_and_without_a_machine_to_the_farm(place: Place) -> None:
    make_bill(place, "10", category="repairs", incident=make_incident(place, IncidentKind.BREAKAGE))
    nothing = make_incident(place, IncidentKind.STUCK, machine=None, season=None, field=None)
    make_bill(place, "20", category="custom_work", incident=nothing)
    post_pending(now=NOON)
    assert places_of(place) == {("machine_pool", "tractor-1"): 1_000, ("overhead", ""): 2_000}


@pytest.mark.parametrize(
    ("category", "account"),
    [
        ("fuel", "fuel_stock"),
        ("seed", "input_stock"),
        ("fertilizer", "input_stock"),
        ("insurance", "overhead"),
    ],
)
def test_a_bill_without_a_place_goes_where_its_category_says(
    place: Place, category: str, account: str
) -> None:
    make_bill(place, category=category)
    post_pending(now=NOON)
    assert places_of(place) == {(account, ""): 10_000}


def test_a_season_or_a_machine_that_is_named_bears_the_bill(place: Place) -> None:
    make_bill(place, category="land_rent", season=place.season)
    make_bill(place, category="repairs", machine=place.machine)
    make_bill(place, category="repairs", implement=place.implement)
    post_pending(now=NOON)
    assert places_of(place) == {
        ("season", "pond-40 cotton 2026"): 10_000,
        ("machine_pool", "tractor-1"): 10_000,
        ("machine_pool", "disk-1"): 10_000,
    }


def test_a_credit_is_a_bill_below_zero(place: Place) -> None:
    make_bill(place, "-25.50", category="seed")
    post_pending(now=NOON)
    assert places_of(place) == {("input_stock", ""): -2_550}
    assert Line.objects.get(account=Account.BILLS_OWED).cents == 2_550


def test_what_is_owed_goes_down_when_it_is_paid(place: Place) -> None:
    bill = make_bill(place, "75.25")
    post_pending(now=NOON)
    pay_bill(bill=bill, paid_on=DAY + dt.timedelta(days=9), check_no="1043", now=NOON)
    _payment, is_new = pay_bill(bill=bill, paid_on=DAY + dt.timedelta(days=9), check_no="1043", now=NOON)
    assert not is_new
    with pytest.raises(BillDiffers, match="paid on 2026-04-29 by check 1043 already"):
        pay_bill(bill=bill, paid_on=DAY, now=NOON)
    post_pending(now=NOON)
    sums = dict(Line.objects.values_list("account").annotate(Sum("cents")))
    assert sums == {"overhead": 7_525, "bills_owed": 0, "bank": -7_525}
    assert BillPayment.objects.count() == 1


def test_the_same_client_id_is_the_same_bill_and_with_other_facts_a_conflict(place: Place) -> None:
    facts: dict[str, Any] = {
        "farm": place.farm,
        "client_id": uuid.uuid4(),
        "payee": "Three Rivers Supply",
        "number": "A-117",
        "bill_on": DAY,
        "amount_usd": "19.99",
        "category": "repairs",
        "now": NOON,
    }
    first, is_new = enter_bill(**facts)
    again, is_new_again = enter_bill(
        **{**facts, "amount_usd": Decimal("19.990"), "payee": " Three Rivers Supply "}
    )
    assert (is_new, is_new_again, first) == (True, False, again)
    with pytest.raises(BillDiffers, match="another amount"):
        enter_bill(**{**facts, "amount_usd": "20.00"})
    with pytest.raises(BillDiffers, match="another payee"):
        enter_bill(**{**facts, "payee": "Other Supply"})
    with pytest.raises(BillDiffers, match="Invoice A-117 of Three Rivers Supply was entered"):
        enter_bill(**{**facts, "client_id": uuid.uuid4()})
    assert Bill.objects.count() == 1


@pytest.mark.parametrize("payee", ["THREE RIVERS SUPPLY", "three rivers  supply", " Three Rivers Supply "])
def test_an_invoice_is_known_whatever_capitals_and_spaces_its_payee_and_number_have(
    place: Place, payee: str
) -> None:
    """Outside: form 1099 goes by person, not by spelling (Internal Revenue Code, section 6041(a)): one payee, one sum."""
    key = uuid.uuid4()
    bill = make_bill(place, number="A-117", client_id=key)
    with pytest.raises(BillDiffers, match="Invoice A-117 of Three Rivers Supply was entered"):
        make_bill(place, payee=payee, number="a-117")
    assert make_bill(place, payee=payee, number="A-118").payee == bill.payee
    set_payee(farm=place.farm, name=payee, has_w9=True)
    assert list(Payee.objects.values_list("name", "has_w9")) == [("Three Rivers Supply", True)]
    again = enter_bill(
        farm=place.farm,
        client_id=key,
        payee=payee,
        number="A-117",
        bill_on=DAY,
        category="other",
        amount_usd="100.00",
        now=NOON,
    )
    assert again == (bill, False)


def test_a_corrected_bill_supersedes_and_the_old_entry_is_reversed(place: Place) -> None:
    wrong = make_bill(place, "190.00", number="A-118")
    post_pending(now=NOON)
    make_bill(place, "19.00", number="A-118", supersedes=wrong)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 1)
    assert places_of(place) == {("overhead", ""): 1_900}
    assert Entry.objects.count() == 3
    assert verify_ledger().faults == []


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"amount_usd": "12.345"}, "more than two decimals"),
        ({"amount_usd": "0.00"}, "asks for nothing"),
        ({"amount_usd": "1e9"}, "plain number"),
        ({"amount_usd": "10000000001"}, "no single line holds"),
        ({"category": "yachts"}, "'yachts' is not a category of bills"),
        ({"category": "owner_time"}, "not a category of bills"),
        ({"payee": " "}, "names who is to be paid"),
    ],
)
def test_a_bill_that_makes_no_sense_is_refused_and_nothing_is_stored(
    place: Place, facts: dict[str, Any], says: str
) -> None:
    with pytest.raises(BillRefused, match=says):
        make_bill(place, **facts)
    assert Bill.objects.count() == 0


def test_a_bill_names_one_place_of_its_own_farm(place: Place) -> None:
    other = make_place("other-bend")
    with pytest.raises(BillRefused, match="a season or to a machine"):
        make_bill(place, season=place.season, machine=place.machine)
    with pytest.raises(BillRefused, match="The season of the bill is not one of Heron Slough"):
        make_bill(place, season=other.season)
    with pytest.raises(ChoiceUnknown, match="field or to machine_pool"):
        choose_puncture(farm=place.farm, puncture_to="nobody")


def test_a_bill_is_corrected_once_and_then_its_correction_is(place: Place) -> None:
    first = make_bill(place, "10", number="A1")
    second = make_bill(place, "11", number="A1", supersedes=first)
    with pytest.raises(BillDiffers, match="A1 bill was corrected before; take the newer one"):
        make_bill(place, "12", number="A1", supersedes=first)
    with pytest.raises(BillDiffers, match="A1 bill was corrected before; take the newer one"):
        pay_bill(bill=first, paid_on=DAY, now=NOON)
    assert BillPayment.objects.count() == 0
    make_bill(place, "12", number="A1", supersedes=second)
    assert list(Bill.objects.order_by("id").values_list("cents", flat=True)) == [1_000, 1_100, 1_200]


def test_a_repeat_that_says_otherwise_of_the_payment_is_refused(place: Place) -> None:
    same: dict[str, Any] = {
        "farm": place.farm,
        "client_id": uuid.uuid4(),
        "payee": "Tire Barn",
        "bill_on": DAY,
        "amount_usd": "10",
        "category": "tires",
        "now": NOON,
    }
    enter_bill(**same, paid_on=DAY, check_no="77")
    assert enter_bill(**same, paid_on=DAY, check_no=" 77 ")[1] is False
    assert enter_bill(**same)[1] is False
    with pytest.raises(BillDiffers, match="was paid on 2026-04-20 by check 77 already"):
        enter_bill(**same, paid_on=DAY, check_no="78")
    not_paid = {**same, "client_id": uuid.uuid4()}
    enter_bill(**not_paid)
    with pytest.raises(BillDiffers, match="entered as not paid; say apart that it was paid"):
        enter_bill(**not_paid, paid_on=DAY)
    assert BillPayment.objects.count() == 1


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"payee": "x" * 81}, "payee of the bill has 81 characters; at most 80"),
        ({"payee": "a\0b"}, "payee of the bill holds a sign that cannot be printed"),
        ({"payee": "a\nb"}, "payee of the bill holds a sign that cannot be printed"),
        ({"number": "9" * 41}, "number of the bill has 41 characters; at most 40"),
        ({"check_no": "9" * 21, "paid_on": DAY}, "check of the bill has 21 characters; at most 20"),
        ({"note": "one\ntwo\0"}, "note of the bill holds a sign"),
        (
            {"bill_on": dt.date(1, 1, 1)},
            "day of the bill: 0001-01-01 is not between 1990 and 2027-04-21; is the year right",
        ),
        ({"bill_on": dt.date(2062, 4, 20)}, "day of the bill: 2062-04-20 is not between"),
        ({"paid_on": dt.date(2062, 4, 20)}, "day of payment: 2062-04-20 is not between"),
    ],
)
def test_a_bill_with_odd_text_or_a_far_date_is_refused(
    place: Place, facts: dict[str, Any], says: str
) -> None:
    with pytest.raises(BillRefused, match=says) as refusal:
        make_bill(place, **facts)
    assert list(refusal.value.fields) == [next(iter(facts))]
    assert Bill.objects.count() == BillPayment.objects.count() == 0


def test_the_database_keeps_no_bill_without_a_farm(place: Place) -> None:
    with pytest.raises(IntegrityError, match=r"farm|owner"), transaction.atomic():
        Bill.objects.create(
            client_id=uuid.uuid4(),
            payee=make_bill(place).payee,
            bill_on=DAY,
            cents=100,
            category="other",
            entered_at=NOON,
        )


def test_a_note_may_have_lines(place: Place) -> None:
    assert make_bill(place, note="inner rear\nwith tube").note == "inner rear\nwith tube"


def test_the_names_of_places_are_those_of_the_places(place: Place) -> None:
    sand = make_field(place.farm, "sand-60", name="Sand")
    make_season(sand, part="north", crop="corn")
    make_season(sand, part="south", crop="corn")
    make_season(place.season.field, crop="wheat")
    make_season(sand, crop="peanuts", crop_year=2027)
    make_season(sand, crop="peanuts", crop_year=2025)
    named = ["pond-40 cotton", "pond-40 wheat", "sand-60.north", "sand-60.south", "sand-60 2027"]
    places = bill_places(farm=place.farm, crop_year=2026)
    assert [name for name, row in places.items() if isinstance(row, Season)] == named
    assert list(bill_place_words(farm=place.farm, crop_year=2026).values()) == list(places)
