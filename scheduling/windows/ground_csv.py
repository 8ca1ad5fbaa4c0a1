"""The ground of one place as a table of days: bare soil of one texture under the weather of a file.

A day on which something that every day needs was not read keeps its row: what hangs on it is left empty and `gaps`
names it. After such a stretch, and at the beginning of the file, the wetness and warmth of the ground are not known;
the run starts from drained ground as warm as the air, beside two others that start as wet and as dry, as warm and as
cold as can be. While those still differ, `gaps` says that the start is unsure, and how far.
"""

import csv
import datetime as dt
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from farmops.science.atmosphere import AIR_HIGH_C, AIR_LOW_C
from farmops.science.column_parts import MOST_ET0_MM, TOPSOIL_M
from farmops.science.heat_units import corn_86_50_f, dd60_f
from farmops.science.radiation import daylight_h
from farmops.science.ranges import OutOfRange
from farmops.science.soil_column import (
    at_field_capacity,
    bare_days,
    column_soils,
    run_column,
)
from farmops.science.soil_temperature import (
    daily_mean_at_depth_c,
    daily_mean_soil_temp_c,
    driving_temp_c,
    soil_temp_at_hour_c,
    surface_amplitude_c,
    surface_swing,
)
from farmops.science.textures import Texture
from farmops.science.units import fahrenheit_from_celsius
from scheduling.windows.day_weather import (
    Place,
    WeatherDays,
    bare_coefficient_by_day,
    reference_et_by_day,
)

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Readings = Mapping[dt.date, Mapping[str, float]]

TEMPERATURES = ("temp_min_c", "temp_max_c")
NEEDED = (*TEMPERATURES, "rain_mm")
HELPFUL = ("solar_mj_m2", "wind_m_s", "humidity_min_pct", "humidity_max_pct")
MORNING_H = 8.0
TOPSOIL_MM = 1000 * TOPSOIL_M
WARM_UP_DAYS = 7
START_OFF_C = 10.0
"""How far the soil may be from the mean air of a first week: farm judgement, generous."""
STARTS_OFF_C = np.array([0.0, START_OFF_C, -START_OFF_C])
UNSURE_M3_M3, UNSURE_C = 0.005, 0.5
"""What two starts may differ by before the difference is told: a tenth of what separates limits. Farm judgement."""


@dataclass(frozen=True)
class GroundDayRow:
    """One day; None where it cannot be known. Water of the top 15 cm: what drains leaves them downward."""

    date: dt.date
    et0_mm: float | None
    runoff_mm: float | None
    evaporation_mm: float | None
    drainage_mm: float | None
    topsoil_m3_m3: float | None
    rootzone_depletion_mm: float | None
    soil_temp_mean_c: float | None
    soil_temp_8am_c: float | None
    heat_units_dd60_f: float | None
    heat_units_86_50_f: float | None
    gaps: str


COLUMNS = tuple(field.name for field in fields(GroundDayRow))
DECIMALS = {"topsoil_m3_m3": 5, "soil_temp_mean_c": 2, "soil_temp_8am_c": 2}
OTHER_DECIMALS = 3


@dataclass(frozen=True)
class _Water:
    """By day: flows, and the topsoil of the three starts (drained, wettest, driest); nan where not known."""

    runoff_mm: Values
    evaporation_mm: Values
    drainage_mm: Values
    depletion_mm: Values
    topsoil_m3_m3: Values


