"""What the pools of machines, implements, pumps and the farm as a whole hold."""

import datetime as dt
from dataclasses import replace

from farmops.farms.models import Implement, Machine
from ledger.selectors.pools import PoolKind, pool_balances, pool_costs
from ledger.services.books import choose_puncture, choose_year
from ledger.services.posting import post_pending
from tests.factories import make_machine
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work
from tests.ledger.test_fuel_posting import fill_up, run
from tests.ledger.test_lost_time import lose


def test_pools_hold_bills_less_what_their_hours_were_charged(place: Place) -> None:
    """4.5 h at 40 and 12 dollars; oil is 15 % of 7.92 gal/h x 4.5 h x 3.20 dollars of fuel, 114.05."""
    make_bill(place, "350.00", machine=place.machine, category="repairs")
    make_bill(place, "80.00", category="insurance")
    make_work(place)
    post_pending(now=NOON)
    machine, implement, farm = pool_balances(farm=place.farm, through=DAY)
    assert (machine.kind, machine.thing) == (PoolKind.MACHINE, place.machine)
    assert dict(machine.by_category) == {"repairs": 350_00, "machine": -180_00, "lubricants": -17_11}
    assert machine.left_cents == 152_89
    assert (machine.key, implement.key, farm.key) == ("machine:tractor-1", "implement:disk-1", "overhead")
    assert dict(implement.by_category) == {"implement": -54_00}
    assert (farm.kind, farm.thing, dict(farm.by_category)) == (PoolKind.OVERHEAD, None, {"insurance": 80_00})
    assert farm.name == "the farm as a whole"


def test_a_pool_counts_what_was_booked_by_its_day(place: Place) -> None:
    make_bill(place, "10.00", machine=place.machine, category="repairs", bill_on=DAY)
    make_bill(place, "20.00", machine=place.machine, category="repairs", bill_on=DAY + dt.timedelta(days=1))
    post_pending(now=NOON)

    def left(day: dt.date) -> list[int]:
        return [pool.left_cents for pool in pool_balances(farm=place.farm, through=day)]

    assert left(DAY - dt.timedelta(days=1)) == []
    assert left(DAY) == [10_00]
    assert left(DAY + dt.timedelta(days=1)) == [30_00]


def test_pools_at_zero_are_left_out_and_machines_come_before_implements(place: Place) -> None:
    for code in ("auger", "zero"):
        Machine.objects.create(farm=place.farm, code=code, name=code, power_hp=100, meter_start_h=0)
    implement = Implement.objects.get(pk=place.implement.pk)
    make_bill(place, "5.00", implement=implement, category="repairs")
    make_bill(place, "5.00", machine=place.machine, category="repairs")
    make_bill(place, "5.00", machine=Machine.objects.get(code="auger"), category="repairs")
    for amount in ("5.00", "-5.00"):
        make_bill(place, amount, machine=Machine.objects.get(code="zero"), category="repairs")
    post_pending(now=NOON)
    assert [pool.key for pool in pool_balances(farm=place.farm, through=DAY)] == [
        "machine:auger",
        "machine:tractor-1",
        "implement:disk-1",
    ]


def test_another_farms_pools_are_not_here(place: Place) -> None:
    other = make_place("fox-hollow")
    make_bill(other, "5.00", machine=other.machine, category="repairs")
    post_pending(now=NOON)
    assert pool_balances(farm=place.farm, through=DAY) == []
    assert pool_costs(farm=place.farm) == []


def test_time_that_an_incident_cost_is_put_in_and_fuel_that_no_work_burned_too(place: Place) -> None:
    """By hand: 4 h at 40 dollars are charged, and 15 % of 40 gal at 3.20 for oil; 1.5 h of the hand at 18 dollars were
    lost. The other machine was filled with 10 gal at 3.20 and did no work since."""
    choose_puncture(farm=place.farm, puncture_to="machine_pool")
    choose_year(farm=place.farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    run(place, 240, implement=None)
    lose(place)
    fill_up(place, "40.0")
    fill_up(replace(place, machine=make_machine(place.farm, "tractor-2")), "10.0")
    assert post_pending(now=NOON).waiting == []
    first, second = pool_costs(farm=place.farm)
    assert (first.bills_cents, first.charged_cents) == (27_00, 160_00 + 19_20)
    assert (second.bills_cents, second.charged_cents, second.left_cents) == (32_00, 0, 32_00)
