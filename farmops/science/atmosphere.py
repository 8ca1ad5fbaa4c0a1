"""Air: pressure, humidity and wind, as FAO-56 chapter 3 prepares them for reference evapotranspiration (fao56)."""

import numpy as np

from farmops.science.ranges import Array, Computed, Values, above, at_least, not_above, plain, within

AIR_LOW_C, AIR_HIGH_C = -60.0, 60.0
"""Outside of what a weather station on farm land reads; a larger number is most likely a Fahrenheit one."""


def atmospheric_pressure_kpa(*, elevation_m: Values) -> Computed:
    """Return mean air pressure, kPa. fao56 eq. 7. Valid from -450 to 6000 m, else OutOfRange."""
    elevation = within("elevation_m", elevation_m, -450, 6000)
    return plain(101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26)


def psychrometric_constant_kpa_c(*, pressure_kpa: Values) -> Computed:
    """Return the psychrometric constant, kPa/°C. fao56 eq. 8. Valid from 40 to 110 kPa, else OutOfRange."""
    return plain(0.000665 * within("pressure_kpa", pressure_kpa, 40, 110))


def saturation_vapor_pressure_kpa(*, temp_c: Values) -> Computed:
    """Return saturation vapor pressure at an air temperature, kPa. fao56 eq. 11. Valid from -60 to 60 °C."""
    return plain(_saturation(within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)))


def mean_saturation_vapor_pressure_kpa(*, temp_min_c: Values, temp_max_c: Values) -> Computed:
    """Return the day's saturation vapor pressure, the mean of that at both temperatures, kPa. fao56 eq. 12.

    Valid from -60 to 60 °C with the minimum not above the maximum, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    return plain((_saturation(low) + _saturation(high)) / 2)


def vapor_pressure_slope_kpa_c(*, temp_c: Values) -> Computed:
    """Return the slope of the saturation curve, kPa/°C. fao56 eq. 13. Valid from -60 to 60 °C, else OutOfRange."""
    temp = within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)
    return plain(4098 * _saturation(temp) / (temp + 237.3) ** 2)


def vapor_pressure_from_dewpoint_kpa(*, dewpoint_c: Values) -> Computed:
    """Return actual vapor pressure from the dewpoint, kPa. fao56 eq. 14. Valid from -60 to 60 °C, else OutOfRange."""
    return plain(_saturation(within("dewpoint_c", dewpoint_c, AIR_LOW_C, AIR_HIGH_C)))


def vapor_pressure_from_psychrometer_kpa(
    *, dry_c: Values, wet_c: Values, pressure_kpa: Values, coefficient_per_c: float = 0.000662
) -> Computed:
    """Return actual vapor pressure from a dry and a wet bulb, kPa. fao56 eq. 15-16.

    The coefficient is 0.000662 for a ventilated instrument, 0.0008 for a naturally ventilated one, 0.0012 for one
    indoors. Valid from -60 to 60 °C with the wet bulb not above the dry one, else OutOfRange.
    """
    dry = within("dry_c", dry_c, AIR_LOW_C, AIR_HIGH_C)
    wet = within("wet_c", wet_c, AIR_LOW_C, AIR_HIGH_C)
    not_above("wet_c", wet, "dry_c", dry)
    pressure = within("pressure_kpa", pressure_kpa, 40, 110)
    return plain(_saturation(wet) - coefficient_per_c * pressure * (dry - wet))


def vapor_pressure_from_humidity_kpa(
    *, temp_min_c: Values, temp_max_c: Values, humidity_min_pct: Values, humidity_max_pct: Values
) -> Computed:
    """Return the day's actual vapor pressure from the lowest and highest relative humidity, kPa. fao56 eq. 17.

    Valid from -60 to 60 °C and 0 to 100 %, minima not above maxima, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    driest = within("humidity_min_pct", humidity_min_pct, 0, 100)
    dampest = within("humidity_max_pct", humidity_max_pct, 0, 100)
    not_above("humidity_min_pct", driest, "humidity_max_pct", dampest)
    return plain((_saturation(low) * dampest + _saturation(high) * driest) / 200)


