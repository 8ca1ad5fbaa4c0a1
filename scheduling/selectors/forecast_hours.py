"""The hours of a forecast, as the ground asks for them."""

import datetime as dt
import math
from collections import defaultdict
from zoneinfo import ZoneInfo

import numpy as np

from farmops.science.atmosphere import humidity_pct, vapor_pressure_from_dewpoint_kpa
from farmops.weather.selectors import HourlySeries
from scheduling.windows.air import ToldHour


def rain_weights(forecast: HourlySeries | None, *, zone: str) -> dict[dt.datetime, float]:
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


def told_hours(forecast: HourlySeries | None) -> dict[dt.datetime, ToldHour]:
    """Return the air of each hour that the forecast tells; humidity from its dewpoint where it tells none."""
    if forecast is None:
        return {}
    return {
        hour: ToldHour(
            temp_c=float(forecast.temp_c[index]),
            humidity_pct=_humidity_pct(forecast, index),
            wind_m_s=float(forecast.wind_m_s[index]),
            sky_cover_pct=float(forecast.sky_cover_pct[index]),
        )
        for index, hour in enumerate(forecast.hour_at)
    }


def _humidity_pct(forecast: HourlySeries, index: int) -> float:
    told, temp_c, dewpoint_c = (
        float(values[index]) for values in (forecast.humidity_pct, forecast.temp_c, forecast.dewpoint_c)
    )
    if not math.isnan(told) or math.isnan(temp_c + dewpoint_c):
        return told
    vapor_kpa = vapor_pressure_from_dewpoint_kpa(dewpoint_c=min(dewpoint_c, temp_c))
    return float(humidity_pct(temp_c=temp_c, vapor_pressure_kpa=vapor_kpa))
