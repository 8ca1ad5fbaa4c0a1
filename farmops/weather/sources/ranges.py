"""What is possible, and what looks like a column in another unit.

`POSSIBLE` bounds one value: the air temperatures are near the records of the globe, the rain is above the
United States record for a day (1,262 mm, Kauai 2018; from memory). `suspicions` looks at a whole column; its
numbers were set so that none of eleven open daily climates of several decades (Nebraska, Tunis, Hyderabad,
Cordoba, Brussels and English counties among them) is taken for another unit, but for the drizzle of the
English ones read as inches.
"""

import statistics
from collections.abc import Mapping, Sequence

POSSIBLE: Mapping[str, tuple[float, float]] = {
    "temp_min_c": (-60.0, 50.0),
    "temp_max_c": (-60.0, 57.0),
    "rain_mm": (0.0, 1300.0),
    "solar_mj_m2": (0.0, 45.0),
    "wind_m_s": (0.0, 40.0),
    "humidity_min_pct": (1.0, 100.0),
    "humidity_max_pct": (1.0, 100.0),
}
UNITS: Mapping[str, str] = {
    "temp_min_c": "°C",
    "temp_max_c": "°C",
    "rain_mm": "mm",
    "solar_mj_m2": "MJ/m² a day",
    "wind_m_s": "m/s",
    "humidity_min_pct": "%",
    "humidity_max_pct": "%",
}
HIGHEST_F = 135.0
SPREAD_C, SPREAD_DAYS = 28.0, 10
WARM_NIGHT_C, WARM_NIGHTS_SHARE, WARM_NIGHT_DAYS = 32.0, 0.2, 5
OUT_OF_RANGE_SHARE, OUT_OF_RANGE_DAYS = 0.1, 2
TENTHS_MEDIAN_MM, TENTHS_WET_DAYS = 36.0, 10
INCH_MEDIAN, INCH_HIGHEST, INCH_WET_DAYS = 0.45, 4.0, 20
WIND_MEAN_M_S, WIND_DAYS = 9.0, 20
SHARE_DAYS = 5
JUMP_C, JUMP_DAYS, JUMP_LEAST_DAYS = 22.0, 14, 7


def out_of_range(*, quantity: str, value: float) -> str | None:
    """Return why a value is impossible, or None."""
    low, high = POSSIBLE[quantity]
    if low <= value <= high:
        return None
    if quantity == "rain_mm" and value < 0:
        return f"rain_mm is {value:g}; rain cannot be negative"
    return f"{quantity} is {value:g} {UNITS[quantity]}; possible is {low:g} to {high:g}"


def off_the_globe(*, latitude_deg: float, longitude_deg: float) -> str | None:
    """Return why a place cannot be, or None; degrees north and east, south and west negative."""
    if not -90 <= latitude_deg <= 90:
        return f"the latitude {latitude_deg:g}; possible is -90 to 90"
    if not -180 <= longitude_deg <= 180:
        return f"the longitude {longitude_deg:g}; possible is -180 to 180"
    return None


def suspicions(columns: Mapping[str, Sequence[float]]) -> list[str]:
    """Return a sentence for each column (values of a station's days, in any order) that looks like another
    unit.
    """
    says = [
        *_temperature(columns.get("temp_min_c", ()), columns.get("temp_max_c", ())),
        *_rain(columns.get("rain_mm", ())),
    ]
    solar = columns.get("solar_mj_m2", ())
    if _many_outside("solar_mj_m2", solar):
        says.append(
            f"solar_mj_m2 goes up to {max(solar):g}: a day brings at most 45 MJ/m². "
            "Is it W/m² (times 0.0864) or another unit?"
        )
    wind = columns.get("wind_m_s", ())
    if len(wind) >= WIND_DAYS and statistics.fmean(wind) > WIND_MEAN_M_S:
        says.append(f"wind_m_s has a mean of {statistics.fmean(wind):.1f}: is it km/h or mph instead of m/s?")
    for name in ("humidity_min_pct", "humidity_max_pct"):
        column = columns.get(name, ())
        if len(column) >= SHARE_DAYS and max(column) <= 1:
            says.append(f"{name} never passes {max(column):g}: is it a share of 1 instead of percent?")
    return says


def jump(*, mean_c: float, before_c: Sequence[float]) -> str | None:
    """Return a sentence when a day's mean stands too far above those of the days before it to be °C, or None.

    For files of few days, whose columns are too short to look like anything. `mean_c` is that of the day's low and high,
    `before_c` those of the days before it in order; the last 14 count, and with fewer than 7 nothing is said. No day of
    the eleven open climates stands 22 °C above; of their days that would pass for °C when written in °F, more than three
    in four do at Champion, Nebraska, and nearly all do elsewhere (measured).
    """
    if len(before_c) < JUMP_LEAST_DAYS:
        return None
    usual_c = statistics.fmean(before_c[-JUMP_DAYS:])
    if mean_c - usual_c <= JUMP_C:
        return None
    return (
        f"the mean is {mean_c:.0f}, {mean_c - usual_c:.0f} degrees above that of the days known before: "
        "are the temperatures °F?"
    )


def _temperature(lows: Sequence[float], highs: Sequence[float]) -> list[str]:
    if _many_outside("temp_max_c", highs) or _many_outside("temp_min_c", lows):
        extreme = max((*highs, *lows), key=abs)
        if abs(extreme) > HIGHEST_F:
            return [f"the temperatures go to {extreme:g}: are they tenths of a degree instead of °C?"]
        return [f"the temperatures go to {extreme:g}: are they °F instead of °C?"]
    warm = sum(low > WARM_NIGHT_C for low in lows)
    if len(lows) >= WARM_NIGHT_DAYS and warm >= WARM_NIGHTS_SHARE * len(lows):
        return [f"{warm} of {len(lows)} nights stay above {WARM_NIGHT_C:g} °C: are the temperatures °F?"]
    if len(lows) >= SPREAD_DAYS and len(highs) >= SPREAD_DAYS:
        spread = statistics.fmean(highs) - statistics.fmean(lows)
        if spread > SPREAD_C:
            return [f"highs are {spread:.0f} degrees above lows on average: are the temperatures °F?"]
    return []


def _rain(rain: Sequence[float]) -> list[str]:
    wet = [value for value in rain if value > 0]
    if len(wet) >= TENTHS_WET_DAYS and statistics.median(wet) > TENTHS_MEDIAN_MM:
        return [
            f"half of the {len(wet)} days with rain have more than {statistics.median(wet):g}: "
            "is rain_mm in tenths of a millimeter?"
        ]
    if len(wet) >= INCH_WET_DAYS and statistics.median(wet) < INCH_MEDIAN and max(wet) < INCH_HIGHEST:
        return [f"none of the {len(wet)} days with rain passes {max(wet):g}: is rain_mm in inches?"]
    return []


def _many_outside(quantity: str, values: Sequence[float]) -> bool:
    low, high = POSSIBLE[quantity]
    outside = sum(not low <= value <= high for value in values)
    return outside >= OUT_OF_RANGE_DAYS and outside >= OUT_OF_RANGE_SHARE * len(values)
