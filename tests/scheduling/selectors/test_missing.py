"""Who or what is down or away where nothing of a farm can do a pass, and until when."""

import datetime as dt

import pytest

from farmops.farms.models import Farm, Hand, HandAway, Implement, Machine, Shift
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import MONDAY, NEW_YORK
from tests.scheduling.problems import built

pytestmark = pytest.mark.django_db
BEGINS = "No tractor, implement and hand here can disk in these days"
MAY_1 = dt.datetime(2026, 5, 1, 13, tzinfo=NEW_YORK)


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    return farm


def why(farm: Farm, **known: str) -> str:
    make_pass(make_season(make_field(farm)), **known)
    [one] = built(farm).not_offered
    return one.why


def test_all_that_is_down_and_away_is_named_with_the_day(farm: Farm) -> None:
    Machine.objects.filter(farm=farm).update(down_until=MAY_1, name="Tractor 1")
    Implement.objects.filter(farm=farm).update(down_until=MAY_1 + dt.timedelta(days=1), name="28 ft disk")
    hand = Hand.objects.get(farm=farm)
    HandAway.objects.create(farm=farm, hand=hand, first_on=MONDAY.date(), last_on=dt.date(2026, 4, 28))
    HandAway.objects.create(farm=farm, hand=hand, first_on=dt.date(2026, 6, 1), last_on=dt.date(2026, 6, 2))
    assert why(farm) == (
        f"{BEGINS}: 28 ft disk is down until Saturday, May 2, Tractor 1 is down until Friday, May 1 and "
        "Imani is away through Tuesday, April 28."
    )


def test_what_another_stands_in_for_is_not_named(farm: Farm) -> None:
    make_machine(farm, "tractor-2")
    Machine.objects.filter(farm=farm, code="tractor-1").update(down_until=MAY_1)
    Implement.objects.filter(farm=farm).update(down_until=MAY_1)
    assert why(farm) == f"{BEGINS}: disk-1 is down until Friday, May 1."


def test_an_implement_that_is_down_beside_another_is_not_what_is_missing(farm: Farm) -> None:
    make_implement(farm, "disk-2")
    Implement.objects.filter(farm=farm, code="disk-1").update(down_until=MAY_1)
    Machine.objects.filter(farm=farm).update(down_until=MAY_1)
    assert why(farm) == f"{BEGINS}: tractor-1 is down until Friday, May 1."


def test_a_tractor_too_weak_for_the_implement_is_not_waited_for(farm: Farm) -> None:
    Machine.objects.filter(farm=farm).update(down_until=MAY_1, power_hp=1)
    Implement.objects.filter(farm=farm).update(power_needed_hp=200)
    assert why(farm) == f"{BEGINS}."


def test_a_hand_without_hours_is_named_and_one_without_the_skill_is_not(farm: Farm) -> None:
    make_hand(farm, "teo", operations=("plant",))
    Shift.objects.filter(farm=farm).delete()
    assert why(farm) == f"{BEGINS}: Imani has no hours in these days."


def test_of_a_fixed_outfit_its_own_parts_are_named(farm: Farm) -> None:
    make_machine(farm, "tractor-2")
    Machine.objects.filter(farm=farm).update(down_until=MAY_1)
    assert why(farm, fixed_outfit="tractor-2+disk-1+imani") == (
        "Its fixed outfit tractor-2+disk-1+imani cannot disk in these days: tractor-2 is down until Friday, May 1."
    )


def test_a_farm_that_has_nothing_for_the_work_waits_for_nobody(farm: Farm) -> None:
    Implement.objects.filter(farm=farm).update(down_until=MAY_1)
    assert why(farm, operation="plant") == "No tractor, implement and hand here can plant in these days."