def ground_rows(
    *,
    place: Place,
    read: Readings,
    made: Readings,
    texture: Texture,
    depth_cm: float = 10.0,
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> list[GroundDayRow]:
    """Return the days `first`..`last` of bare ground, run from the first day of weather on.

    `read` and `made` hold the values by day and quantity: °C, mm, MJ/m², m/s at 2 m, %; made ones stand in where none
    was read. Soil temperatures are those at `depth_cm`. Values beyond what a formula takes raise OutOfRange.
    """
    weather = _weather(read, made)
    _refuse_polar_night(place, weather)
    has_temps = ~np.isnan(weather.temp_min_c + weather.temp_max_c)
    et0_mm = np.full(len(weather.days), np.nan)
    et0_mm[has_temps] = reference_et_by_day(place=place, weather=_part(weather, has_temps))
    _refuse_more_than_the_balance_takes(weather, et0_mm)
    water = _water(weather, et0_mm, texture)
    mean_c, morning_c, unsure_c = _warmth(weather, water, texture, depth_cm)
    low_f, high_f = (np.asarray(fahrenheit_from_celsius(temp[has_temps])) for temp in _temps(weather))
    heat = np.full((2, len(weather.days)), np.nan)
    heat[:, has_temps] = [units(temp_max_f=high_f, temp_min_f=low_f) for units in (dd60_f, corn_86_50_f)]
    table = {
        "et0_mm": et0_mm,
        "runoff_mm": water.runoff_mm,
        "evaporation_mm": water.evaporation_mm,
        "drainage_mm": water.drainage_mm,
        "topsoil_m3_m3": water.topsoil_m3_m3[:, 0],
        "rootzone_depletion_mm": water.depletion_mm,
        "soil_temp_mean_c": mean_c,
        "soil_temp_8am_c": morning_c,
        "heat_units_dd60_f": heat[0],
        "heat_units_86_50_f": heat[1],
    }
    begins, ends = first or weather.days[0], last or weather.days[-1]
    return [
        GroundDayRow(
            date=day,
            gaps=_gaps(read.get(day, {}), made.get(day, {}), water.topsoil_m3_m3[index], unsure_c[index]),
            **{
                name: None if np.isnan(column[index]) else float(column[index])
                for name, column in table.items()
            },
        )
        for index, day in enumerate(weather.days)
        if begins <= day <= ends
    ]


def csv_text(rows: list[GroundDayRow]) -> str:
    """Return the rows as CSV: a header of names with units, an empty cell for what is not known."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([_cell(name, getattr(row, name)) for name in COLUMNS])
    return out.getvalue()


def _cell(name: str, value: dt.date | float | str | None) -> str:
    if isinstance(value, float):
        shown = f"{value:.{DECIMALS.get(name, OTHER_DECIMALS)}f}"
        return shown.removeprefix("-") if float(shown) == 0 else shown
    return "" if value is None else str(value)


def _weather(read: Readings, made: Readings) -> WeatherDays:
    known = sorted({*read, *made})
    days = tuple(known[0] + dt.timedelta(days=offset) for offset in range((known[-1] - known[0]).days + 1))
    columns = {
        name: np.array([{**made.get(day, {}), **read.get(day, {})}.get(name, np.nan) for day in days])
        for name in (*NEEDED, *HELPFUL)
    }
    return WeatherDays(
        days=days,
        rain_if_wet_mm=columns["rain_mm"],
        rain_chance=(columns["rain_mm"] > 0).astype(float),
        kind=("observed",) * len(days),
        **columns,
    )


def _refuse_polar_night(place: Place, weather: WeatherDays) -> None:
    day_of_year = np.array([day.timetuple().tm_yday for day in weather.days], dtype=np.float64)
    dark = np.asarray(daylight_h(latitude_deg=place.latitude_deg, day_of_year=day_of_year)) <= 0
    if dark.any():
        day = weather.days[int(dark.argmax())]
        raise OutOfRange(
            "latitude_deg", place.latitude_deg, f"where the sun rises on every day; on {day} it does not"
        )


def _refuse_more_than_the_balance_takes(weather: WeatherDays, et0_mm: Values) -> None:
    over = et0_mm > MOST_ET0_MM
    if over.any():
        place = int(over.argmax())
        raise OutOfRange(
            "et0_mm",
            round(float(et0_mm[place]), 1),
            f"0 to {MOST_ET0_MM:g} a day; on {weather.days[place]} wind, warmth and dry air make more",
        )


def _part(weather: WeatherDays, chosen: Flags) -> WeatherDays:
    places = np.flatnonzero(chosen)
    parts = {
        field.name: getattr(weather, field.name)[places]
        for field in fields(WeatherDays)
        if isinstance(getattr(weather, field.name), np.ndarray)
    }
    return WeatherDays(
        days=tuple(weather.days[place] for place in places), kind=("observed",) * len(places), **parts
    )


def _temps(weather: WeatherDays) -> tuple[Values, Values]:
    return weather.temp_min_c, weather.temp_max_c


def _stretches(known: Flags) -> Iterator[slice]:
    """Yield the runs of days on which all that is needed is known."""
    edges = np.flatnonzero(np.diff(known.astype(int), prepend=0, append=0))
    for start, end in edges.reshape(-1, 2):
        yield slice(int(start), int(end))


def _water(weather: WeatherDays, et0_mm: Values, texture: Texture) -> _Water:
    """Run the daily balance over each stretch from drained ground, and from the wettest and the driest topsoil."""
    count = len(weather.days)
    flows = {name: np.full(count, np.nan) for name in ("runoff_mm", "evaporation_mm", "drainage_mm")}
    depletion_mm, topsoil = np.full(count, np.nan), np.full((count, 3), np.nan)
    soils = column_soils([texture] * 3)
    drained = at_field_capacity(soils=soils, members=1)
    room_mm = TOPSOIL_MM * (texture.saturation_m3_m3 - texture.field_capacity_m3_m3)
    store = np.array([[0.0], [room_mm], [-float(soils.evaporable_mm[0, 0])]])
    start = replace(drained, topsoil_mm=store, surface_mm=store)
    for run in _stretches(~np.isnan(et0_mm + weather.rain_mm)):
        days = run.stop - run.start
        stretch = np.zeros(count, dtype=bool)
        stretch[run] = True
        ran = run_column(
            soils=soils,
            start=start,
            day_index=np.arange(days),
            share_of_day=np.ones(days),
            daylight_share=np.ones(days),
            rain_mm=weather.rain_mm[run, np.newaxis, np.newaxis],
            et0_mm=et0_mm[run, np.newaxis, np.newaxis],
            kc_max=bare_coefficient_by_day(weather=_part(weather, stretch))[:, np.newaxis],
            crop=bare_days(days=days, columns=3),
            keep_flows=True,
        )
        topsoil[run] = ran.topsoil_m3_m3[:, :, 0]
        depletion_mm[run] = ran.rootzone_depletion_mm[:, 0, 0]
        flows["runoff_mm"][run] = ran.runoff_mm[:, 0, 0]
        flows["evaporation_mm"][run] = ran.evaporation_mm[:, 0, 0]
        change = TOPSOIL_MM * np.diff(topsoil[run, 0], prepend=texture.field_capacity_m3_m3)
        flows["drainage_mm"][run] = (
            weather.rain_mm[run] - flows["runoff_mm"][run] - flows["evaporation_mm"][run] - change
        )
    return _Water(**flows, depletion_mm=depletion_mm, topsoil_m3_m3=topsoil)


def _warmth(
    weather: WeatherDays, water: _Water, texture: Texture, depth_cm: float
) -> tuple[Values, Values, Values]:
    """Return the soil's daily mean, its temperature at 8 am, and how far a warm and a cold start still differ."""
    count = len(weather.days)
    mean_c, morning_c, unsure_c = (np.full(count, np.nan) for _ in range(3))
    wetness = np.nan_to_num(water.topsoil_m3_m3[:, 0] / texture.saturation_m3_m3, nan=0.5)
    low_c, high_c = _temps(weather)
    for run in _stretches(~np.isnan(low_c + high_c)):
        low, high = low_c[run], high_c[run]
        driving_c = driving_temp_c(temp_min_c=low, temp_max_c=high, solar_mj_m2_d=weather.solar_mj_m2[run])
        at_10_cm_c = daily_mean_soil_temp_c(
            air_mean_c=np.repeat(driving_c[:, np.newaxis], 3, axis=1),
            start_c=np.clip(driving_c[:WARM_UP_DAYS].mean() + STARTS_OFF_C, AIR_LOW_C, AIR_HIGH_C),
            wetness_share=wetness[run, np.newaxis],
        )
        at_depth_c = daily_mean_at_depth_c(mean_10_cm_c=at_10_cm_c, depth_cm=depth_cm)
        swing = surface_swing(wetness_share=wetness[run])
        mean_c[run] = at_depth_c[:, 0]
        unsure_c[run] = (at_depth_c[:, 1] - at_depth_c[:, 2]) / 2
        morning_c[run] = soil_temp_at_hour_c(
            daily_mean_c=mean_c[run],
            surface_amplitude_c=surface_amplitude_c(temp_min_c=low, temp_max_c=high, swing=swing),
            depth_cm=depth_cm,
            hour=MORNING_H,
        )
    return mean_c, morning_c, unsure_c


def _gaps(
    read: Mapping[str, float], made: Mapping[str, float], topsoil_m3_m3: Values, unsure_c: float
) -> str:
    filled = [name for name in (*NEEDED, *HELPFUL) if name in made and name not in read]
    missing = [name for name in (*NEEDED, *HELPFUL) if name not in made and name not in read]
    driest, wettest = float(topsoil_m3_m3.min()), float(topsoil_m3_m3.max())
    says = []
    if missing:
        says.append(f"missing {' '.join(missing)}")
    if filled:
        says.append(f"made {' '.join(filled)}")
    if wettest - driest > UNSURE_M3_M3:
        says.append(f"start unsure: topsoil {driest:.2f} to {wettest:.2f}")
    if unsure_c > UNSURE_C:
        says.append(f"start unsure: soil by {unsure_c:.1f} C")
    return "; ".join(says)
