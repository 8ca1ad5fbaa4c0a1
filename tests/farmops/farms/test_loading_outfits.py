"""What a file says of an implement's pull, depth and angles, a machine's noise and a hand's first day."""

import datetime as dt
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from farmops.farms.models import Hand, Implement, Machine
from farmops.farms.services.facts import FactRefused, add_fact, change_fact
from farmops.farms.services.json_facts import BadFarmFile
from farmops.farms.services.loading import load_farm
from farmops.farms.services.tool_rules import odd_tool
from farmops.science.work_rate import DRAFT
from tests.factories import make_farm

pytestmark = pytest.mark.django_db
DEMO = Path(__file__).parents[3] / "fixtures" / "demo"
PLAIN = {
    "code": "disk-9",
    "name": "disk",
    "width_ft": Decimal(28),
    "speed_min_mph": Decimal(4),
    "speed_mph": Decimal(5),
    "speed_max_mph": Decimal(6),
    "efficiency_pct": Decimal(80),
    "power_needed_hp": Decimal(140),
}


def changed(tmp_path: Path, kind: str, **facts: Any) -> Path:
    """Return a folder with the demo farm, the first row of a kind changed."""
    whole = json.loads((DEMO / "farm.json").read_text(encoding="utf-8"))
    whole[kind][0] |= facts
    (tmp_path / "farm.json").write_text(json.dumps(whole), encoding="utf-8")
    (tmp_path / "fields.geojson").write_text(
        (DEMO / "fields.geojson").read_text(encoding="utf-8"), encoding="utf-8"
    )
    return tmp_path


def test_the_demo_farm_says_how_its_implements_pull_and_how_loud_its_machines_are() -> None:
    load_farm(folder=DEMO)
    disk = Implement.objects.get(code="disk-28")
    assert (disk.draft_kind, disk.depth_in, disk.bearings_front) == ("tandem_disk_secondary", 4, 8)
    assert (disk.gang_angle_min_deg, disk.gang_angle_max_deg) == (16, 22)
    assert disk.name_es == "rastra de 28 pies"
    assert Implement.objects.get(code="bedder-8").tool_count == 8
    assert all(DRAFT[one.draft_kind] for one in Implement.objects.all())
    tractor = Machine.objects.get(code="tractor-3")
    assert (tractor.noise_dba, tractor.fuel) == (94, "diesel")
    assert Hand.objects.get(code="teo").started_on == dt.date(2026, 4, 20)


@pytest.mark.parametrize(
    ("kind", "facts", "says"),
    [
        ("machines", {"fuel": "steam"}, "machines[0].fuel: 'steam' is not one of"),
        ("implements", {"draft_kind": "plow"}, "implements[0].draft_kind: 'plow' is not one of"),
        ("implements", {"depth_in": None}, "implements[0].depth_in: is missing"),
        (
            "implements",
            {"draft_kind": "subsoiler_narrow"},
            "implements[0].tool_count: is missing: the pull of subsoiler_narrow counts by shanks",
        ),
        (
            "implements",
            {"gang_angle_max_deg": 12},
            "implements[0].gang_angle_max_deg: 12.0 is less than 16.0",
        ),
        ("implements", {"gang_angle_min_deg": None}, "implements[0].gang_angle_min_deg: is missing"),
        ("implements", {"bearings_front": 8.5}, "implements[0].bearings_front: 8.5 has more than 0 decimals"),
        ("implements", {"depth_in": 40}, "implements[0].depth_in: 40 is outside 0.5 to 23.6"),
        ("machines", {"noise_dba": 900}, "machines[0].noise_dba: 900 is outside 40 to 140"),
        ("hands", {"started_on": "soon"}, "hands[0].started_on: "),
    ],
)
def test_a_fact_that_cannot_be_is_refused_with_its_place_and_nothing_is_written(
    tmp_path: Path, kind: str, facts: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile) as refused:
        load_farm(folder=changed(tmp_path, kind, **facts))
    assert says in str(refused.value)
    assert Implement.objects.count() == 0


def test_what_is_entered_one_at_a_time_is_held_to_the_same() -> None:
    farm = make_farm()
    with pytest.raises(FactRefused, match="depth_in: is missing"):
        add_fact(farm=farm, model=Implement, values={**PLAIN, "draft_kind": "tandem_disk_primary"})
    row = add_fact(
        farm=farm,
        model=Implement,
        values={**PLAIN, "draft_kind": "tandem_disk_primary", "depth_in": Decimal(5)},
    )
    with pytest.raises(FactRefused, match="gang_angle_max_deg: is missing"):
        change_fact(row=row, values={"gang_angle_min_deg": Decimal(17)})


def test_an_implement_of_which_nothing_more_is_known_is_no_odd_one() -> None:
    assert odd_tool(PLAIN) is None
    assert odd_tool({"draft_kind": "row_planter", "tool_count": 8}) is None
