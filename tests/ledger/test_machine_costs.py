"""What a machine's hour cost so far, against ASABE's estimate at its age."""

import datetime as dt
from decimal import Decimal

import pytest

from ledger.costing.machine_cost import MachineCostError, repairs_between_usd
from ledger.models import Category, MachineCostFacts
from ledger.selectors.machine_costs import machine_cost, pivot_service_cents
from ledger.services.posting import post_pending
from scheduling.selectors.meters import meter_of
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work
from tests.ledger.test_care import make_care
from tests.scheduling.care_facts import make_pivot, make_rule

TRACTOR = {"rf1": Decimal("0.007"), "rf2": Decimal("2.0")}
DISK = {"rf1": Decimal("0.18"), "rf2": Decimal("1.7")}


def test_repairs_between_two_readings_are_the_difference_of_two_printed_shares() -> None:
    """Iowa State University Extension A3-29, table 3, two-wheel drive tractor: 0.18 at 5,000 h, 0.06 at 3,000 h."""
    usd = repairs_between_usd(
        list_price_usd=Decimal(100_000), **TRACTOR, from_h=Decimal(3_000), to_h=Decimal(5_000)
    )
    assert abs(usd - (18_000 - 6_000)) < 1_000, "the shares are printed to a hundredth each"
    assert usd == Decimal("11200.000"), "0.007 x (25 - 9) by hand"


def test_repairs_from_new_are_the_printed_share_and_nothing_runs_back() -> None:
    """The same table, tandem disk: 0.58 at 2,000 h."""
    usd = repairs_between_usd(list_price_usd=Decimal(1_000), **DISK, from_h=Decimal(0), to_h=Decimal(2_000))
    assert abs(usd - 580) <= 5
    with pytest.raises(MachineCostError, match="before from_h"):
        repairs_between_usd(list_price_usd=Decimal(1_000), **DISK, from_h=Decimal(5), to_h=Decimal(4))
    with pytest.raises(MachineCostError, match="list_price_usd"):
        repairs_between_usd(list_price_usd=Decimal(0), **DISK, from_h=Decimal(0), to_h=Decimal(4))


@pytest.fixture
def place(db: None) -> Place:
    return make_place()


def make_facts(place: Place, **whose: object) -> MachineCostFacts:
    return MachineCostFacts.objects.create(
        farm=place.farm,
        cost_class="tractor_2wd",
        list_price_cents=200_000_00,
        paid_cents=180_000_00,
        bought_on=dt.date(2021, 4, 21),
        bought_at_h=Decimal(0),
        life_h=Decimal(9_000),
        annual_h=Decimal(400),
        interest_pct=Decimal(7),
        insurance_housing_pct=Decimal(1),
        repair_rf1_factor=TRACTOR["rf1"],
        repair_rf2_factor=TRACTOR["rf2"],
        entered_at=NOON,
        **(whose or {"machine": place.machine}),
    )


def test_what_was_spent_on_a_machine_stands_beside_what_is_expected_at_its_age(place: Place) -> None:
    """From 2,400 h at entry to 2,600: 0.007 x (2.6^2 - 2.4^2) = 0.007 of 200,000 dollars are 1,400, 7.00 an hour.

    Spent: a bill of 350 for repairs and one of 90 for insurance, 15 of labor and 86.40 of parts; upkeep is 451.40.
    """
    make_facts(place)
    make_care(make_rule(place.machine), place.hand)
    make_bill(place, "350.00", machine=place.machine, category="repairs")
    make_bill(place, "90.00", machine=place.machine, category="insurance")
    make_work(place)
    post_pending(now=NOON)
    cost = machine_cost(farm=place.farm, thing=place.machine, run_h=Decimal(2_600), on=DAY)
    assert (cost.from_h, cost.to_h, cost.hours) == (Decimal("2400.0"), 2_600, 200)
    assert dict(cost.spent) == {
        Category.INSURANCE: 90_00,
        Category.LABOR: 15_00,
        Category.REPAIRS: 436_40,
    }
    assert (cost.spent_cents, cost.kept_cents) == (541_40, 451_40)
    assert cost.per_h_usd(cost.kept_cents) == Decimal("2.257")
    assert cost.expected is not None
    assert cost.expected.repairs_cents == 1_400_00
    assert cost.per_h_usd(cost.expected.repairs_cents) == 7
    assert cost.fields_cents == 186_87 + 56_70 + 17_11, "4.5 h at 41.5277 and 12.60 dollars, and oil"
    fuel_usd = Decimal("3.20") * Decimal("7.92") * Decimal("1.15")
    assert cost.rate_usd_per_h == Decimal("54.1277") + fuel_usd
    assert cost.lacks == ""


def test_a_machine_counts_back_over_more_hours_where_reports_have_them(place: Place) -> None:
    """270 minutes reported against 2.0 h on the meter."""
    make_work(place)
    cost = machine_cost(farm=place.farm, thing=place.machine, run_h=Decimal("2402.0"), on=DAY)
    assert cost.hours == Decimal("4.5")
    assert cost.expected is None
    assert cost.lacks == "No price, life and yearly hours of tractor-1 are known."
    known = meter_of(machine=place.machine).worked_h
    again = machine_cost(
        farm=place.farm, thing=place.machine, run_h=Decimal("2402.0"), on=DAY, reported_h=known
    )
    assert again == cost


def test_a_machine_that_never_ran_has_no_hour(place: Place) -> None:
    cost = machine_cost(farm=place.farm, thing=place.machine, run_h=Decimal("2400.0"), on=DAY)
    assert (cost.hours, cost.per_h_usd(100)) == (0, None)


def test_an_implements_age_is_reckoned_from_its_hours_a_year(place: Place) -> None:
    """Bought 1,825 days before its first work, at 400 h a year of 365 days: 2,000 h then."""
    make_facts(place, implement=place.implement)
    make_work(place)
    cost = machine_cost(farm=place.farm, thing=place.implement, run_h=Decimal("4.5"), on=DAY)
    days = (DAY - dt.date(2021, 4, 21)).days
    assert cost.from_h == (Decimal(400) * days / 365).quantize(Decimal("0.1"))
    assert (cost.hours, cost.from_h) == (Decimal("4.5"), Decimal("2000.0"))
    assert cost.rate_usd_per_h == Decimal("41.2360") + Decimal("12.60")


def test_what_the_services_of_a_pivot_cost(place: Place) -> None:
    pivot = make_pivot(place.season.field)
    rule = make_rule(pivot, "gearboxes")
    care = make_care(rule, place.hand)
    make_care(rule, place.hand, hand_min=10, parts_cents=None)
    make_care(make_rule(place.machine), place.hand)
    post_pending(now=NOON)
    assert pivot_service_cents(farm=place.farm, pivot=pivot) == 15_00 + 3_00 + 86_40
    make_care(rule, place.hand, supersedes=care, is_taken_back=True)
    post_pending(now=NOON)
    assert pivot_service_cents(farm=place.farm, pivot=pivot) == 3_00
