"""Service rules and what crops lose when planted late, in the files of a farm."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from farmops.farms.models import CareRule, LatePlantingFacts
from farmops.farms.services.json_facts import BadFarmFile
from farmops.farms.services.loading import load_farm

pytestmark = pytest.mark.django_db
Described = Callable[..., Path]
RULE: dict[str, Any] = {
    "code": "oil",
    "machine": "tractor-1",
    "what": "change engine oil and filter",
    "every_h": 250,
    "every_days": 365,
    "takes_min": 70,
    "is_must": True,
    "hands": ["ada"],
    "counts_from_h": 2100.5,
    "source": "the maker's manual",
}
COTTON: dict[str, Any] = {
    "crop": "cotton",
    "yield_per_ac": 1100,
    "yield_unit": "lb",
    "price_usd": 0.72,
    "is_in_pct": False,
    "losses": [{"after": "05-20", "per_day": 6}, {"after": "05-31", "per_day": 12, "at_once": 10.5}],
}


def described_with(described: Described, key: str, row: dict[str, Any]) -> Path:
    return described(lambda farm, fields: farm.update({key: [row]}))


def test_service_rules_are_stored_and_the_second_time_changes_nothing(described: Described) -> None:
    report = load_farm(folder=described_with(described, "care_rules", RULE))
    assert report.counts["care rules"] == 1
    rule = CareRule.objects.get()
    assert (rule.machine.code, rule.implement) == ("tractor-1", None)  # type: ignore[union-attr]
    assert (rule.every_h, rule.every_days, rule.takes_min, rule.is_must) == (Decimal(250), 365, 70, True)
    assert [one.hand.code for one in rule.hands.all()] == ["ada"]
    again = load_farm(folder=described_with(described, "care_rules", RULE))
    assert (again.added, again.changed) == (0, 0)
    changed = load_farm(
        folder=described_with(described, "care_rules", RULE | {"hands": ["ada"], "every_h": 200})
    )
    assert (changed.added, changed.changed) == (0, 1)
    gone = load_farm(folder=described())
    assert gone.warnings == [
        "care rule 'change engine oil and filter, tractor 1' is not in the files; it is kept as it was."
    ]


PIVOT: dict[str, Any] = {
    "code": "gearboxes",
    "pivot": "pond-40",
    "what": "check gearbox oil and tires",
    "every_days": 180,
    "every_starts": 12,
    "takes_min": 90,
    "source": "the maker's manual",
}


def test_a_pivots_service_names_it_by_its_field_and_is_made_there(described: Described) -> None:
    load_farm(folder=described_with(described, "care_rules", PIVOT))
    rule = CareRule.objects.get()
    assert rule.pivot is not None
    assert (rule.pivot.field.code, rule.place, rule.every_starts, str(rule)) == (
        PIVOT["pivot"],
        "field",
        12,
        "check gearbox oil and tires, pond pivot",
    )
    again = load_farm(folder=described_with(described, "care_rules", PIVOT))
    assert (again.added, again.changed) == (0, 0)


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"place": "yard"}, r"care_rules\[0\].place: a pivot is served where it stands"),
        ({"every_ac": 100}, r"care_rules\[0\].every_ac: a pivot is served by hours, days or starts"),
        ({"counts_from_h": 10}, r"counts_from_h: only a machine has an hour meter"),
        ({"machine": "tractor-1"}, r"a service is of one machine, implement or pivot"),
    ],
)
def test_a_pivots_service_that_makes_no_sense_is_refused(
    described: Described, odd: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=described_with(described, "care_rules", PIVOT | odd))


def test_what_a_crop_loses_is_stored_with_numbers_that_nothing_rounds(described: Described) -> None:
    load_farm(folder=described_with(described, "late_planting", COTTON))
    facts = LatePlantingFacts.objects.get()
    assert (facts.yield_per_ac, facts.price_usd, facts.is_in_pct) == (Decimal(1100), Decimal("0.72"), False)
    assert facts.losses is not None
    assert facts.losses[1] == {"after": "05-31", "per_day": "12", "at_once": "10.5", "source": ""}
    again = load_farm(folder=described_with(described, "late_planting", COTTON))
    assert (again.added, again.changed) == (0, 0)


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"implement": "disk-1"}, r"care_rules\[0\]: a service is of one machine, implement or pivot"),
        ({"machine": "tractor-9"}, r"care_rules\[0\].machine: no machine has the code 'tractor-9'"),
        ({"every_h": None, "every_days": None}, r"how often is missing"),
        ({"machine": None, "pivot": "field-9"}, r"pivot: no pivot has the code 'field-9'"),
        ({"every_starts": 2.5}, r"every_starts"),
        ({"every_h": 0}, r"care_rules\[0\].every_h: 0 is outside"),
        ({"every_days": 1.5}, r"every_days"),
        ({"takes_min": 1441}, r"takes_min: 1441 is outside"),
        ({"place": "moon"}, r"place: 'moon' is not one of field, yard"),
        ({"hands": ["bo"]}, r"hands\[0\]: 'bo' is not one of ada"),
        ({"source": None}, r"source: is missing"),
        ({"speed": 1}, r"care_rules\[0\].speed: the key is not known"),
    ],
)
def test_a_service_rule_that_makes_no_sense_is_refused_by_its_place(
    described: Described, odd: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=described_with(described, "care_rules", RULE | odd))
    assert not CareRule.objects.exists()


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"crop": "rice"}, r"late_planting\[0\].crop"),
        ({"yield_per_ac": 0}, r"yield_per_ac: 0 is outside"),
        (
            {"losses": [{"after": "5-20", "per_day": 1}]},
            r"late_planting\[0\].losses: loss 1: '5-20' is no day",
        ),
        ({"losses": [{"after": "05-20", "per_day": 1, "x": 1}]}, r"losses\[0\].x: the key is not known"),
        ({"losses": None, "curve": "il-corn"}, r"late_planting\[0\].curve: no curve of cotton"),
    ],
)
def test_a_curve_that_makes_no_sense_is_refused_by_its_place(
    described: Described, odd: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_farm(folder=described_with(described, "late_planting", COTTON | odd))
    assert not LatePlantingFacts.objects.exists()
