"""Reading the weather of a farm: day by day, and hour by hour where a forecast reaches."""

from farmops.weather.selectors.daily import DailySeries, NoWeather, daily_series
from farmops.weather.selectors.forecasts import HourlySeries, hourly_forecast

__all__ = ["DailySeries", "HourlySeries", "NoWeather", "daily_series", "hourly_forecast"]
