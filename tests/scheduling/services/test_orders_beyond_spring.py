"""Water, walks and hired work in a file of orders."""

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from farmops.farms.models import Farm
from farmops.farms.services.json_facts import BadFarmFile
from scheduling.models import FieldPass, PassState, WorkRecord
from scheduling.services.orders import load_orders
from scheduling.services.passes import BadOrderOfWork
from tests.factories import make_farm, make_field, make_hand, make_season
from tests.scheduling.ground import make_pivot

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 15, 22, tzinfo=dt.UTC)
SAID = {"from_on": "2026-06-03", "hand": "imani"}
Write = Callable[..., Path]


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    field = make_field(farm, planted_ac=Decimal(45), area_ac=Decimal(45))
    make_pivot(field)
    make_season(field)
    make_hand(farm)
    return farm


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def write(*steps: dict[str, Any]) -> Path:
        order = {
            "field": "pond-40",
            "crop_year": 2026,
            "crop": "cotton",
            "pivot_stands_at_deg": 90,
            "pivot_hand": "imani",
            "steps": list(steps),
        }
        path = tmp_path / "orders.json"
        path.write_text(json.dumps({"format": "orders/1", "orders": [order]}), encoding="utf-8")
        return path

    return write


def test_depth_and_pace_of_a_file_reach_the_passes(farm: Farm, write: Write) -> None:
    path = write(
        {"operation": "irrigate", "depth_in": 0.75},
        {"operation": "defoliate", "custom_ac_per_h": 60},
    )
    load_orders(farm=farm, path=path, now=NOW)
    by_operation = {one.operation: one for one in FieldPass.objects.filter(farm=farm, part="")}
    assert by_operation["irrigate"].depth_in == Decimal("0.75")
    assert by_operation["defoliate"].custom_ac_per_h == Decimal(60)


def test_done_work_without_an_outfit_is_recorded_without_a_machine(farm: Farm, write: Write) -> None:
    """A walk at 9 ac an hour over 45 ac is 5 h of the hand; water and hired work take none of the farm's hours."""
    path = write(
        {"operation": "debris_walk", "done": SAID},
        {"operation": "spread", "custom_ac_per_h": 45, "done": SAID},
        {"operation": "irrigate", "depth_in": 0.5, "done": SAID},
        {"operation": "irrigate", "depth_in": 0.5},
    )
    report = load_orders(farm=farm, path=path, now=NOW)
    records = {
        record.field_pass.operation: record
        for record in WorkRecord.objects.filter(field_pass__area_ac__gt=0, field_pass__part="")
    }
    assert {name: (one.hand_min, one.machine) for name, one in records.items()} == {
        "debris_walk": (300, None),
        "spread": (0, None),
        "irrigate": (0, None),
    }
    states = {
        (one.operation, one.turn): one.state for one in FieldPass.objects.filter(farm=farm, part="water")
    }
    assert states == {
        ("pivot_start", 1): PassState.FINISHED,
        ("pivot_stop", 1): PassState.FINISHED,
        ("pivot_start", 2): PassState.WAITING,
        ("pivot_stop", 2): PassState.WAITING,
    }
    assert load_orders(farm=farm, path=path, now=NOW).records_added == 0
    assert report.records_added == WorkRecord.objects.count()


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ({"operation": "irrigate", "depth_in": 4}, r"steps\[0\].depth_in"),
        ({"operation": "pick", "custom_ac_per_h": 0}, r"steps\[0\].custom_ac_per_h"),
        ({"operation": "pivot_walk"}, r"steps\[0\].operation"),
        ({"operation": "debris_walk", "done": {**SAID, "machine": "tractor-1"}}, "machine"),
        ({"operation": "pick", "done": SAID}, "machine"),
    ],
)
def test_what_a_step_cannot_say_is_refused_by_its_path(
    farm: Farm, write: Write, step: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadFarmFile, match=says):
        load_orders(farm=farm, path=write(step), now=NOW)
    assert not FieldPass.objects.exists()


def test_a_turn_without_its_depth_is_no_order(farm: Farm, write: Write) -> None:
    with pytest.raises(BadOrderOfWork, match="needs its depth"):
        load_orders(farm=farm, path=write({"operation": "irrigate"}), now=NOW)
    assert not FieldPass.objects.exists()
