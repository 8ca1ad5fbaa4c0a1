"""Tanks as somebody at a desk enters them."""

from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Fuel, FuelTank
from farmops.farms.services.facts import FactRefused, FactTaken
from farmops.farms.services.tanks import keep_tank
from tests.factories import make_farm, make_machine


@pytest.fixture
def farm(db: None) -> Farm:
    return make_farm()


def keep(farm: Farm, name: str = "Yard diesel", gallons: str = "1000", fuel: str = "diesel") -> FuelTank:
    return keep_tank(farm=farm, name=name, fuel=fuel, holds_gal=Decimal(gallons))


def test_a_tank_sent_twice_is_one_and_its_code_is_made_of_its_name(farm: Farm) -> None:
    assert keep(farm) == keep(farm)
    tank = FuelTank.objects.get()
    assert (tank.code, tank.name, tank.fuel, tank.holds_gal) == ("yard-diesel", "Yard diesel", "diesel", 1000)


def test_its_code_is_that_of_nothing_else_of_the_farm(farm: Farm) -> None:
    machine = make_machine(farm)
    assert keep(farm, name=machine.code).code == f"{machine.code}-2"
    assert keep(farm, name="…").code == "tank"


def test_another_tank_of_the_same_name_is_refused(farm: Farm) -> None:
    tank, other = keep(farm), keep(farm, "Shop gasoline", "300", Fuel.GASOLINE)
    with pytest.raises(FactTaken, match="a tank called Yard diesel already") as refused:
        keep(farm, "yard  DIESEL", "500")
    assert set(refused.value.fields) == {"name"}
    with pytest.raises(FactTaken):
        keep_tank(farm=farm, tank=other, name=tank.name, fuel=other.fuel, holds_gal=other.holds_gal)
    assert keep(make_farm("other-place")).code == "yard-diesel", "another farm has names of its own"


def test_a_tank_is_put_right(farm: Farm) -> None:
    tank = keep(farm)
    keep_tank(farm=farm, tank=tank, name="Yard", fuel=Fuel.PROPANE, holds_gal=Decimal("512.5"))
    tank.refresh_from_db()
    assert (tank.code, tank.name, tank.fuel, tank.holds_gal) == (
        "yard-diesel",
        "Yard",
        "propane",
        Decimal("512.5"),
    )


@pytest.mark.parametrize(
    ("change", "at"),
    [
        ({"fuel": "coal"}, "fuel"),
        ({"gallons": "0"}, "holds_gal"),
        ({"gallons": "100000.1"}, "holds_gal"),
        ({"gallons": "10.25"}, "holds_gal"),
        ({"name": "x" * 61}, "name"),
    ],
)
def test_a_tank_that_cannot_be_is_refused_at_its_place(farm: Farm, change: dict[str, str], at: str) -> None:
    with pytest.raises(FactRefused) as refused:
        keep(farm, **change)
    assert set(refused.value.fields) == {at}
    assert not FuelTank.objects.exists()
