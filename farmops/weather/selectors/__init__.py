"""Reading the weather of a farm: day by day, hour by hour where a forecast reaches, and what was read at fields."""

from farmops.weather.selectors.daily import DailySeries, NoWeather, daily_series
from farmops.weather.selectors.field_readings import STALE_AFTER, FieldRain, field_rain, soil_readings
from farmops.weather.selectors.forecasts import HourlySeries, hourly_forecast
from farmops.weather.selectors.observed import KnownDays, farms_with_weather, known_days

__all__ = [
    "STALE_AFTER",
    "DailySeries",
    "FieldRain",
    "HourlySeries",
    "KnownDays",
    "NoWeather",
    "daily_series",
    "farms_with_weather",
    "field_rain",
    "hourly_forecast",
    "known_days",
    "soil_readings",
]
