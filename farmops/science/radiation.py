"""Sun: its height over the year, the radiation above and below the air, and the hours of daylight (fao56 ch. 3).

Longitudes count east of Greenwich as positive; FAO-56 counts west.
"""

import numpy as np

from farmops.science.atmosphere import AIR_HIGH_C, AIR_LOW_C, day_temps
from farmops.science.ranges import Array, Computed, OutOfRange, Values, above, at_least, plain, within

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ_K4_M2_D = 4.903e-9
KELVIN_OFFSET_C = 273.16
"""As FAO-56 prints it in eq. 39."""
GRASS_ALBEDO = 0.23
MM_PER_MJ_M2 = 0.408
"""Depth of water that a MJ/m² evaporates, fao56 eq. 20."""
RISE_AND_SET_DEG = -0.833
"""Height of the sun's middle when its upper edge touches the horizon: half its width and the bending of light."""


def inverse_distance(*, day_of_year: Values) -> Computed:
    """Return the inverse relative distance of earth and sun. fao56 eq. 23. Valid from day 1 to 366."""
    return plain(1 + 0.033 * np.cos(_year_angle(day_of_year)))


def declination_rad(*, day_of_year: Values) -> Computed:
    """Return the sun's declination, radians. fao56 eq. 24. Valid from day 1 to 366, else OutOfRange."""
    return plain(0.409 * np.sin(_year_angle(day_of_year) - 1.39))


def sunset_hour_angle_rad(*, latitude_deg: Values, day_of_year: Values) -> Computed:
    """Return the sunset hour angle, radians. fao56 eq. 25.

    0 in the polar night and pi in the polar day, which the equation itself leaves open. Valid from -90 to 90 degrees
    and day 1 to 366, else OutOfRange.
    """
    latitude, declination = _sky(latitude_deg, day_of_year)
    return plain(np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1, 1)))


def extraterrestrial_radiation_mj_m2_d(*, latitude_deg: Values, day_of_year: Values) -> Computed:
    """Return the day's radiation above the air, MJ/m². fao56 eq. 21.

    Valid from -90 to 90 degrees and day 1 to 366, else OutOfRange.
    """
    latitude, declination = _sky(latitude_deg, day_of_year)
    angle = sunset_hour_angle_rad(latitude_deg=latitude_deg, day_of_year=day_of_year)
    height = angle * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.sin(
        angle
    )
    factor = 24 * 60 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN
    return plain(factor * inverse_distance(day_of_year=day_of_year) * height)


def extraterrestrial_radiation_mj_m2_h(
    *,
    latitude_deg: Values,
    longitude_deg: Values,
    day_of_year: Values,
    utc_offset_h: Values,
    midpoint_h: Values,
    length_h: Values = 1.0,
) -> Computed:
    """Return the radiation above the air in part of a day, MJ/m². fao56 eq. 28-33.

    `midpoint_h` is the middle of the part on the clock of `utc_offset_h`. The sun counts only while it is up: the
    part before sunrise and after sunset gives 0. Valid: latitude -90 to 90, longitude -180 to 180, day 1 to 366,
    offset -14 to 14 h, midpoint 0 to 24 h, length above 0 and up to 24 h, else OutOfRange.
    """
    latitude, declination = _sky(latitude_deg, day_of_year)
    middle = _solar_time_angle(
        longitude_deg, day_of_year, utc_offset_h, within("midpoint_h", midpoint_h, 0, 24)
    )
    half = np.pi / 24 * within("length_h", above("length_h", length_h, 0), 0, 24)
    sunset = sunset_hour_angle_rad(latitude_deg=latitude_deg, day_of_year=day_of_year)
    start, end = np.clip(middle - half, -sunset, sunset), np.clip(middle + half, -sunset, sunset)
    height = (end - start) * np.sin(latitude) * np.sin(declination)
    height = height + np.cos(latitude) * np.cos(declination) * (np.sin(end) - np.sin(start))
    factor = 12 * 60 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN
    return plain(factor * inverse_distance(day_of_year=day_of_year) * height)


def daylight_h(*, latitude_deg: Values, day_of_year: Values) -> Computed:
    """Return the hours of daylight between the sun's middle rising and setting, without the bending of light.

    fao56 eq. 34. Valid from -90 to 90 degrees and day 1 to 366, else OutOfRange.
    """
    return plain(24 / np.pi * sunset_hour_angle_rad(latitude_deg=latitude_deg, day_of_year=day_of_year))


