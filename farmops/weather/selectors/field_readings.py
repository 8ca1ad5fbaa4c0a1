"""What was read at fields: rain in gauges, warmth on thermometers in the ground."""

import datetime as dt
import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np

from farmops.farms.models import Farm
from farmops.science.units import mm_from_inches
from farmops.weather.models import STANDING, GaugeReading, SoilReading
from farmops.weather.selectors.interpolation import Values, at_place
from farmops.weather.selectors.observed import station_days
from farmops.weather.sources.rows import QUANTITIES

GAUGE, STATION, NOBODY = "gauge", "station", ""
STALE_AFTER = dt.timedelta(days=3)
"""Farm judgement: weather that ends longer ago is an old record, read as if its last day were yesterday."""
NIGHT_UNTIL_H = 6.0
"""Farm judgement: what a round long after a record's end finds in a gauge fell in the night before it."""
_RAIN = QUANTITIES.index("rain_mm")


@dataclass(frozen=True)
class OwnDay:
    """What a gauge showed on the day itself: rain from midnight to `until_h` of the clock, more than 0 and up to 24."""

    day: dt.date
    rain_mm: float
    until_h: float


@dataclass(frozen=True)
class FieldRain:
    """Rain at a field by day: `rain_mm` (days,), nan where nothing was read, and who says so: gauge, station or
    nobody (""). `own_days` are the days whose gauge was read last before they were over.
    """

    rain_mm: Values
    source: tuple[str, ...]
    own_days: tuple[OwnDay, ...] = ()


def field_rain(
    *,
    farm: Farm,
    places: Mapping[int, tuple[float, float]],
    first: dt.date,
    last: dt.date,
    as_of: dt.date | None = None,
) -> Mapping[int, FieldRain]:
    """Return the rain of `first`..`last` at fields, by their ids; `places` are their latitudes and longitudes in degrees.

    A gauge at the field outranks the stations, and counts on days that no station has; else the stations are
    interpolated to the field (see `interpolation.at_place` on light rain). Days count up to and including `as_of`
    (None: all); later ones are nan. A day's newest gauge reading counts. Among `own_days` is the day after `as_of` too,
    the morning that is planned.
    """
    if last < first:
        raise ValueError(f"last {last} is before first {first}")
    count = (last - first).days + 1
    until = last if as_of is None else min(last, as_of)
    table = station_days(farm=farm, first=first, last=until)
    at = np.array([(day - first).days for day in table.days], dtype=np.int64)
    gauges = _gauges(farm, list(places), first, until + dt.timedelta(days=1))
    found: dict[int, FieldRain] = {}
    for field_id, (latitude_deg, longitude_deg) in places.items():
        distance_km = table.distances_km(latitude_deg, longitude_deg)
        read = at_place(distance_km=distance_km, values=table.read[:, :, _RAIN])
        made = at_place(distance_km=distance_km, values=table.made[:, :, _RAIN])
        rain_mm = np.full(count, math.nan)
        rain_mm[at] = np.where(np.isnan(read), made, read)
        source = [NOBODY if math.isnan(value) else STATION for value in rain_mm]
        mine = gauges.get(field_id, {})
        for day, one in mine.items():
            if day <= until:
                rain_mm[(day - first).days] = one.rain_mm
                source[(day - first).days] = GAUGE
        own_days = tuple(mine[day] for day in sorted(mine) if mine[day].until_h and day <= last)
        found[field_id] = FieldRain(rain_mm=rain_mm, source=tuple(source), own_days=own_days)
    return found


def gauge_of_days(
    *, farm: Farm, only: Collection[int], days: Collection[dt.date]
) -> dict[tuple[int, dt.date], Decimal]:
    """Return the inches that were read last in the gauges of some fields on some days, by field id and day."""
    rows = GaugeReading.objects.filter(STANDING, farm=farm, field__in=only, day__in=days).order_by(
        "recorded_at", "id"
    )
    return {
        (field_id, day): rain_in for field_id, day, rain_in in rows.values_list("field_id", "day", "rain_in")
    }


def soil_readings(
    *,
    farm: Farm,
    first: dt.date,
    last: dt.date,
    as_of: dt.date | None = None,
    only: Collection[int] | None = None,
) -> tuple[SoilReading, ...]:
    """Return what thermometers showed on `first`..`last` of the farm's clock, at most up to `as_of`, in order.

    `only` are the row ids of the fields asked for, else all.
    """
    until = last if as_of is None else min(last, as_of)
    rows = SoilReading.objects.filter(
        STANDING,
        farm=farm,
        read_at__gte=_midnight(first, farm),
        read_at__lt=_midnight(until + dt.timedelta(days=1), farm),
    )
    if only is not None:
        rows = rows.filter(field__in=only)
    return tuple(rows.select_related("field", "zone").order_by("read_at", "id"))


def _gauges(
    farm: Farm, field_ids: list[int], first: dt.date, last: dt.date
) -> dict[int, dict[dt.date, OwnDay]]:
    """Return the newest reading of each field and day; `until_h` is 0 where it was read when the day was over."""
    rows = GaugeReading.objects.filter(STANDING, farm=farm, field__in=field_ids, day__range=(first, last))
    found: dict[int, dict[dt.date, OwnDay]] = {}
    for field_id, day, rain_in, recorded_at in rows.order_by("recorded_at", "id").values_list(
        "field_id", "day", "rain_in", "recorded_at"
    ):
        rain_mm = float(mm_from_inches(float(rain_in)))
        until_h = _read_at_h(recorded_at.astimezone(ZoneInfo(farm.zone)), day, is_ahead=day == last)
        found.setdefault(field_id, {})[day] = OwnDay(day, rain_mm, until_h)
    return found


def _read_at_h(recorded_at: dt.datetime, day: dt.date, *, is_ahead: bool) -> float:
    """Return until which hour of its day a gauge tells, 0 for the whole day."""
    if recorded_at.date() == day:
        return max(recorded_at.hour + recorded_at.minute / 60, 1.0)
    is_old = is_ahead and recorded_at.date() >= day + STALE_AFTER
    return NIGHT_UNTIL_H if is_old else 0.0


def _midnight(day: dt.date, farm: Farm) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(farm.zone))
