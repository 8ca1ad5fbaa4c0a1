"""Facts from which no machine cost follows are refused, and labor that no day holds."""

from dataclasses import replace
from decimal import Decimal

import pytest

from ledger.costing.labor import LaborError, labor_charge
from ledger.costing.machine_cost import (
    MachineCostError,
    OwnedMachine,
    accumulated_repairs_share,
    annual_recovery_usd,
    capital_recovery_factor,
    fuel_gal_per_h,
    hourly_cost,
)
from ledger.costing.remaining_value import RemainingValueError, cost_class, remaining_for, remaining_value_pct

DISK = cost_class("disk")
MACHINE = OwnedMachine(
    list_price_usd=Decimal(60_000),
    paid_usd=Decimal(52_000),
    bought_at_h=Decimal(0),
    life_h=Decimal(2_000),
    annual_h=Decimal(150),
    interest_pct=Decimal(7),
    insurance_housing_pct=Decimal(1),
    remaining=remaining_for(machine_class=DISK),
    repair_rf1=DISK.repair_rf1,
    repair_rf2=DISK.repair_rf2,
)


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"list_price_usd": Decimal(0)}, "list_price_usd"),
        ({"annual_h": Decimal(0)}, "annual_h"),
        ({"life_h": Decimal(0)}, "no hour is left"),
        ({"bought_at_h": Decimal(2_000)}, "no hour is left"),
        ({"bought_at_h": Decimal(-1)}, "no hour is left"),
        ({"interest_pct": Decimal(-1)}, "interest_pct"),
        ({"insurance_housing_pct": Decimal(101)}, "insurance_housing_pct"),
        ({"repair_rf1": Decimal(-1)}, "rf1"),
    ],
)
def test_facts_that_make_no_sense_are_refused(facts: dict[str, Decimal], says: str) -> None:
    with pytest.raises(MachineCostError, match=says):
        hourly_cost(machine=replace(MACHINE, **facts))


def test_a_machine_bought_for_less_than_it_will_be_worth_loses_nothing_but_interest() -> None:
    """By hand: with the price as salvage the recovery is the interest alone."""
    cost = hourly_cost(machine=replace(MACHINE, paid_usd=Decimal(1_000)))
    assert cost.salvage_usd == 1_000
    assert cost.recovery_usd_per_year == 70


def test_an_old_machine_is_worth_nothing_rather_than_more_again() -> None:
    coefficients = remaining_for(machine_class=DISK)
    ages = [
        remaining_value_pct(remaining=coefficients, age_years=Decimal(age), annual_h=Decimal(0))
        for age in range(61)
    ]
    assert ages == sorted(ages, reverse=True)
    assert (
        remaining_value_pct(
            remaining=remaining_for(machine_class=cost_class("tractor_2wd"), power_hp=Decimal(200)),
            age_years=Decimal(60),
            annual_h=Decimal(8_760),
        )
        == 0
    )


def test_the_coefficients_change_at_the_powers_the_table_names() -> None:
    tractor = cost_class("tractor_2wd")
    starts = [remaining_for(machine_class=tractor, power_hp=Decimal(hp)).start for hp in (79, 80, 149, 150)]
    assert starts == [Decimal("0.981"), Decimal("0.942"), Decimal("0.942"), Decimal("0.976")]


def test_ranges_are_kept() -> None:
    with pytest.raises(MachineCostError):
        capital_recovery_factor(interest_pct=Decimal(5), years=Decimal(0))
    with pytest.raises(MachineCostError):
        annual_recovery_usd(
            paid_usd=Decimal(10), salvage_usd=Decimal(11), interest_pct=Decimal(5), years=Decimal(5)
        )
    with pytest.raises(MachineCostError):
        accumulated_repairs_share(rf1=Decimal("0.1"), rf2=Decimal(2), used_h=Decimal(-1))
    with pytest.raises(MachineCostError):
        fuel_gal_per_h(power_hp=Decimal(-1))
    with pytest.raises(RemainingValueError, match="known: chisel_plow"):
        cost_class("combine")
    with pytest.raises(RemainingValueError):
        remaining_value_pct(remaining=MACHINE.remaining, age_years=Decimal(61), annual_h=Decimal(1))
    with pytest.raises(RemainingValueError):
        remaining_value_pct(remaining=MACHINE.remaining, age_years=Decimal(1), annual_h=Decimal(9_000))


def test_labor_is_wage_and_what_overtime_adds() -> None:
    """By hand: 5 h at $18 are 90; 1 h 20 min of overtime at $9 more are 12."""
    charge = labor_charge(
        hand_min=300, overtime_min=80, wage_e4_per_h=180_000, overtime_extra_e4_per_h=90_000
    )
    assert (charge.wage_cents, charge.overtime_extra_cents, charge.cents) == (9_000, 1_200, 10_200)
    assert labor_charge(hand_min=300, overtime_min=80, wage_e4_per_h=180_000).cents == 9_000


@pytest.mark.parametrize(("hand_min", "overtime_min"), [(1441, 0), (-1, 0), (60, 61), (60, -1)])
def test_minutes_that_no_day_holds_are_refused(hand_min: int, overtime_min: int) -> None:
    with pytest.raises(LaborError):
        labor_charge(hand_min=hand_min, overtime_min=overtime_min, wage_e4_per_h=1)
