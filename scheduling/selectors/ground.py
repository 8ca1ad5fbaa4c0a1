"""The ground of a farm's fields on given days, from its soil and its weather."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Season, SoilZone
from farmops.farms.operations import Operation
from farmops.science.textures import TEXTURES
from farmops.science.units import m_from_feet
from farmops.science.workability import workable_limit_m3_m3
from farmops.weather.selectors import HourlySeries, daily_series, hourly_forecast
from scheduling.windows import Limit, load_limits
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.ground import DAYS_BEYOND, Ground, ZoneSoil, spin_up_first, work_out
from scheduling.windows.ground_table import ground_table
from scheduling.windows.report import ZoneGround

USUAL_SOIL_DEPTH_IN = 4.0
WEATHER = (
    "temp_min_c",
    "temp_max_c",
    "rain_mm",
    "rain_if_wet_mm",
    "rain_chance",
    "solar_mj_m2",
    "wind_m_s",
    "humidity_min_pct",
    "humidity_max_pct",
)


class NoSoil(DomainError):
    """A field's soil is not described, or by a texture that nobody knows."""

    code = "no_soil"


@dataclass(frozen=True)
class FarmGround:
    """The ground of a farm's zones; `zones_of` lists the columns of each field by its row id."""

    ground: Ground
    first: dt.date
    last: dt.date
    zones_of: Mapping[int, tuple[int, ...]]
    notes: tuple[str, ...]

    def table(self) -> tuple[ZoneGround, ...]:
        """Return one row per zone and day."""
        return ground_table(self.ground, first=self.first, last=self.last)


def farm_ground(
    *,
    farm: Farm,
    first: dt.date,
    last: dt.date,
    as_of: dt.date,
    fields: Collection[Field] | None = None,
    limits: Sequence[Limit] | None = None,
) -> FarmGround:
    """Work out the ground of `first`..`last` as it was known at the end of `as_of`, of all fields or some.

    Raises NoSoil for a field without a described soil, NoWeather for a farm without weather.
    """
    zones = _zones(farm, fields, load_limits() if limits is None else limits)
    series = daily_series(
        farm=farm,
        first=spin_up_first(first=first, as_of=as_of),
        last=last + dt.timedelta(days=DAYS_BEYOND),
        as_of=as_of,
    )
    forecast = hourly_forecast(farm=farm, as_of=as_of)
    ground = work_out(
        place=Place(
            latitude_deg=float(farm.latitude_deg),
            longitude_deg=float(farm.longitude_deg),
            elevation_m=float(m_from_feet(float(farm.elevation_ft))),
            zone=farm.zone,
        ),
        zones=[soil for _, soil in zones],
        weather=WeatherDays(
            days=tuple(series.days),
            kind=tuple(series.kind),
            **{name: getattr(series, name) for name in WEATHER},
        ),
        as_of=as_of,
        first=first,
        rain_weight_at=_rain_weights(forecast, farm.zone),
    )
    columns: dict[int, list[int]] = defaultdict(list)
    for column, (field_id, _) in enumerate(zones):
        columns[field_id].append(column)
    return FarmGround(
        ground=ground,
        first=first,
        last=last,
        zones_of={field_id: tuple(found) for field_id, found in columns.items()},
        notes=series.notes,
    )


def field_ground_table(
    *, farm: Farm, field: Field, first: dt.date, last: dt.date, as_of: dt.date
) -> tuple[ZoneGround, ...]:
    """Return the ground of one field, one row per zone and day."""
    return farm_ground(farm=farm, first=first, last=last, as_of=as_of, fields=[field]).table()


def _zones(
    farm: Farm, fields: Collection[Field] | None, limits: Sequence[Limit]
) -> list[tuple[int, ZoneSoil]]:
    rows = SoilZone.objects.filter(farm=farm).select_related("field").order_by("field__code", "id")
    seasons = Season.objects.filter(farm=farm).order_by("crop_year", "part")
    if fields is not None:
        rows, seasons = rows.filter(field__in=fields), seasons.filter(field__in=fields)
    crops = dict(seasons.values_list("field_id", "crop"))
    zones = []
    for row in rows:
        texture = TEXTURES.get(row.texture)
        if texture is None:
            known = ", ".join(TEXTURES)
            raise NoSoil(f"{row}: nobody knows the texture {row.texture!r}. Known are {known}.")
        zones.append(
            (
                row.field_id,
                ZoneSoil(
                    field=row.field.code,
                    name=row.name,
                    texture=texture,
                    workable_below_m3_m3=float(workable_limit_m3_m3(texture=texture)),
                    soil_depth_in=_planting_depth_in(limits, crops.get(row.field_id, "")),
                ),
            )
        )
    if not zones:
        raise NoSoil(f"No soil is described for the fields of {farm.name}.")
    return zones


def _planting_depth_in(limits: Sequence[Limit], crop: str) -> float:
    depths = (
        limit.depth_in
        for limit in limits
        if crop and limit.crop == crop and Operation.PLANT in limit.operations and limit.depth_in
    )
    return next(depths, USUAL_SOIL_DEPTH_IN)


def _rain_weights(forecast: HourlySeries | None, zone: str) -> dict[dt.datetime, float]:
    """Weigh the hours of each local day by the forecast's amounts, or by its chances where no amount is told."""
    if forecast is None:
        return {}
    clock = ZoneInfo(zone)
    hours_of: dict[dt.date, list[int]] = defaultdict(list)
    for index, hour in enumerate(forecast.hour_at):
        hours_of[hour.astimezone(clock).date()].append(index)
    weights: dict[dt.datetime, float] = {}
    for hours in hours_of.values():
        amounts = np.nan_to_num(forecast.rain_mm[hours])
        told = amounts if amounts.sum() > 0 else np.nan_to_num(forecast.rain_chance_pct[hours])
        weights.update(
            {forecast.hour_at[hour]: float(weight) for hour, weight in zip(hours, told, strict=True)}
        )
    return weights
