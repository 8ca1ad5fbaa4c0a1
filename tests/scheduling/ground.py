"""Small makers for the tests of planning and work: a farm with outfits, pivots, windows and prices."""

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Pivot, Pump
from scheduling.models import FieldPass
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.prices import PlanPrices
from scheduling.windows.report import OpenStretch, PassWindows, ShutStretch, WindowsReport
from tests.farmops.weather.makers import make_days, make_station

NEW_YORK = ZoneInfo("America/New_York")
MONDAY = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)
SUNDAY = dt.date(2026, 4, 19)
SUNDAY_EVENING = dt.datetime(2026, 4, 19, 18, tzinfo=NEW_YORK)


def make_pivot(field: Field, **facts: Any) -> Pivot:
    pump, _ = Pump.objects.get_or_create(
        farm=field.farm, code="pump-1", defaults={"name": "Pump 1", "flow_gpm": Decimal("800")}
    )
    defaults: dict[str, Any] = {
        "pump": pump,
        "name": f"{field.name} pivot",
        "last_tower_radius_ft": Decimal("1210.0"),
        "walk_ft_per_min": Decimal("9.00"),
        "tower_count": 7,
        "parking_angle_deg": Decimal("90.0"),
        "strip_width_ft": Decimal("60.0"),
        "strip_move_deg": Decimal("20.0"),
    }
    return Pivot.objects.create(farm=field.farm, field=field, **{**defaults, **facts})


def prices_of(farm: Farm, *, overtime_extra: int = 0) -> PlanPrices:
    machines = Machine.objects.filter(farm=farm).values_list("pk", flat=True)
    implements = Implement.objects.filter(farm=farm).values_list("pk", flat=True)
    hands = Hand.objects.filter(farm=farm).values_list("pk", flat=True)
    return PlanPrices(
        machine_cents_per_h=dict.fromkeys(machines, 4500),
        implement_cents_per_h=dict.fromkeys(implements, 1500),
        hand_cents_per_h=dict.fromkeys(hands, 1800),
        overtime_extra_cents_per_h=dict.fromkeys(hands, overtime_extra),
    )


def windows_of(
    farm: Farm,
    *,
    starts_at: dt.datetime = MONDAY,
    days: int = 7,
    open_of: Mapping[str, Sequence[tuple[int, int, float]]] | None = None,
    passes: Sequence[FieldPass] | None = None,
) -> WindowsReport:
    """Return windows that are open all through, save where `open_of` says otherwise for a pass key."""
    minutes = Horizon(starts_at, farm.zone, days).minutes
    judged = []
    for one in passes if passes is not None else open_passes(farm=farm):
        key = pass_key(one)
        stretches = (open_of or {}).get(key, [(0, minutes, 1.0)])
        at, shut = 0, []
        for begins, ends, _ in [*stretches, (minutes, minutes, 1.0)]:
            if at < begins:
                shut.append(ShutStretch(at, begins, "topsoil", "sticks to the boot", "se pega a la bota"))
            at = ends
        judged.append(
            PassWindows(
                key=key,
                field=one.season.field.code,
                operation=one.operation,
                open=tuple(OpenStretch(*stretch) for stretch in stretches),
                shut=tuple(shut),
            )
        )
    return WindowsReport(
        start=starts_at,
        zone=farm.zone,
        days=days,
        as_of=starts_at.date() - dt.timedelta(days=1),
        horizon_min=minutes,
        passes=tuple(judged),
    )


def make_dry_spring(farm: Farm, *, last: dt.date = SUNDAY, rain_mm: float = 0.0) -> None:
    """Store 100 warm days that end on `last`, dry but for as much rain on each of the last three."""
    rows: list[dict[str, float | str | None]] = [
        {"temp_min_c": 14.0, "temp_max_c": 28.0, "rain_mm": rain_mm if number >= 97 else 0.0}
        for number in range(100)
    ]
    make_days(make_station(farm), last - dt.timedelta(days=99), rows)
