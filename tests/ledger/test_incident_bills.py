"""A bill finds its incident, and an outfit that stands has its price."""

import datetime as dt
import uuid

import pytest
from django.db.models import Sum

from farmops.farms.models import Pump
from ledger.models import Account, Bill, Entry, Line
from ledger.selectors.bills import is_paid
from ledger.selectors.incident_bills import bills_of_incidents, bills_that_may_be, mean_puncture_cents
from ledger.selectors.standing import mean_wage_cents_per_h, standing_cents_per_h
from ledger.services.bills import BillDiffers, BillRefused, pay_bill
from ledger.services.incident_bills import join_bill
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import Incident
from tests.factories import make_hand, make_implement, make_machine
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place
from tests.scheduling.incident_makers import make_puncture

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place()


@pytest.fixture
def incident(place: Place) -> Incident:
    return make_puncture(place.season.field, machine=place.machine)


def join(bill: Bill, incident: Incident, number: int = 1) -> tuple[Bill, bool]:
    return join_bill(
        farm=incident.farm, client_id=uuid.UUID(int=number), bill=bill, incident=incident, now=NOON
    )


def test_bills_that_came_since_for_tires_or_repairs_may_be_its_own(place: Place, incident: Incident) -> None:
    alone = make_bill(place, "88", category="tires")
    named = make_bill(place, "99", category="repairs", machine=place.machine, number="7")
    other = make_machine(place.farm, "tractor-9")
    for facts in (
        {"category": "tires", "machine": other},
        {"category": "tires", "bill_on": DAY - dt.timedelta(days=1)},
        {"category": "tires", "bill_on": DAY + dt.timedelta(days=61), "now": NOON + dt.timedelta(days=61)},
        {"category": "seed"},
        {"category": "tires", "season": place.season},
        {"category": "tires", "incident": make_puncture(place.season.field)},
    ):
        make_bill(place, "10", **facts)
    assert bills_that_may_be(incident=incident) == [named, alone]


def test_a_joined_bill_takes_the_place_of_the_one_that_came_alone(place: Place, incident: Incident) -> None:
    bill = make_bill(place, "412.38", category="tires", number="A-1", note="two tubes")
    post_pending(now=NOON)
    joined, is_new = join(bill, incident)
    assert is_new
    assert (joined.supersedes, joined.cents, joined.number, joined.note) == (bill, 41_238, "A-1", "two tubes")
    assert bills_of_incidents(farm=place.farm) == {incident.pk: [joined]}
    assert bills_that_may_be(incident=incident) == []
    assert join(joined, incident) == (joined, False)
    post_pending(now=NOON)
    costs = Line.objects.exclude(account__in=[Account.BILLS_OWED, Account.BANK])
    sums = {row["account"]: row["sum"] for row in costs.values("account").annotate(sum=Sum("cents"))}
    assert sums == {"overhead": 0, "season": 41_238}
    assert verify_ledger(farm=place.farm).faults == []


def test_what_was_paid_stays_paid(place: Place, incident: Incident) -> None:
    bill = make_bill(place, "75", category="tires")
    assert is_paid(bill=bill) is False
    pay_bill(bill=bill, paid_on=DAY, now=NOON)
    post_pending(now=NOON)
    joined, _is_new = join(Bill.objects.get(pk=bill.pk), incident)
    assert is_paid(bill=Bill.objects.get(pk=joined.pk))
    post_pending(now=NOON)
    sums = dict(Line.objects.values_list("account").annotate(Sum("cents")))
    assert (sums["bills_owed"], sums["bank"], sums["season"]) == (0, -7_500, 7_500)


def test_a_bill_is_joined_once(place: Place, incident: Incident) -> None:
    bill = make_bill(place, "75", category="tires")
    join(bill, incident)
    another = make_puncture(place.season.field)
    with pytest.raises(BillDiffers, match="corrected before"):
        join(bill, another, 2)
    with pytest.raises(BillRefused, match="another incident"):
        join(Bill.objects.get(incident=incident), another, 3)


def test_a_bill_that_was_reversed_in_the_books_is_of_no_incident(place: Place, incident: Incident) -> None:
    make_bill(place, "88", category="tires")
    make_bill(place, "99", category="tires", incident=incident)
    post_pending(now=NOON)
    for bill in Bill.objects.all():
        reverse_entry(entry=Entry.objects.get(bill=bill), why="not so", now=NOON)
    assert bills_that_may_be(incident=incident) == []
    assert bills_of_incidents(farm=place.farm) == {}
    assert mean_puncture_cents(farm=place.farm) is None


def test_a_bill_for_a_pump_is_not_taken_from_it(place: Place, incident: Incident) -> None:
    pump = Pump.objects.create(farm=place.farm, code="creek", name="creek pump", flow_gpm=400)
    bill = make_bill(place, "88", category="repairs", pump=pump)
    assert bills_that_may_be(incident=incident) == []
    with pytest.raises(BillRefused, match="goes to a pump"):
        join(bill, incident)


def test_the_mean_is_over_punctures_and_not_over_bills(place: Place, incident: Incident) -> None:
    """By hand: $100 + $20 for one and $301 for another are $210.50 each; a breakage counts not."""
    assert mean_puncture_cents(farm=place.farm) is None
    make_bill(place, "100", category="tires", incident=incident)
    make_bill(place, "20", category="repairs", incident=incident)
    make_bill(place, "301", category="tires", incident=make_puncture(place.season.field))
    make_bill(place, "999", category="repairs", incident=make_puncture(place.season.field, kind="breakage"))
    assert mean_puncture_cents(farm=place.farm) == (21_050, 2)


def test_an_outfit_that_stands_costs_wage_and_ownership(place: Place) -> None:
    """By hand: 18 + 40 + 12 dollars by the farm's own rates; without an implement 58, so 64 on average; a hand of $26
    beside makes the mean of 70, 58, 78 and 66, which is 68.
    """
    outfits, hands = [(place.machine, place.implement)], [place.hand]
    assert standing_cents_per_h(farm=place.farm, outfits=outfits, hands=hands, on=DAY) == 7_000
    alone = [*outfits, (place.machine, None)]
    assert standing_cents_per_h(farm=place.farm, outfits=alone, hands=hands, on=DAY) == 6_400
    other = make_hand(place.farm, "odell")
    set_rate(
        farm=place.farm, kind="wage", subject=other.code, usd_per_unit="26", valid_from=NEW_YEAR, now=NOON
    )
    assert standing_cents_per_h(farm=place.farm, outfits=alone, hands=[*hands, other], on=DAY) == 6_800
    assert standing_cents_per_h(farm=place.farm, outfits=[], hands=hands, on=DAY) is None
    assert standing_cents_per_h(farm=place.farm, outfits=outfits, hands=[], on=DAY) is None
    assert mean_wage_cents_per_h(farm=place.farm, hands=[place.hand], on=DAY) == 1_800


def test_prices_that_nobody_set_count_as_nothing() -> None:
    bare = make_place("bare-farm", rated=False)
    extra = make_hand(bare.farm, "odell")
    assert mean_wage_cents_per_h(farm=bare.farm, hands=[extra], on=DAY) is None
    outfit = (bare.machine, make_implement(bare.farm, "disk-2"))
    assert standing_cents_per_h(farm=bare.farm, outfits=[outfit], hands=[extra], on=DAY) == 0
