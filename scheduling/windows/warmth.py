"""Warmth of the soil of a block of columns, by day and member: from air, sun, wetness and cover, set by thermometers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.radiation import (
    extraterrestrial_radiation_mj_m2_d,
    solar_from_temperature_mj_m2_d,
)
from farmops.science.soil_temperature import (
    DEEPEST_CM,
    THERMOMETER_MOST_C,
    daily_mean_at_depth_c,
    daily_mean_soil_temp_c,
    driving_temp_c,
    soil_temp_at_hour_c,
    surface_amplitude_c,
    surface_swing,
    thermometer_offsets_c,
)
from farmops.science.units import cm_from_inches
from scheduling.windows.columns import Column, SoilTempRead
from scheduling.windows.crops_ahead import CropsAhead
from scheduling.windows.day_weather import Place, Values
from scheduling.windows.members import MemberDays
from scheduling.windows.timeline import Timeline

Floats = npt.NDArray[np.floating]
WARM_UP_DAYS = 7
"""The soil starts as warm as the air of its first week; 90 days later nothing of that is left."""


@dataclass(frozen=True)
class BlockWarmth:
    """Daily means at 10 cm with thermometers, and the surface's half range, (days, columns, members); offsets (days, columns)."""

    mean_c: Values
    amplitude_c: Values
    thermometer_c: Values

    def since(self, day: int) -> "BlockWarmth":
        """Return the days from one on, as arrays of their own that hold nothing of the days before."""
        return BlockWarmth(
            self.mean_c[day:].copy(), self.amplitude_c[day:].copy(), self.thermometer_c[day:].copy()
        )


def sun_or_usual(*, place: Place, line: Timeline, dealt: MemberDays) -> Values:
    """Return each day's sun, mj/m²: as read; where some days have it, by the day's range of temperature on the others.

    Where no day has it, all is nan: a step from a guess to what is read would look like weather.
    """
    if np.isnan(dealt.solar_mj_m2).all():
        return dealt.solar_mj_m2
    day_of_year = np.array([day.timetuple().tm_yday for day in line.days], dtype=np.float64)[:, np.newaxis]
    by_range = solar_from_temperature_mj_m2_d(
        temp_min_c=dealt.temp_min_c,
        temp_max_c=dealt.temp_max_c,
        extraterrestrial_mj_m2_d=extraterrestrial_radiation_mj_m2_d(
            latitude_deg=place.latitude_deg, day_of_year=day_of_year
        ),
        elevation_m=place.elevation_m,
    )
    sun: Values = np.where(np.isnan(dealt.solar_mj_m2), by_range, dealt.solar_mj_m2)
    return sun


def soil_warmth(
    *,
    columns: Sequence[Column],
    crops: CropsAhead,
    dealt: MemberDays,
    sun_mj_m2: Values,
    wet_m3_m3: Floats,
    line: Timeline,
) -> BlockWarmth:
    """Work out the warmth of all days; `wet_m3_m3` is the topsoil at each day's end, (days, columns, members)."""
    saturation = np.array([column.soil.texture.saturation_m3_m3 for column in columns])
    wetness = np.clip(wet_m3_m3 / saturation[:, np.newaxis], 0.0, 1.0)
    cover = crops.days.cover_share[:, :, np.newaxis]
    leaves = crops.leaf_area[:, :, np.newaxis]
    low, high = dealt.temp_min_c[:, np.newaxis, :], dealt.temp_max_c[:, np.newaxis, :]
    air = driving_temp_c(
        temp_min_c=low, temp_max_c=high, solar_mj_m2_d=sun_mj_m2[:, np.newaxis, :], cover_share=cover
    )
    parts, start = [], air[:WARM_UP_DAYS, :, :1].mean(axis=0)
    for days, members in (
        (slice(0, line.members_from), slice(0, 1)),
        (slice(line.members_from, len(air)), slice(0, air.shape[2])),
    ):
        if len(air[days]):
            mean = daily_mean_soil_temp_c(
                air_mean_c=air[days, :, members],
                start_c=start,
                wetness_share=wetness[days, :, members],
                cover_lai=leaves[days],
            )
            start = mean[-1]
            parts.append(np.broadcast_to(mean, (*mean.shape[:2], air.shape[2])))
    mean_c = np.concatenate(parts)
    amplitude_c = np.asarray(
        surface_amplitude_c(
            temp_min_c=low, temp_max_c=high, swing=surface_swing(wetness_share=wetness, cover_share=cover)
        )
    )
    offsets = np.zeros(mean_c.shape[:2])
    for place, column in enumerate(columns):
        if column.facts.readings:
            middle = np.median(mean_c[:, place], axis=1), np.median(amplitude_c[:, place], axis=1)
            offsets[:, place] = _offsets(column.facts.readings, *middle, line)
    return BlockWarmth(mean_c + offsets[:, :, np.newaxis], amplitude_c, offsets)


def _offsets(readings: Sequence[SoilTempRead], mean_c: Values, amplitude_c: Values, line: Timeline) -> Values:
    """Return what readings add to the days; one that is 30 °C off says nothing of the soil and is left out."""
    differences = []
    for reading in readings:
        day = line.day_of(reading.read_at)
        if not 0 <= day < len(mean_c):
            continue
        depth_cm = min(float(cm_from_inches(reading.depth_in)), DEEPEST_CM)
        model_c = soil_temp_at_hour_c(
            daily_mean_c=daily_mean_at_depth_c(mean_10_cm_c=mean_c, depth_cm=depth_cm)[day],
            surface_amplitude_c=amplitude_c[day],
            depth_cm=depth_cm,
            hour=line.clock_of(reading.read_at),
        )
        difference_c = reading.temp_c - float(model_c)
        if abs(difference_c) <= THERMOMETER_MOST_C:
            differences.append((day, difference_c))
    return thermometer_offsets_c(days=len(mean_c), readings=differences)
