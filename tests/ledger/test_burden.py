"""Payroll taxes and insurance ride on wages: of work and of care, never of the owner, and only where a rate says so."""

import uuid

from django.db.models import Sum

from ledger.models import Account, Category, Line
from ledger.selectors.prices import plan_prices
from ledger.selectors.standing import mean_wage_cents_per_h
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import CareDone
from tests.factories import make_hand
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_work
from tests.scheduling.care_facts import make_rule


def set_burden(place: Place, usd: str, subject: str = "") -> None:
    set_rate(
        farm=place.farm,
        kind="payroll_burden",
        subject=subject,
        usd_per_unit=usd,
        valid_from=NEW_YEAR,
        now=NOON,
    )


def account_cents(place: Place) -> dict[str, int]:
    lines = Line.objects.filter(farm=place.farm)
    return dict(lines.values_list("account").annotate(Sum("cents")))


def test_wages_and_overtime_both_bear_it(place: Place) -> None:
    """By hand: 5 h at 18 and 1 h of overtime at 9 are 99.00; 7.65 % (FICA, 26 USC 3111) of it 7.5735, so 7.57."""
    set_burden(place, "0.0765")
    record = make_work(place, overtime_min=60, machine=None, implement=None, machine_min=0)
    assert post_pending(now=NOON).waiting == []
    burden = Line.objects.get(entry__work_record=record, account=Account.SEASON, category="payroll_burden")
    assert (burden.cents, burden.quantity_e4, burden.unit, burden.price_e4) == (
        757,
        990_000,
        "$ of wages",
        765,
    )
    assert (burden.season, burden.operation) == (place.season, "disk")
    assert account_cents(place) == {"season": 9_900 + 757, "wages_owed": -9_900, "payroll_owed": -757}
    assert verify_ledger().faults == []


def test_without_a_rate_there_is_none(place: Place) -> None:
    make_work(place)
    post_pending(now=NOON)
    assert not Line.objects.filter(category=Category.PAYROLL_BURDEN).exists()


def test_a_hands_own_burden_outranks_that_for_all(place: Place) -> None:
    set_burden(place, "0.0765")
    set_burden(place, "0.10", "imani")
    make_work(place, machine=None, implement=None, machine_min=0)
    post_pending(now=NOON)
    assert account_cents(place)["payroll_owed"] == -900


def test_the_owners_time_bears_none(place: Place) -> None:
    set_burden(place, "0.0765")
    owner = make_hand(place.farm, "marlene", is_owner=True)
    make_work(place, hand=owner, machine=None, implement=None, machine_min=0)
    post_pending(now=NOON)
    assert account_cents(place) == {"season": 9_000, "owner_time": -9_000}


def test_care_bears_it_in_the_pool_of_its_machine(place: Place) -> None:
    """By hand: 50 min at 18 an hour are 15.00, 7.65 % of it 1.1475, so 1.15."""
    set_burden(place, "0.0765")
    care = CareDone.objects.create(
        farm=place.farm,
        client_id=uuid.uuid4(),
        rule=make_rule(place.machine),
        hand=place.hand,
        hand_min=50,
        done_at=NOON,
        recorded_at=NOON,
    )
    post_pending(now=NOON)
    lines = Line.objects.filter(entry__care_done=care, category=Category.PAYROLL_BURDEN).order_by("line_no")
    assert [(line.account, line.machine, line.cents) for line in lines] == [
        ("machine_pool", place.machine, 115),
        ("payroll_owed", None, -115),
    ]
    assert verify_ledger().faults == []


def test_the_planner_pays_it_too(place: Place) -> None:
    """By hand: 18.00 and 10 % are 19.80 an hour, the overtime of 9.00 so 9.90; the owner's hour stays 18.00."""
    owner = make_hand(place.farm, "marlene", is_owner=True)
    set_burden(place, "0.10")
    prices = plan_prices(farm=place.farm, on=DAY)
    assert prices.hand_cents_per_h == {place.hand.pk: 1_980, owner.pk: 1_800}
    assert prices.overtime_extra_cents_per_h == {place.hand.pk: 990, owner.pk: 0}
    assert mean_wage_cents_per_h(farm=place.farm, hands=[place.hand], on=DAY) == 1_980
