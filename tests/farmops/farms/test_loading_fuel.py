"""Fuel tanks and licenses in the files of a farm."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from farmops.farms.models import FuelTank, HandLicense
from farmops.farms.services.json_facts import BadFarmFile
from farmops.farms.services.loading import load_farm

pytestmark = pytest.mark.django_db
Described = Callable[..., Path]
TANK: dict[str, Any] = {"code": "yard", "name": "yard diesel", "holds_gal": 1000.5}
LICENSE: dict[str, Any] = {"number": "PA-100", "category": "private applicator", "expires_on": "2027-12-31"}


def with_tanks(described: Described, *tanks: dict[str, Any]) -> Path:
    return described(lambda farm, fields: farm.update({"fuel_tanks": list(tanks)}))


def with_licenses(described: Described, *licenses: dict[str, Any]) -> Path:
    return described(lambda farm, fields: farm["hands"][0].update({"licenses": list(licenses)}))


def test_tanks_are_stored_and_the_second_time_changes_nothing(described: Described) -> None:
    report = load_farm(folder=with_tanks(described, TANK))
    assert report.counts["fuel tanks"] == 1
    tank = FuelTank.objects.get()
    assert (tank.code, tank.fuel, tank.holds_gal) == ("yard", "diesel", Decimal("1000.5"))
    again = load_farm(folder=with_tanks(described, TANK))
    assert (again.added, again.changed) == (0, 0)
    larger = load_farm(folder=with_tanks(described, {**TANK, "holds_gal": 2000, "fuel": "gasoline"}))
    assert (larger.added, larger.changed) == (0, 1)
    assert load_farm(folder=described()).warnings == [
        "fuel tank 'yard diesel' is not in the files; it is kept as it was."
    ]


def test_licenses_are_those_of_the_file(described: Described) -> None:
    load_farm(folder=with_licenses(described, LICENSE))
    row = HandLicense.objects.get()
    assert (row.hand.code, row.number, row.expires_on) == ("ada", "PA-100", dt.date(2027, 12, 31))
    assert load_farm(folder=with_licenses(described, LICENSE)).changed == 0
    load_farm(folder=with_licenses(described, {**LICENSE, "expires_on": "2029-12-31"}))
    assert [one.expires_on.year for one in HandLicense.objects.all()] == [2029]
    load_farm(folder=described())
    assert not HandLicense.objects.exists()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"holds_gal": 0}, r"fuel_tanks\[0\].holds_gal: 0 is "),
        ({"holds_gal": "lots"}, r"fuel_tanks\[0\].holds_gal: a number is wanted"),
        ({"fuel": "kerosene"}, r"fuel_tanks\[0\].fuel: 'kerosene' is not one of"),
        ({"gallons": 5}, r"fuel_tanks\[0\].gallons"),
        ({"code": "tractor-1"}, "the code 'tractor-1' stands in machines too"),
    ],
)
def test_a_tank_that_cannot_be_names_its_place(
    change: dict[str, Any], says: str, described: Described
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=with_tanks(described, {**TANK, **change}))
    assert not FuelTank.objects.exists()


@pytest.mark.parametrize(
    ("licenses", "says"),
    [
        ([{**LICENSE, "number": " "}], r"hands\[0\].licenses\[0\].number: is empty"),
        ([{**LICENSE, "expires_on": "soon"}], r"hands\[0\].licenses\[0\].expires_on"),
        ([LICENSE, LICENSE], r"licenses\[1\].number: the license 'PA-100' stands a second time"),
        ([{**LICENSE, "valid": True}], r"licenses\[0\].valid"),
    ],
)
def test_a_license_that_cannot_be_names_its_place(
    licenses: list[dict[str, Any]], says: str, described: Described
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=with_licenses(described, *licenses))
