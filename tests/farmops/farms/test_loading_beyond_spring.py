"""Region, measured soil, self-propelled machines and later work in the files of a farm."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from farmops.farms.models import Farm, HandSkill, Implement, ImplementOperation, Machine, SoilZone
from farmops.farms.services.json_facts import BadFarmFile
from farmops.farms.services.loading import load_farm

pytestmark = pytest.mark.django_db
Described = Callable[..., Path]
CURVE = {"residual_m3_m3": 0.065, "saturation_m3_m3": 0.41, "alpha_per_m": 7.5, "n": 1.89}
"""Sandy loam by Carsel and Parrish (1988), table 6."""


def described_with(described: Described, **zone: Any) -> Path:
    return described(lambda farm, fields: farm["zones"][0].update(zone))


def test_a_farm_is_of_the_southeast_unless_it_says_otherwise(described: Described) -> None:
    load_farm(folder=described())
    assert Farm.objects.get().region == "southeast"
    load_farm(folder=described(lambda farm, fields: farm["farm"].update(region="fao")))
    assert Farm.objects.get().region == "fao"
    with pytest.raises(BadFarmFile, match=r"farm.region"):
        load_farm(folder=described(lambda farm, fields: farm["farm"].update(region="moon")))


def test_a_measured_soil_is_stored_and_stays_when_the_file_is_silent(described: Described) -> None:
    load_farm(folder=described_with(described, retention=CURVE, workable_m3_m3=0.2, dry_m3_m3=0.08))
    load_farm(folder=described())
    hill = SoilZone.objects.get(name="hill")
    stored = (
        hill.retention_residual_m3_m3,
        hill.retention_saturation_m3_m3,
        hill.retention_alpha_per_m,
        hill.retention_n,
    )
    assert stored == (0.065, 0.41, 7.5, 1.89)
    assert (hill.workable_m3_m3, hill.dry_m3_m3) == (0.2, 0.08)
    assert SoilZone.objects.get(name="pond side").retention_n is None


def test_one_limit_alone_leaves_the_other_to_the_texture(described: Described) -> None:
    load_farm(folder=described_with(described, workable_m3_m3=0.3, dry_m3_m3=0.25))
    load_farm(folder=described_with(described, workable_m3_m3=0.2))
    hill = SoilZone.objects.get(name="hill")
    assert (hill.workable_m3_m3, hill.dry_m3_m3) == (0.2, None)


@pytest.mark.parametrize(
    ("zone", "says"),
    [
        ({"retention": {"n": 1.89}}, r"zones\[0\].retention.residual_m3_m3"),
        ({"retention": {**CURVE, "n": 1.0}}, r"zones\[0\].retention.n"),
        ({"retention": {**CURVE, "m": 0.5}}, r"zones\[0\].retention.m"),
        (
            {"retention": {**CURVE, "residual_m3_m3": 0.4, "saturation_m3_m3": 0.3}},
            r"residual_m3_m3: .*is not below saturation_m3_m3",
        ),
        ({"workable_m3_m3": 21}, r"zones\[0\].workable_m3_m3"),
        ({"workable_m3_m3": 0.1, "dry_m3_m3": 0.1}, r"dry_m3_m3: .*is not below workable_m3_m3"),
    ],
)
def test_a_soil_that_cannot_be_is_refused_by_its_path(
    described: Described, zone: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=described_with(described, **zone))
    assert not Farm.objects.exists()


def test_later_work_and_what_does_it_are_stored(described: Described) -> None:
    def with_sprayer(farm: dict[str, Any], fields: dict[str, Any]) -> None:
        farm["machines"].append(
            {"code": "sprayer-1", "name": "sprayer", "kind": "sprayer", "power_hp": 275, "meter_start_h": 10}
        )
        boom = {**farm["implements"][0], "code": "boom-90", "name": "boom", "carried_by": "sprayer"}
        farm["implements"].append({**boom, "does": ["burndown", "defoliate"]})
        farm["hands"][0]["may_do"] = ["burndown", "debris_walk"]

    load_farm(folder=described(with_sprayer))
    assert Machine.objects.get(code="sprayer-1").kind == "sprayer"
    assert dict(Implement.objects.values_list("code", "carried_by")) == {
        "disk-1": "tractor",
        "boom-90": "sprayer",
    }
    does = ImplementOperation.objects.filter(implement__code="boom-90").values_list("operation", flat=True)
    assert sorted(does) == ["burndown", "defoliate"]
    assert sorted(HandSkill.objects.values_list("operation", flat=True)) == ["burndown", "debris_walk"]


@pytest.mark.parametrize(
    ("section", "key", "word"),
    [
        ("implements", "does", "debris_walk"),
        ("implements", "does", "irrigate"),
        ("hands", "may_do", "irrigate"),
        ("hands", "may_do", "pivot_walk"),
    ],
)
def test_nobody_is_said_to_do_what_goes_on_by_itself(
    described: Described, section: str, key: str, word: str
) -> None:
    with pytest.raises(BadFarmFile, match=rf"{section}\[0\].{key}"):
        load_farm(folder=described(lambda farm, fields: farm[section][0].update({key: [word]})))


def test_a_truck_carries_no_implement_into_a_field(described: Described) -> None:
    with pytest.raises(BadFarmFile, match=r"implements\[0\].carried_by"):
        load_farm(folder=described(lambda farm, fields: farm["implements"][0].update(carried_by="truck")))
