"""What the bench of the ground measures; each function is called in a child process of its own.

Weather is drawn from a fixed seed, different for every field: it takes as long as weather that was read.
"""

import datetime as dt
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from farmops.farms.operations import Operation
from farmops.science.atmosphere import vapor_pressure_from_humidity_kpa
from farmops.science.crop_water import kc_max
from farmops.science.evapotranspiration import reference_et_mm_d
from farmops.science.soil_column import at_field_capacity, bare_days, column_soils, run_column
from farmops.science.textures import TEXTURES
from farmops.science.workability import dry_limit_m3_m3, workable_limit_m3_m3
from scheduling.windows import Horizon, WorkAsked, horizon_min, load_limits
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.ground import DAYS_BEYOND, ZoneSoil, spin_up_first, work_out
from scheduling.windows.history import PastDays
from scheduling.windows.judging import Judge
from scheduling.windows.members import CLIMATOLOGY

Values = npt.NDArray[np.float64]
SEED = 20_260_301
BLOCK = 500
"""Fields worked out at a time: a block stays in the processor's cache."""
HEIGHT_M = 0.10
ZONE = "America/New_York"
FORECAST_DAYS, PAST_DAYS = 7, 6 * 365


@dataclass(frozen=True)
class Weather:
    """Weather of days × fields."""

    temp_min_c: Values
    temp_max_c: Values
    humidity_min_pct: Values
    humidity_max_pct: Values
    wind_m_s: Values
    solar_mj_m2: Values
    rain_mm: Values
    latitude_deg: Values
    elevation_m: Values


def drawn_weather(*, fields: int, days: int, seed: int = SEED) -> Weather:
    """Return plausible weather of a warm, humid place."""
    rng = np.random.default_rng(seed)
    season = np.sin(2 * np.pi * (np.arange(days)[:, np.newaxis] - 105) / 365)
    low = 12 + 9 * season + rng.normal(0, 2.5, (days, fields))
    driest = rng.uniform(30, 70, (days, fields))
    wet = rng.random((days, fields)) < 0.3
    return Weather(
        temp_min_c=low,
        temp_max_c=low + rng.uniform(5, 16, (days, fields)),
        humidity_min_pct=driest,
        humidity_max_pct=driest + 25,
        wind_m_s=rng.uniform(1, 5, (days, fields)),
        solar_mj_m2=(13 + 6 * season) * rng.uniform(0.4, 1.0, (days, fields)),
        rain_mm=np.where(wet, rng.exponential(10.0, (days, fields)), 0.0),
        latitude_deg=rng.uniform(31, 36, (1, fields)),
        elevation_m=rng.uniform(20, 400, (1, fields)),
    )


def drawn_blocks(*, fields: int, days: int) -> list[Weather]:
    """Return the weather of so many fields, block by block."""
    sizes = [min(BLOCK, fields - start) for start in range(0, fields, BLOCK)]
    return [drawn_weather(fields=size, days=days, seed=SEED + place) for place, size in enumerate(sizes)]


def year_of(blocks: Sequence[Weather]) -> float:
    """Work out reference evapotranspiration and topsoil of all fields; return the sum of their wetness."""
    textures = list(TEXTURES.values())
    wetness = 0.0
    for part in blocks:
        days, count = part.temp_min_c.shape
        day_of_year = np.asarray(np.arange(days) % 365 + 1.0, dtype=np.float64)[:, np.newaxis]
        et0_mm = reference_et_mm_d(
            temp_min_c=part.temp_min_c,
            temp_max_c=part.temp_max_c,
            latitude_deg=part.latitude_deg,
            elevation_m=part.elevation_m,
            day_of_year=day_of_year,
            vapor_pressure_kpa=vapor_pressure_from_humidity_kpa(
                temp_min_c=part.temp_min_c,
                temp_max_c=part.temp_max_c,
                humidity_min_pct=part.humidity_min_pct,
                humidity_max_pct=part.humidity_max_pct,
            ),
            wind_2m_m_s=part.wind_m_s,
            solar_mj_m2_d=part.solar_mj_m2,
        )
        soils = column_soils([textures[index % len(textures)] for index in range(count)])
        ran = run_column(
            soils=soils,
            start=at_field_capacity(soils=soils, members=1),
            day_index=np.arange(days),
            share_of_day=np.ones(days),
            daylight_share=np.ones(days),
            rain_mm=part.rain_mm[:, :, np.newaxis],
            et0_mm=np.asarray(et0_mm)[:, :, np.newaxis],
            kc_max=np.asarray(
                kc_max(
                    wind_2m_m_s=np.clip(part.wind_m_s, 1, 6),
                    humidity_min_pct=np.clip(part.humidity_min_pct, 20, 80),
                    height_m=HEIGHT_M,
                )
            ),
            crop=bare_days(days=days, columns=count),
        )
        wetness += float(ran.topsoil_m3_m3.sum())
    return wetness


