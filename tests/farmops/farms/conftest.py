"""A small described farm in a folder, to be spoiled one fact at a time."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

FARM: dict[str, Any] = {
    "format": "farm/1",
    "farm": {
        "code": "heron-slough",
        "name": "Heron Slough",
        "zone": "America/New_York",
        "latitude_deg": 31.6,
        "longitude_deg": -83.52,
        "elevation_ft": 350,
    },
    "users": [
        {"username": "ada", "name": "Ada", "roles": ["manager", "hand"], "hand": "ada"},
        {"username": "bo", "roles": ["bookkeeper"]},
    ],
    "hands": [
        {
            "code": "ada",
            "name": "Ada",
            "is_owner": True,
            "language": "es",
            "may_do": ["disk", "pivot_start", "pivot_stop"],
            "shifts": [
                {"days": ["mon", "tue"], "from": "07:00", "to": "12:00"},
                {"days": ["mon"], "from": "12:30", "to": "18:00"},
                {"days": ["mon"], "from": "18:00", "to": "20:00", "overtime": True},
            ],
            "away": [{"first_on": "2026-04-24", "last_on": "2026-04-25", "why": "wedding"}],
        }
    ],
    "machines": [{"code": "tractor-1", "name": "tractor 1", "power_hp": 190.5, "meter_start_h": 2104.6}],
    "implements": [
        {
            "code": "disk-1",
            "name": "disk",
            "width_ft": 28,
            "speed_min_mph": 4,
            "speed_mph": 5,
            "speed_max_mph": 6,
            "efficiency_pct": 80,
            "power_needed_hp": 150,
            "does": ["disk"],
        }
    ],
    "pumps": [
        {
            "code": "well-1",
            "name": "well 1",
            "flow_gpm": 900,
            "shut_hours": [{"days": ["mon"], "from": "14:00", "to": "19:00"}],
        }
    ],
    "pivots": [
        {
            "field": "pond-40",
            "pump": "well-1",
            "name": "pond pivot",
            "last_tower_radius_ft": 600,
            "walk_ft_per_min": 9.5,
            "tower_count": 4,
            "parking_angle_deg": 90,
        }
    ],
    "zones": [
        {"field": "pond-40", "name": "hill", "texture": "loamy_sand", "share_pct": 60},
        {"field": "pond-40", "name": "pond side", "texture": "clay_loam", "share_pct": 40},
    ],
    "seasons": [{"field": "pond-40", "crop_year": 2026, "crop": "cotton", "area_ac": 39}],
}

RING = [[-83.52, 31.60], [-83.51573, 31.60], [-83.51573, 31.60365], [-83.52, 31.60365], [-83.52, 31.60]]
FIELDS: dict[str, Any] = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"code": "pond-40", "name": "Pond 40", "planted_ac": 39, "stated_ac": 40.5},
            "geometry": {"type": "Polygon", "coordinates": [RING]},
        }
    ],
}

Spoil = Callable[[dict[str, Any], dict[str, Any]], None]


@pytest.fixture
def described(tmp_path: Path) -> Callable[..., Path]:
    """Write the farm's two files, after letting the caller change them, and return their folder."""

    def write(spoil: Spoil | None = None) -> Path:
        farm, fields = copy.deepcopy(FARM), copy.deepcopy(FIELDS)
        if spoil is not None:
            spoil(farm, fields)
        (tmp_path / "farm.json").write_text(json.dumps(farm), encoding="utf-8")
        (tmp_path / "fields.geojson").write_text(json.dumps(fields), encoding="utf-8")
        return tmp_path

    return write
