"""Farms with a plan of two weeks for each hand, laid out in bulk for the bench of the mail.

No two hands or fields have one name, so that no line about them is printed twice.
"""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, Hand, Implement, ImplementOperation, Machine, Season, SoilZone
from scheduling.models import FieldPass, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.passes import pass_key

FIRST = dt.date(2026, 4, 20)
DAYS = 14
ZONE = "America/New_York"
HOURS = (7, 12)
AT_ONCE = 2_000
SQUARE = {
    "type": "Polygon",
    "coordinates": [[[-83.52, 31.6], [-83.515, 31.6], [-83.515, 31.604], [-83.52, 31.604], [-83.52, 31.6]]],
}


def laid_out(*, farms: int, hands: int) -> dict[str, Any]:
    """Lay out farms whose hands each disk a field of their own, every morning of two weeks, by a plan that was sent."""
    for number in range(farms):
        _lay_farm(number, hands)
    return {"farms": farms, "hands": Hand.objects.count()}


def code_of(number: int) -> str:
    """Return the code of one of the farms."""
    return f"bench-{number:04d}"


def _lay_farm(number: int, hands: int) -> None:
    farm = Farm.objects.create(
        code=code_of(number),
        name=f"Bench farm {number}",
        zone=ZONE,
        latitude_deg=Decimal("31.6"),
        longitude_deg=Decimal("-83.52"),
        elevation_ft=Decimal(350),
        boss_name="Marlene",
        boss_phone="555-0142",
    )
    machine = Machine.objects.create(
        farm=farm, code="tractor-1", name="Tractor 1", power_hp=Decimal(180), meter_start_h=Decimal(2400)
    )
    disk = Implement.objects.create(
        farm=farm,
        code="disk-1",
        name="Disk 1",
        width_ft=Decimal(28),
        speed_min_mph=Decimal(4),
        speed_mph=Decimal(5),
        speed_max_mph=Decimal(6),
        efficiency_pct=Decimal(80),
        power_needed_hp=Decimal(140),
    )
    ImplementOperation.objects.create(farm=farm, implement=disk, operation="disk")
    crew = Hand.objects.bulk_create(
        Hand(
            farm=farm,
            code=f"hand-{one}",
            name=f"Hand {one} of {number}",
            email=f"hand-{one}@{farm.code}.example",
        )
        for one in range(hands)
    )
    fields = Field.objects.bulk_create(
        Field(
            farm=farm,
            code=f"field-{one}",
            name=f"Field {one} of {number}",
            boundary=SQUARE,
            area_ac=Decimal(40),
            planted_ac=Decimal(40),
            latitude_deg=Decimal("31.6018"),
            longitude_deg=Decimal("-83.5179"),
            entrance="north road, gate 3",
            road_address="2140 Cane Branch Road",
        )
        for one in range(hands)
    )
    SoilZone.objects.bulk_create(
        SoilZone(farm=farm, field=field, name="all", texture="sandy_loam", share_pct=100) for field in fields
    )
    seasons = Season.objects.bulk_create(
        Season(farm=farm, field=field, crop="cotton", crop_year=2026, area_ac=Decimal(40)) for field in fields
    )
    passes = FieldPass.objects.bulk_create(
        FieldPass(farm=farm, season=season, operation="disk", area_ac=Decimal(40), leave_cents=90_000)
        for season in seasons
    )
    _plan(farm, crew, passes, machine, disk)


def _plan(
    farm: Farm, crew: list[Hand], passes: list[FieldPass], machine: Machine, implement: Implement
) -> None:
    starts_at = dt.datetime.combine(FIRST, dt.time(), tzinfo=ZoneInfo(ZONE))
    mornings = [{"from": day * 1440 + HOURS[0] * 60, "to": day * 1440 + HOURS[1] * 60} for day in range(DAYS)]
    mode = "tractor-1+disk-1"
    keys = [f"{pass_key(one)}#1" for one in passes]
    window = {"format": "windows/1", "start": starts_at.isoformat(), "days": DAYS, "passes": [], "ground": []}
    plan = WeekPlan.objects.create(
        farm=farm,
        number=1,
        state=PlanState.SENT,
        starts_at=starts_at,
        days=DAYS,
        made_at=starts_at - dt.timedelta(hours=8),
        problem={
            "resources": [],
            "tasks": [
                {"id": key, "modes": [{"id": mode, "resources": []}], "open": mornings} for key in keys
            ],
        },
        problem_hash="0" * 64,
        plan={
            "tasks": [
                {"id": key, "mode": mode, "from": mornings[0]["from"], "to": mornings[-1]["to"]}
                for key in keys
            ]
        },
        windows={**window, "as_of": (FIRST - dt.timedelta(days=1)).isoformat()},
        status="feasible",
        seed=1,
        limits={},
    )
    PlannedTask.objects.bulk_create(
        PlannedTask(
            farm=farm,
            plan=plan,
            hand=hand,
            field_pass=field_pass,
            field=field_pass.season.field,
            task_key=key,
            operation="disk",
            area_ac=field_pass.area_ac,
            mode=mode,
            machine=machine,
            implement=implement,
            starts_at=starts_at + dt.timedelta(minutes=mornings[0]["from"]),
            ends_at=starts_at + dt.timedelta(minutes=mornings[-1]["to"]),
            work_min=DAYS * 60 * (HOURS[1] - HOURS[0]),
        )
        for hand, field_pass, key in zip(crew, passes, keys)
    )