def equation_of_time_h(*, day_of_year: Values) -> Computed:
    """Return the seasonal correction for solar time, h. fao56 eq. 32-33. Valid from day 1 to 366, else OutOfRange."""
    angle = 2 * np.pi * (within("day_of_year", day_of_year, 1, 366) - 81) / 364
    return plain(0.1645 * np.sin(2 * angle) - 0.1255 * np.cos(angle) - 0.025 * np.sin(angle))


def sunrise_sunset_h(
    *, latitude_deg: Values, longitude_deg: Values, day_of_year: Values, utc_offset_h: Values
) -> tuple[Computed, Computed]:
    """Return when the sun's upper edge rises and sets, in hours on the clock of `utc_offset_h`.

    fao56 eq. 24 and 31-33 solved for the height of the horizon, -0.833 degrees; good to 3.5 minutes up to
    35 degrees of latitude and to 7 at 47 (against an almanac). May lie below 0 or above 24 where the clock is far from the sun's. Valid: latitude -66 to 66,
    longitude -180 to 180, day 1 to 366, offset -14 to 14 h, else OutOfRange, also where the sun does not set.
    """
    within("latitude_deg", latitude_deg, -66, 66)
    latitude, declination = _sky(latitude_deg, day_of_year)
    horizon = np.sin(np.radians(RISE_AND_SET_DEG))
    cosine = (horizon - np.sin(latitude) * np.sin(declination)) / (np.cos(latitude) * np.cos(declination))
    if (np.abs(cosine) > 1).any():
        raise OutOfRange(
            "latitude_deg", float(np.max(np.abs(latitude_deg))), "where the sun rises and sets that day"
        )
    noon_angle = _solar_time_angle(longitude_deg, day_of_year, utc_offset_h, np.asarray(12.0))
    noon = 12 - noon_angle * 12 / np.pi
    # a clock from across the date line shows the same day's sun
    noon = noon - 24 * np.round((noon - 12) / 24)
    half_day = np.arccos(cosine) * 12 / np.pi
    return plain(noon - half_day), plain(noon + half_day)


def solar_from_sunshine_mj_m2_d(
    *,
    sunshine_h: Values,
    daylight_h: Values,
    extraterrestrial_mj_m2_d: Values,
    overcast_share: float = 0.25,
    clear_share: float = 0.50,
) -> Computed:
    """Return solar radiation from hours of bright sunshine, MJ/m²/d. fao56 eq. 35.

    Valid: sunshine from 0 to the daylight hours, daylight above 0 up to 24 h, radiation 0 or more, else OutOfRange.
    """
    daylight = within("daylight_h", above("daylight_h", daylight_h, 0), 0, 24)
    share = at_least("sunshine_h", sunshine_h, 0) / daylight
    within("sunshine_h / daylight_h", share, 0, 1)
    above_air = at_least("extraterrestrial_mj_m2_d", extraterrestrial_mj_m2_d, 0)
    return plain((overcast_share + clear_share * share) * above_air)