def best_s(rounds: int, work: Callable[[], object]) -> float:
    """Return the shortest of several rounds, in the processor's seconds, after one that does not count."""
    work()
    times = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def year_of_fields(*, fields: int, days: int, rounds: int) -> dict[str, float]:
    """Measure a year of so many fields."""
    blocks = drawn_blocks(fields=fields, days=days)
    return {"seconds": best_s(rounds, lambda: year_of(blocks))}


def farm_judged(*, fields: int, zones: int, days: int, members: int) -> dict[str, float]:
    """Measure the ground of a farm ahead and the windows for disking of every field; no two zones are alike.

    A week is forecast, what comes after is drawn from years that were.
    """
    first = dt.date(2026, 4, 20)
    last = first + dt.timedelta(days=days - 1)
    as_of = first - dt.timedelta(days=1)
    begin = spin_up_first(first=first, as_of=as_of)
    told = _told_weather(begin, as_of, last + dt.timedelta(days=DAYS_BEYOND))
    past = _past_days(as_of)
    soils = _different_soils(fields, zones)
    limits = load_limits()
    start = dt.datetime.combine(first, dt.time(), ZoneInfo(ZONE))
    horizon = Horizon(start, horizon_min(starts_at=start, days=days, zone=ZONE))
    begun = time.process_time()
    ground = work_out(
        place=Place(31.5, -83.5, 105.0, ZONE),
        zones=soils,
        weather=told,
        as_of=as_of,
        first=first,
        last=last,
        rain_weight_at={},
        past=past,
        members=members,
    )
    grounded = time.process_time()
    if len(set(ground.columns)) != fields * zones:
        raise ValueError("two zones share a column: the bench would measure less than it says")
    judge = Judge(ground=ground, horizon=horizon)
    for field in range(fields):
        places = tuple(range(field * zones, (field + 1) * zones))
        judge.windows(
            asked=WorkAsked(f"field-{field}", Operation.DISK, "cotton", places),
            limits=limits,
        )
    done = time.process_time()
    return {"seconds": done - begun, "ground_seconds": grounded - begun, "judge_seconds": done - grounded}


def _told_weather(begin: dt.date, as_of: dt.date, end: dt.date) -> WeatherDays:
    count = (end - begin).days + 1
    weather = drawn_weather(fields=1, days=count)
    all_days = tuple(begin + dt.timedelta(days=offset) for offset in range(count))
    ahead = np.array([(day - as_of).days for day in all_days])
    wet_mm = weather.rain_mm[:, 0]
    return WeatherDays(
        days=all_days,
        temp_min_c=weather.temp_min_c[:, 0],
        temp_max_c=weather.temp_max_c[:, 0],
        rain_mm=wet_mm,
        rain_if_wet_mm=np.where(ahead > 0, 12.0, wet_mm),
        rain_chance=np.where(ahead > 0, 0.35, (wet_mm > 0).astype(float)),
        solar_mj_m2=weather.solar_mj_m2[:, 0],
        wind_m_s=weather.wind_m_s[:, 0],
        humidity_min_pct=weather.humidity_min_pct[:, 0],
        humidity_max_pct=weather.humidity_max_pct[:, 0],
        kind=tuple(
            "observed" if day <= 0 else "forecast" if day <= FORECAST_DAYS else CLIMATOLOGY for day in ahead
        ),
    )


def _past_days(as_of: dt.date) -> PastDays:
    weather = drawn_weather(fields=1, days=PAST_DAYS)
    return PastDays(
        days=tuple(as_of - dt.timedelta(days=PAST_DAYS - 1 - place) for place in range(PAST_DAYS)),
        temp_min_c=weather.temp_min_c[:, 0],
        temp_max_c=weather.temp_max_c[:, 0],
        rain_mm=weather.rain_mm[:, 0],
        solar_mj_m2=weather.solar_mj_m2[:, 0],
        wind_m_s=weather.wind_m_s[:, 0],
        humidity_min_pct=weather.humidity_min_pct[:, 0],
        humidity_max_pct=weather.humidity_max_pct[:, 0],
    )


def _different_soils(fields: int, zones: int) -> list[ZoneSoil]:
    textures = list(TEXTURES.values())
    soils = []
    for index in range(fields * zones):
        kind = textures[index % len(textures)]
        texture = replace(
            kind, key=f"{kind.key}-{index}", saturation_m3_m3=kind.saturation_m3_m3 + 1e-5 * index
        )
        soils.append(
            ZoneSoil(
                field=f"field-{index // zones}",
                name=f"zone-{index % zones}",
                texture=texture,
                workable_below_m3_m3=float(workable_limit_m3_m3(texture=kind)),
                dry_below_m3_m3=float(dry_limit_m3_m3(texture=kind)),
                soil_depth_in=4.0,
                seed_depth_in=1.0,
            )
        )
    return soils
