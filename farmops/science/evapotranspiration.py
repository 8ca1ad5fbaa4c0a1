"""Reference evapotranspiration of clipped, watered grass: Penman-Monteith by FAO-56, and Hargreaves (fao56)."""

import numpy as np

from farmops.science.atmosphere import (
    AIR_HIGH_C,
    AIR_LOW_C,
    atmospheric_pressure_kpa,
    day_temps,
    mean_saturation_vapor_pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_vapor_pressure_kpa,
    vapor_pressure_slope_kpa_c,
)
from farmops.science.radiation import (
    MM_PER_MJ_M2,
    clear_sky_radiation_mj_m2,
    daylight_h,
    extraterrestrial_radiation_mj_m2_d,
    extraterrestrial_radiation_mj_m2_h,
    net_longwave_mj_m2_d,
    net_longwave_mj_m2_h,
    net_shortwave_mj_m2,
    sunrise_sunset_h,
)
from farmops.science.ranges import Array, Computed, Values, at_least, not_above, plain, within

__all__ = [
    "daylight_h",
    "extraterrestrial_radiation_mj_m2_d",
    "hourly_reference_et_mm_h",
    "monthly_soil_heat_from_both_mj_m2_d",
    "monthly_soil_heat_from_previous_mj_m2_d",
    "net_radiation_mj_m2_d",
    "penman_monteith_mm_d",
    "reference_et_hargreaves_mm_d",
    "reference_et_mm_d",
    "sunrise_sunset_h",
]

ROUNDING_KPA = 0.02
"""How far a reported vapor pressure may stand above saturation at the day's warmest: gauges round to 0.1 hPa or 1 %."""


def penman_monteith_mm_d(
    *,
    temp_mean_c: Values,
    wind_2m_m_s: Values,
    saturation_kpa: Values,
    vapor_pressure_kpa: Values,
    net_radiation_mj_m2_d: Values,
    soil_heat_mj_m2_d: Values,
    elevation_m: Values,
) -> Computed:
    """Return reference evapotranspiration from its prepared parts, mm/d. fao56 eq. 6.

    Not limited: a strongly negative net radiation gives a negative value. Valid: -60 to 60 °C, wind 0 to 100 m/s,
    vapor pressures 0 to 20 kPa, elevation -450 to 6000 m, else OutOfRange.
    """
    temp = within("temp_mean_c", temp_mean_c, AIR_LOW_C, AIR_HIGH_C)
    deficit = within("saturation_kpa", saturation_kpa, 0, 20) - within(
        "vapor_pressure_kpa", vapor_pressure_kpa, 0, 20
    )
    energy = within("net_radiation_mj_m2_d", net_radiation_mj_m2_d, -50, 50)
    energy = energy - within("soil_heat_mj_m2_d", soil_heat_mj_m2_d, -50, 50)
    return plain(
        _combined(
            temp=temp,
            wind=wind_2m_m_s,
            deficit=deficit,
            energy=energy,
            elevation_m=elevation_m,
            numerator=900.0,
        )
    )


def net_radiation_mj_m2_d(
    *,
    temp_min_c: Values,
    temp_max_c: Values,
    latitude_deg: Values,
    elevation_m: Values,
    day_of_year: Values,
    vapor_pressure_kpa: Values,
    solar_mj_m2_d: Values,
) -> Computed:
    """Return the day's net radiation over grass, MJ/m². fao56 eq. 40 with 21, 37, 38 and 39.

    Ranges as in `reference_et_mm_d`.
    """
    above_air = extraterrestrial_radiation_mj_m2_d(latitude_deg=latitude_deg, day_of_year=day_of_year)
    clear = clear_sky_radiation_mj_m2(extraterrestrial_mj_m2=above_air, elevation_m=elevation_m)
    out = net_longwave_mj_m2_d(
        temp_min_c=temp_min_c,
        temp_max_c=temp_max_c,
        vapor_pressure_kpa=vapor_pressure_kpa,
        solar_mj_m2_d=solar_mj_m2_d,
        clear_sky_mj_m2_d=clear,
    )
    return plain(net_shortwave_mj_m2(solar_mj_m2=solar_mj_m2_d) - out)


