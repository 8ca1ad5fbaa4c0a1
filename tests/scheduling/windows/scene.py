"""Invented ground for tests: a farm near Tifton's latitude, plain weather, a few soil zones."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np

from farmops.farms.operations import Operation
from farmops.science.textures import TEXTURES
from farmops.science.workability import dry_limit_m3_m3, workable_limit_m3_m3
from scheduling.windows import Horizon, PassWindows, WorkAsked, horizon_min, judge, load_limits
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.ground import DAYS_BEYOND, Ground, ZoneSoil, spin_up_first, work_out

ZONE = "America/New_York"
PLACE = Place(latitude_deg=31.5, longitude_deg=-83.5, elevation_m=105.0, zone=ZONE)
FIRST = dt.date(2026, 4, 20)
LIMITS = load_limits()


def soil(texture: str = "sandy_loam", *, name: str = "all", field: str = "pond-40") -> ZoneSoil:
    found = TEXTURES[texture]
    return ZoneSoil(
        field,
        name,
        found,
        workable_below_m3_m3=float(workable_limit_m3_m3(texture=found)),
        dry_below_m3_m3=float(dry_limit_m3_m3(texture=found)),
        soil_depth_in=4.0,
        seed_depth_in=1.5,
    )


def weather_of(
    *,
    first: dt.date = FIRST,
    days: int = 7,
    as_of: dt.date | None = None,
    mean_c: float = 20.0,
    rain_mm: dict[int, float] | None = None,
    chance: dict[int, float] | None = None,
) -> WeatherDays:
    """Steady days of `mean_c` ± 6 °C; `rain_mm` and `chance` by days from `first` (negative before it)."""
    as_of = as_of or first - dt.timedelta(days=1)
    begin = spin_up_first(first=first, as_of=as_of)
    count = (first - begin).days + days + DAYS_BEYOND
    all_days = tuple(begin + dt.timedelta(days=index) for index in range(count))
    rain, sure = np.zeros(count), np.zeros(count)
    for offset, amount in (rain_mm or {}).items():
        rain[(first - begin).days + offset] = amount
        sure[(first - begin).days + offset] = (chance or {}).get(offset, 1.0)
    missing = np.full(count, np.nan)
    return WeatherDays(
        days=all_days,
        temp_min_c=np.full(count, mean_c - 6),
        temp_max_c=np.full(count, mean_c + 6),
        rain_mm=rain,
        rain_if_wet_mm=rain,
        rain_chance=sure,
        solar_mj_m2=missing,
        wind_m_s=missing,
        humidity_min_pct=missing,
        humidity_max_pct=missing,
        kind=tuple("observed" if day <= as_of else "forecast" for day in all_days),
    )


def ground_of(
    weather: WeatherDays,
    *,
    zones: Sequence[ZoneSoil] | None = None,
    first: dt.date = FIRST,
    as_of: dt.date | None = None,
    place: Place = PLACE,
    rain_weight_at: dict[dt.datetime, float] | None = None,
    **known: object,
) -> Ground:
    return work_out(
        place=place,
        zones=zones or [soil()],
        weather=weather,
        as_of=as_of or first - dt.timedelta(days=1),
        first=first,
        rain_weight_at=rain_weight_at or {},
        **known,  # type: ignore[arg-type]
    )


def horizon(*, first: dt.date = FIRST, days: int = 7, zone: str = ZONE) -> Horizon:
    start = dt.datetime.combine(first, dt.time(), tzinfo=ZoneInfo(zone))
    return Horizon(start, horizon_min(starts_at=start, days=days, zone=zone))


def windows_of(
    ground: Ground,
    operation: str = "disk",
    *,
    crop: str = "cotton",
    first: dt.date = FIRST,
    days: int = 7,
    **asked: object,
) -> PassWindows:
    return judge(
        asked=WorkAsked(
            field="pond-40",
            operation=Operation(operation),
            crop=crop,
            zones=tuple(range(len(ground.zones))),
            **asked,  # type: ignore[arg-type]
        ),
        limits=LIMITS,
        ground=ground,
        horizon=horizon(first=first, days=days, zone=ground.place.zone),
    )


def chance_at(windows: PassWindows, minute: int) -> float:
    """Return the chance of a minute, 0 where it is shut."""
    return next((one.chance for one in windows.open if one.from_min <= minute < one.to_min), 0.0)


def open_minutes(windows: PassWindows) -> int:
    return sum(one.to_min - one.from_min for one in windows.open)


def shut_by(windows: PassWindows, minute: int) -> str:
    return next((one.limit for one in windows.shut if one.from_min <= minute < one.to_min), "")