def vapor_pressure_from_humidity_max_kpa(*, temp_min_c: Values, humidity_max_pct: Values) -> Computed:
    """Return the day's actual vapor pressure from the highest relative humidity alone, kPa. fao56 eq. 18.

    Valid from -60 to 60 °C and 0 to 100 %, else OutOfRange.
    """
    low = within("temp_min_c", temp_min_c, AIR_LOW_C, AIR_HIGH_C)
    return plain(_saturation(low) * within("humidity_max_pct", humidity_max_pct, 0, 100) / 100)


def vapor_pressure_from_humidity_mean_kpa(
    *, temp_min_c: Values, temp_max_c: Values, humidity_mean_pct: Values
) -> Computed:
    """Return the day's actual vapor pressure from mean relative humidity, kPa. fao56 eq. 19.

    Valid from -60 to 60 °C and 0 to 100 %, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    humidity = within("humidity_mean_pct", humidity_mean_pct, 0, 100)
    return plain(humidity / 100 * (_saturation(low) + _saturation(high)) / 2)


def vapor_pressure_from_temp_min_kpa(*, temp_min_c: Values, dewpoint_depression_c: float = 0.0) -> Computed:
    """Return the day's actual vapor pressure where humidity is missing, kPa. fao56 eq. 48.

    The dewpoint is taken as the minimum temperature less a depression: 0 °C over watered ground in a humid climate,
    2 to 3 °C at a dry site. Valid from -60 to 60 °C, depression from 0 to 10 °C, else OutOfRange.
    """
    depression = within("dewpoint_depression_c", dewpoint_depression_c, 0, 10)
    dewpoint = np.asarray(temp_min_c, dtype=np.float64) - depression
    return plain(_saturation(within("temp_min_c", dewpoint, AIR_LOW_C, AIR_HIGH_C)))


def dewpoint_c(*, vapor_pressure_kpa: Values) -> Computed:
    """Return the dewpoint of air with so much vapor, °C: the inverse of fao56 eq. 14.

    Valid above 0 and up to 20 kPa, else OutOfRange.
    """
    vapor = above("vapor_pressure_kpa", vapor_pressure_kpa, 0)
    ratio = np.log(within("vapor_pressure_kpa", vapor, 0, 20) / 0.6108)
    return plain(237.3 * ratio / (17.27 - ratio))


def humidity_pct(*, temp_c: Values, vapor_pressure_kpa: Values) -> Computed:
    """Return relative humidity, %. fao56 eq. 10. Valid from -60 to 60 °C, vapor pressure 0 or more."""
    vapor = at_least("vapor_pressure_kpa", vapor_pressure_kpa, 0)
    return plain(100 * vapor / _saturation(within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)))


def wind_2m_m_s(*, wind_m_s: Values, height_m: Values) -> Computed:
    """Return wind speed at 2 m over grass from that at another height, m/s. fao56 eq. 47.

    Valid from 0 to 100 m/s and from 0.5 to 200 m, else OutOfRange.
    """
    wind = within("wind_m_s", wind_m_s, 0, 100)
    height = within("height_m", height_m, 0.5, 200)
    return plain(wind * 4.87 / np.log(67.8 * height - 5.42))


def day_temps(temp_min_c: Values, temp_max_c: Values) -> tuple[Array, Array]:
    """Return both temperatures of a day as arrays after checking their range and order."""
    low = within("temp_min_c", temp_min_c, AIR_LOW_C, AIR_HIGH_C)
    high = within("temp_max_c", temp_max_c, AIR_LOW_C, AIR_HIGH_C)
    not_above("temp_min_c", low, "temp_max_c", high)
    return low, high


def _saturation(temp_c: Array) -> Array:
    result: Array = 0.6108 * np.exp(17.27 * temp_c / (temp_c + 237.3))
    return result
