"""What grows on each column, by day: the crop's coefficients from its planting on, and the water its roots reach.

A crop that is not planted yet, or is done, leaves the ground bare.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from farmops.science.crop_growth import crop_days, kc_max_by_day, stage_word
from farmops.science.crop_water import total_available_water_mm
from farmops.science.heat_units import dd60_f
from farmops.science.soil_column import CropDays, bare_days
from farmops.science.units import fahrenheit_from_celsius
from scheduling.windows.columns import Column
from scheduling.windows.day_weather import Values, WeatherDays

BARE = "bare"
USUAL_WIND_M_S, USUAL_HUMIDITY_PCT = 2.0, 45.0
"""Where none is known: those at which the tables of fao56 hold."""


@dataclass(frozen=True)
class CropsAhead:
    """By day and column: `days` for the balance, the most that wet ground evaporates, and the words and depths to show.

    `allowed_mm` is the water that may be used up before the crop is short, `total_mm` all that its roots reach, nan
    without a crop.
    """

    days: CropDays
    kc_max: Values
    stage: tuple[tuple[str, ...], ...]
    total_mm: Values
    allowed_mm: Values
    deep_to_m: Values

    @property
    def leaf_area(self) -> Values:
        """Return the leaf area that shades as much ground as the crop covers (Beer's law with 0.5, from memory)."""
        area: Values = np.minimum(-2 * np.log(1 - np.minimum(self.days.cover_share, 0.99)), 10.0)
        return area

    def of(self, columns: Sequence[int]) -> "CropsAhead":
        """Return some of the columns."""
        chosen = list(columns)
        return CropsAhead(
            days=CropDays(**{one.name: getattr(self.days, one.name)[:, chosen] for one in fields(CropDays)}),
            kc_max=self.kc_max[:, chosen],
            stage=tuple(self.stage[place] for place in chosen),
            total_mm=self.total_mm[:, chosen],
            allowed_mm=self.allowed_mm[:, chosen],
            deep_to_m=self.deep_to_m[chosen],
        )

    def part(self, first: int, last: int) -> CropDays:
        """Return the days `first` up to, not with, `last`."""
        return CropDays(**{one.name: getattr(self.days, one.name)[first:last] for one in fields(CropDays)})


def crops_ahead(*, columns: Sequence[Column], weather: WeatherDays) -> CropsAhead:
    """Return what grows on the columns over the days of the weather, warmth as told."""
    count = len(weather.days)
    wind = np.where(np.isnan(weather.wind_m_s), USUAL_WIND_M_S, weather.wind_m_s)
    humidity = np.where(np.isnan(weather.humidity_min_pct), USUAL_HUMIDITY_PCT, weather.humidity_min_pct)
    heat = np.asarray(
        dd60_f(
            temp_max_f=fahrenheit_from_celsius(weather.temp_max_c),
            temp_min_f=fahrenheit_from_celsius(weather.temp_min_c),
        )
    )
    days = bare_days(days=count, columns=len(columns))
    table = {one.name: np.array(getattr(days, one.name)) for one in fields(CropDays)}
    stages = [[BARE] * count for _ in columns]
    total, allowed = np.full((2, count, len(columns)), np.nan)
    deep_to_m = np.ones(len(columns))
    for place, column in enumerate(columns):
        planting = column.facts.planting
        if planting is None:
            continue
        since = np.array([(day - planting.planted_on).days for day in weather.days])
        heat_since = np.cumsum(np.where(since >= 0, heat, 0.0))
        mine = crop_days(
            crop=planting.crop,
            days_since_planting=since,
            dd60_sum=heat_since,
            humidity_min_pct=humidity,
            wind_2m_m_s=wind,
        )
        for name, values in table.items():
            values[:, place] = getattr(mine, name)
        stages[place] = [
            stage_word(crop=planting.crop, days_since_planting=int(ago), dd60_sum=float(warmth))
            for ago, warmth in zip(since, heat_since, strict=True)
        ]
        rooted = mine.root_depth_m > 0
        soil = column.soil.texture
        total[rooted, place] = total_available_water_mm(
            field_capacity_m3_m3=soil.field_capacity_m3_m3,
            wilting_point_m3_m3=soil.wilting_point_m3_m3,
            root_depth_m=mine.root_depth_m[rooted],
        )
        allowed[rooted, place] = total[rooted, place] * mine.depletion_fraction[rooted]
        deep_to_m[place] = max(1.0, planting.crop.root_most_m)
    grown = CropDays(**table)
    return CropsAhead(
        days=grown,
        kc_max=kc_max_by_day(crop=grown, humidity_min_pct=humidity, wind_2m_m_s=wind),
        stage=tuple(tuple(words) for words in stages),
        total_mm=total,
        allowed_mm=allowed,
        deep_to_m=deep_to_m,
    )
