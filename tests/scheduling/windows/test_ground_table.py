"""What the table of the ground says of a morning and of an evening."""

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

from scheduling.windows.ground_table import ground_table
from tests.scheduling.windows.scene import FIRST, ZONE, ground_of, weather_of


def days_of(**weather: object) -> list[tuple[float, float]]:
    """Return (8 am, day's end) topsoil of three days, wet by 40 mm on the evening before the first."""
    night = dt.datetime.combine(FIRST, dt.time(2), tzinfo=ZoneInfo(ZONE)).astimezone(dt.UTC)
    ground = ground_of(weather_of(days=3, **weather), rain_weight_at={night: 1.0})  # type: ignore[arg-type]
    (zone,) = ground_table(ground, first=FIRST, last=FIRST + dt.timedelta(days=2))
    return [(day.topsoil_8am_m3_m3, day.topsoil_m3_m3) for day in zone.days]


def test_a_dry_morning_lies_between_the_evening_before_and_the_evening() -> None:
    days = days_of(rain_mm={-1: 40.0})
    for (_, evening_before), (morning, evening) in pairwise(days):
        assert evening < morning <= evening_before


def test_rain_at_night_is_in_the_mornings_water_already() -> None:
    (morning_dry, _), *_ = days_of()
    (morning_wet, evening_wet), *_ = days_of(rain_mm={0: 30.0})
    assert morning_wet > morning_dry + 0.05
    assert evening_wet < morning_wet