def solar_from_temperature_mj_m2_d(
    *,
    temp_min_c: Values,
    temp_max_c: Values,
    extraterrestrial_mj_m2_d: Values,
    elevation_m: Values,
    adjustment_per_sqrt_c: Values = 0.16,
) -> Computed:
    """Return solar radiation from the day's temperature range, MJ/m²/d. fao56 eq. 50, limited to the clear sky's.

    The adjustment is 0.16 inland and 0.19 near a coast. Valid: -60 to 60 °C with the minimum not above the maximum,
    radiation 0 or more, adjustment 0.10 to 0.25, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    above_air = at_least("extraterrestrial_mj_m2_d", extraterrestrial_mj_m2_d, 0)
    adjustment = within("adjustment_per_sqrt_c", adjustment_per_sqrt_c, 0.10, 0.25)
    clear = clear_sky_radiation_mj_m2(extraterrestrial_mj_m2=above_air, elevation_m=elevation_m)
    return plain(np.minimum(adjustment * np.sqrt(high - low) * above_air, clear))


def sky_cover_pct(
    *,
    solar_mj_m2_d: Values,
    extraterrestrial_mj_m2_d: Values,
    overcast_share: float = 0.25,
    clear_share: float = 0.50,
) -> Computed:
    """Return the share of the day without bright sunshine, %: fao56 eq. 35 solved for it and kept within 0 to 100.

    A stand-in for cloud where no one tells it. Valid: solar 0 or more, radiation above the air above 0, else
    OutOfRange.
    """
    above_air = above("extraterrestrial_mj_m2_d", extraterrestrial_mj_m2_d, 0)
    through = at_least("solar_mj_m2_d", solar_mj_m2_d, 0) / above_air
    return plain(100 * (1 - np.clip((through - overcast_share) / clear_share, 0, 1)))


def clear_sky_radiation_mj_m2(*, extraterrestrial_mj_m2: Values, elevation_m: Values) -> Computed:
    """Return solar radiation under a clear sky, MJ/m² for the same time as the argument. fao56 eq. 37.

    Valid: radiation 0 or more, elevation -450 to 6000 m, else OutOfRange.
    """
    above_air = at_least("extraterrestrial_mj_m2", extraterrestrial_mj_m2, 0)
    return plain((0.75 + 2e-5 * within("elevation_m", elevation_m, -450, 6000)) * above_air)


def net_shortwave_mj_m2(*, solar_mj_m2: Values, albedo: Values = GRASS_ALBEDO) -> Computed:
    """Return the solar radiation that is kept, MJ/m² for the same time. fao56 eq. 38.

    Valid: radiation 0 or more, albedo 0 to 1, else OutOfRange.
    """
    return plain((1 - within("albedo", albedo, 0, 1)) * at_least("solar_mj_m2", solar_mj_m2, 0))


def net_longwave_mj_m2_d(
    *,
    temp_min_c: Values,
    temp_max_c: Values,
    vapor_pressure_kpa: Values,
    solar_mj_m2_d: Values,
    clear_sky_mj_m2_d: Values,
) -> Computed:
    """Return the day's net outgoing longwave radiation, MJ/m². fao56 eq. 39.

    The cloudiness ratio solar / clear sky is limited to 1 by FAO-56, and to no less than 0.3 by asce2005 eq. 18.
    Valid: -60 to 60 °C with the minimum not above the maximum, vapor pressure 0 to 20 kPa, solar 0 or more, clear
    sky above 0, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    fourth_power = ((low + KELVIN_OFFSET_C) ** 4 + (high + KELVIN_OFFSET_C) ** 4) / 2
    clear = above("clear_sky_mj_m2_d", clear_sky_mj_m2_d, 0)
    ratio = at_least("solar_mj_m2_d", solar_mj_m2_d, 0) / clear
    return plain(
        STEFAN_BOLTZMANN_MJ_K4_M2_D * fourth_power * _emission(vapor_pressure_kpa) * _cloudiness(ratio)
    )


def net_longwave_mj_m2_h(
    *, temp_c: Values, vapor_pressure_kpa: Values, relative_shortwave: Values
) -> Computed:
    """Return an hour's net outgoing longwave radiation, MJ/m². fao56 eq. 39 with the hourly constant.

    `relative_shortwave` is solar / clear sky of the hour, at night that of the hours before sunset. Valid: -60 to
    60 °C, vapor pressure 0 to 20 kPa, ratio 0 or more, else OutOfRange.
    """
    temp = within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)
    ratio = at_least("relative_shortwave", relative_shortwave, 0)
    power = STEFAN_BOLTZMANN_MJ_K4_M2_D / 24 * (temp + KELVIN_OFFSET_C) ** 4
    return plain(power * _emission(vapor_pressure_kpa) * _cloudiness(ratio))


def _emission(vapor_pressure_kpa: Values) -> Array:
    result: Array = 0.34 - 0.14 * np.sqrt(within("vapor_pressure_kpa", vapor_pressure_kpa, 0, 20))
    return result


def _cloudiness(ratio: Array) -> Array:
    result: Array = 1.35 * np.clip(ratio, 0.3, 1.0) - 0.35
    return result


def _year_angle(day_of_year: Values) -> Array:
    result: Array = 2 * np.pi * within("day_of_year", day_of_year, 1, 366) / 365
    return result


def _sky(latitude_deg: Values, day_of_year: Values) -> tuple[Array, Array]:
    latitude = np.radians(within("latitude_deg", latitude_deg, -90, 90))
    return latitude, np.asarray(declination_rad(day_of_year=day_of_year))


def _solar_time_angle(
    longitude_deg: Values, day_of_year: Values, utc_offset_h: Values, clock_h: Array
) -> Array:
    """Return the sun's hour angle at a clock time, radians. fao56 eq. 31."""
    longitude = within("longitude_deg", longitude_deg, -180, 180)
    offset = within("utc_offset_h", utc_offset_h, -14, 14)
    solar = clock_h + longitude / 15 - offset + equation_of_time_h(day_of_year=day_of_year)
    result: Array = np.pi / 12 * (solar - 12)
    return result