def reference_et_mm_d(
    *,
    temp_min_c: Values,
    temp_max_c: Values,
    latitude_deg: Values,
    elevation_m: Values,
    day_of_year: Values,
    vapor_pressure_kpa: Values,
    wind_2m_m_s: Values,
    solar_mj_m2_d: Values,
    soil_heat_mj_m2_d: Values = 0.0,
) -> Computed:
    """Return the day's reference evapotranspiration, mm. fao56 eq. 6 with all that leads to it.

    Never below 0: what the equation gives below is dew, which the water balance leaves out. A vapor pressure above
    the mean saturation counts as saturated air. Valid: -60 to 60 °C with the minimum not above the maximum, latitude
    -90 to 90 outside the polar night, elevation -450 to 6000 m, day 1 to 366, wind 0 to 100 m/s, solar 0 to 50
    MJ/m², vapor pressure 0 up to saturation at the maximum temperature (and 0.02 kPa for rounding), else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    solar = within("solar_mj_m2_d", solar_mj_m2_d, 0, 50)
    vapor = at_least("vapor_pressure_kpa", vapor_pressure_kpa, 0)
    most = np.asarray(saturation_vapor_pressure_kpa(temp_c=high)) + ROUNDING_KPA
    not_above("vapor_pressure_kpa", vapor, "saturation at temp_max_c, kPa", most)
    saturation = mean_saturation_vapor_pressure_kpa(temp_min_c=low, temp_max_c=high)
    net = net_radiation_mj_m2_d(
        temp_min_c=low,
        temp_max_c=high,
        latitude_deg=latitude_deg,
        elevation_m=elevation_m,
        day_of_year=day_of_year,
        vapor_pressure_kpa=vapor,
        solar_mj_m2_d=solar,
    )
    et0 = penman_monteith_mm_d(
        temp_mean_c=(low + high) / 2,
        wind_2m_m_s=wind_2m_m_s,
        saturation_kpa=saturation,
        vapor_pressure_kpa=np.minimum(vapor, saturation),
        net_radiation_mj_m2_d=net,
        soil_heat_mj_m2_d=soil_heat_mj_m2_d,
        elevation_m=elevation_m,
    )
    return plain(np.maximum(et0, 0.0))


def hourly_reference_et_mm_h(
    *,
    temp_c: Values,
    vapor_pressure_kpa: Values,
    wind_2m_m_s: Values,
    solar_mj_m2_h: Values,
    latitude_deg: Values,
    longitude_deg: Values,
    elevation_m: Values,
    day_of_year: Values,
    utc_offset_h: Values,
    midpoint_h: Values,
    night_relative_shortwave: Values = 0.8,
) -> Computed:
    """Return an hour's reference evapotranspiration, mm. fao56 eq. 53 with soil heat by eq. 45 (day) and 46 (night).

    `midpoint_h` is the middle of the hour on the clock of `utc_offset_h`; `night_relative_shortwave` stands for the
    sky after sunset, 0.8 in dry and 0.4 to 0.6 in humid climates. Not limited: a night hour may be slightly
    negative. Valid: -60 to 60 °C, wind 0 to 100 m/s, solar 0 to 5 MJ/m², vapor pressure 0 to 20 kPa, place and time
    as in `extraterrestrial_radiation_mj_m2_h`, else OutOfRange.
    """
    temp = within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)
    solar = within("solar_mj_m2_h", solar_mj_m2_h, 0, 5)
    vapor = within("vapor_pressure_kpa", vapor_pressure_kpa, 0, 20)
    above_air = extraterrestrial_radiation_mj_m2_h(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        day_of_year=day_of_year,
        utc_offset_h=utc_offset_h,
        midpoint_h=midpoint_h,
    )
    clear = np.asarray(clear_sky_radiation_mj_m2(extraterrestrial_mj_m2=above_air, elevation_m=elevation_m))
    night = within("night_relative_shortwave", night_relative_shortwave, 0.3, 1)
    is_day = clear > 0
    ratio = np.where(is_day, solar / np.where(is_day, clear, 1.0), night)
    out = net_longwave_mj_m2_h(temp_c=temp, vapor_pressure_kpa=vapor, relative_shortwave=ratio)
    net = np.asarray(net_shortwave_mj_m2(solar_mj_m2=solar) - out)
    energy = net * np.where(is_day, 1 - 0.1, 1 - 0.5)
    deficit = np.asarray(saturation_vapor_pressure_kpa(temp_c=temp)) - vapor
    return plain(
        _combined(
            temp=temp,
            wind=wind_2m_m_s,
            deficit=deficit,
            energy=energy,
            elevation_m=elevation_m,
            numerator=37.0,
        )
    )


def reference_et_hargreaves_mm_d(
    *, temp_min_c: Values, temp_max_c: Values, latitude_deg: Values, day_of_year: Values
) -> Computed:
    """Return the day's reference evapotranspiration where only temperatures are known, mm. fao56 eq. 52.

    Rougher than Penman-Monteith by a tenth and more on a single day; never below 0. Valid: -60 to 60 °C with the
    minimum not above the maximum, latitude -90 to 90, day 1 to 366, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    above_air = extraterrestrial_radiation_mj_m2_d(latitude_deg=latitude_deg, day_of_year=day_of_year)
    warmth = np.maximum((low + high) / 2 + 17.8, 0.0)
    return plain(0.0023 * warmth * np.sqrt(high - low) * MM_PER_MJ_M2 * above_air)


def monthly_soil_heat_from_both_mj_m2_d(*, temp_previous_c: Values, temp_next_c: Values) -> Computed:
    """Return a month's soil heat flux from the mean air temperatures of the months around it, MJ/m²/d. fao56 eq. 43.

    Valid from -60 to 60 °C, else OutOfRange.
    """
    return plain(0.07 * (_month("temp_next_c", temp_next_c) - _month("temp_previous_c", temp_previous_c)))


def monthly_soil_heat_from_previous_mj_m2_d(*, temp_previous_c: Values, temp_month_c: Values) -> Computed:
    """Return a month's soil heat flux from its mean air temperature and the month's before, MJ/m²/d. fao56 eq. 44.

    Valid from -60 to 60 °C, else OutOfRange.
    """
    return plain(0.14 * (_month("temp_month_c", temp_month_c) - _month("temp_previous_c", temp_previous_c)))


def _month(name: str, temp_c: Values) -> Array:
    return within(name, temp_c, AIR_LOW_C, AIR_HIGH_C)


def _combined(
    *, temp: Array, wind: Values, deficit: Array, energy: Array, elevation_m: Values, numerator: float
) -> Array:
    speed = within("wind_2m_m_s", wind, 0, 100)
    slope = vapor_pressure_slope_kpa_c(temp_c=temp)
    pressure = atmospheric_pressure_kpa(elevation_m=elevation_m)
    gamma = psychrometric_constant_kpa_c(pressure_kpa=pressure)
    drying = gamma * numerator / (temp + 273) * speed * deficit
    result: Array = (MM_PER_MJ_M2 * slope * energy + drying) / (slope + gamma * (1 + 0.34 * speed))
    return result
