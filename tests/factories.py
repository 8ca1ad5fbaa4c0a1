"""Small makers of farm facts for tests: required facts explicit, everything else plain and valid."""

import datetime as dt
from decimal import Decimal
from typing import Any

from farmops.farms.models import (
    Farm,
    Field,
    Hand,
    HandSkill,
    Implement,
    ImplementOperation,
    Machine,
    Season,
    Shift,
    SoilZone,
)
from scheduling.models import FieldPass

SQUARE = {
    "type": "Polygon",
    "coordinates": [
        [
            [-83.52, 31.60],
            [-83.51573, 31.60],
            [-83.51573, 31.60365],
            [-83.52, 31.60365],
            [-83.52, 31.60],
        ]
    ],
}


def make_farm(code: str = "heron-slough", **facts: Any) -> Farm:
    defaults: dict[str, Any] = {
        "name": code.replace("-", " ").title(),
        "zone": "America/New_York",
        "latitude_deg": Decimal("31.600000"),
        "longitude_deg": Decimal("-83.520000"),
        "elevation_ft": Decimal("350.0"),
    }
    return Farm.objects.create(code=code, **{**defaults, **facts})


def make_field(farm: Farm, code: str = "pond-40", *, texture: str = "sandy_loam", **facts: Any) -> Field:
    defaults: dict[str, Any] = {
        "name": code.replace("-", " ").title(),
        "boundary": SQUARE,
        "area_ac": Decimal("40.00"),
        "planted_ac": Decimal("40.00"),
        "latitude_deg": Decimal("31.601800"),
        "longitude_deg": Decimal("-83.517900"),
    }
    field = Field.objects.create(farm=farm, code=code, **{**defaults, **facts})
    SoilZone.objects.create(farm=farm, field=field, name="all", texture=texture, share_pct=100)
    return field


def make_season(field: Field, *, crop: str = "cotton", crop_year: int = 2026, **facts: Any) -> Season:
    facts.setdefault("area_ac", field.planted_ac)
    return Season.objects.create(farm=field.farm, field=field, crop=crop, crop_year=crop_year, **facts)


def make_pass(season: Season, operation: str = "disk", **facts: Any) -> FieldPass:
    facts.setdefault("area_ac", season.area_ac)
    facts.setdefault("leave_cents", 90000)
    return FieldPass.objects.create(farm=season.farm, season=season, operation=operation, **facts)


def make_machine(farm: Farm, code: str = "tractor-1", **facts: Any) -> Machine:
    defaults: dict[str, Any] = {"name": code, "power_hp": Decimal("180"), "meter_start_h": Decimal("2400.0")}
    return Machine.objects.create(farm=farm, code=code, **{**defaults, **facts})


def make_implement(
    farm: Farm, code: str = "disk-1", *, operations: tuple[str, ...] = ("disk",), **facts: Any
) -> Implement:
    defaults: dict[str, Any] = {
        "name": code,
        "width_ft": Decimal("28"),
        "speed_min_mph": Decimal("4"),
        "speed_mph": Decimal("5"),
        "speed_max_mph": Decimal("6"),
        "efficiency_pct": Decimal("80"),
        "power_needed_hp": Decimal("140"),
    }
    implement = Implement.objects.create(farm=farm, code=code, **{**defaults, **facts})
    for operation in operations:
        ImplementOperation.objects.create(farm=farm, implement=implement, operation=operation)
    return implement


def make_hand(
    farm: Farm,
    code: str = "imani",
    *,
    operations: tuple[str, ...] = ("disk", "rip_bed", "plant", "pivot_start", "pivot_stop"),
    **facts: Any,
) -> Hand:
    facts.setdefault("name", code.title())
    hand = Hand.objects.create(farm=farm, code=code, **facts)
    for operation in operations:
        HandSkill.objects.create(farm=farm, hand=hand, operation=operation)
    for weekday in range(6):
        for starts, ends in ((dt.time(7), dt.time(12)), (dt.time(12, 30), dt.time(18))):
            Shift.objects.create(farm=farm, hand=hand, weekday=weekday, starts_at=starts, ends_at=ends)
    return hand
