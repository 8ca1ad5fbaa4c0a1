"""Limits that the clock and a farm's own records decide, to the minute and without a chance.

What a label asks for after spraying, the power supplier's hours, a pivot that runs or stands in the way, and daylight.
"""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from scheduling.windows.hours import HourGrid, elapsed_min
from scheduling.windows.limits import Limit, Quantity
from scheduling.windows.power import PowerCut, power_cut_stretches
from scheduling.windows.wording import Sentence, angle, clock_en, clock_es, moment

MINUTE = dt.timedelta(minutes=1)
FULL_CIRCLE_DEG = 360.0


@dataclass(frozen=True)
class Sprayed:
    """What was sprayed on the field: `ended_at` the last of it, and what the label asks for after it."""

    ended_at: dt.datetime
    products: str
    reentry_h: float
    plant_back_days: int | None = None
    products_es: str = ""


@dataclass(frozen=True)
class PivotSeen:
    """Where the field's pivot was last seen, and whether it ran; angles in degrees clockwise from north."""

    seen_at: dt.datetime
    is_running: bool
    angle_deg: float | None
    parking_angle_deg: float


@dataclass(frozen=True)
class FieldRecords:
    """What is recorded of a field, as far as it stops work."""

    sprayings: tuple[Sprayed, ...] = ()
    pivot: PivotSeen | None = None
    power_cuts: tuple[PowerCut, ...] = ()
    pump: str = ""


@dataclass(frozen=True)
class Sky:
    """Sunrise and sunset of each of the grid's days, in hours on the farm's clock."""

    sunrise_h: npt.NDArray[np.float64]
    sunset_h: npt.NDArray[np.float64]


@dataclass(frozen=True)
class Stop:
    """Minutes `from_min` ≤ m < `to_min` (elapsed from the start) in which a limit does not hold, with its numbers."""

    from_min: int
    to_min: int
    value: float
    bound: float
    words: Mapping[str, Sentence]


def stops_of(
    limit: Limit,
    *,
    records: FieldRecords,
    sky: Sky,
    grid: HourGrid,
    starts_at: dt.datetime,
    until_min: int,
) -> list[Stop]:
    """Return the stretches of the horizon in which a limit of the clock stops the work, clipped to it, in order."""
    zone = grid.zone
    quantity = limit.quantity
    if quantity is Quantity.RE_ENTRY:
        found = [_re_entry(limit, one, starts_at, zone) for one in records.sprayings]
    elif quantity is Quantity.PLANT_BACK:
        found = [
            _plant_back(limit, one, days, starts_at, zone)
            for one in records.sprayings
            if (days := one.plant_back_days) is not None
        ]
    elif quantity is Quantity.POWER_SHUT:
        pump = {"pump": Sentence(records.pump, records.pump)}
        found = [
            Stop(begins, ends, 1.0, 0.0, pump)
            for begins, ends in power_cut_stretches(records.power_cuts, grid.days, starts_at, zone)
        ]
    elif quantity is Quantity.PIVOT_RUNS:
        found = _running(limit, records.pivot, starts_at, zone)
    elif quantity is Quantity.PIVOT_OFF:
        found = _in_the_way(limit, records.pivot, starts_at, until_min)
    elif quantity is Quantity.DAYLIGHT:
        found = _darkness(limit, sky, grid, starts_at, until_min)
    else:
        raise ValueError(f"{quantity} is not of the clock")
    clipped = [
        Stop(max(one.from_min, 0), min(one.to_min, until_min), one.value, one.bound, one.words)
        for one in found
    ]
    return sorted(
        (one for one in clipped if one.from_min < one.to_min), key=lambda one: (one.to_min, one.from_min)
    )


def stop_edges(stops: Sequence[Stop]) -> set[int]:
    """Return the minutes at which work stops or may go on."""
    return {minute for stop in stops for minute in (stop.from_min, stop.to_min)}


def _re_entry(limit: Limit, one: Sprayed, starts_at: dt.datetime, zone: str) -> Stop:
    ends = one.ended_at.astimezone(dt.UTC) + dt.timedelta(hours=one.reentry_h + limit.number)
    words = {
        "products": Sentence(one.products, one.products_es or one.products),
        "until": moment(_whole_minute(ends), told_at=starts_at, zone=zone),
    }
    return Stop(
        math.floor(_minutes(starts_at, one.ended_at)),
        math.ceil(_minutes(starts_at, ends)),
        one.reentry_h,
        one.reentry_h + limit.number,
        words,
    )


def _plant_back(limit: Limit, one: Sprayed, days: int, starts_at: dt.datetime, zone: str) -> Stop:
    """Count whole days of the farm's clock: sprayed on the 1st, thirty days, planting from the 31st on."""
    clock = ZoneInfo(zone)
    first_day = one.ended_at.astimezone(clock).date() + dt.timedelta(days=days + math.ceil(limit.number))
    until = dt.datetime.combine(first_day, dt.time(), tzinfo=clock)
    words = {
        "products": Sentence(one.products, one.products_es or one.products),
        "until": moment(until, told_at=starts_at, zone=zone),
    }
    return Stop(
        math.floor(_minutes(starts_at, one.ended_at)),
        math.ceil(_minutes(starts_at, until)),
        days,
        days + limit.number,
        words,
    )


def _running(limit: Limit, pivot: PivotSeen | None, starts_at: dt.datetime, zone: str) -> list[Stop]:
    """A pivot that was seen running counts as running for so many hours: by then somebody has looked again."""
    if pivot is None or not pivot.is_running:
        return []
    begins = math.floor(_minutes(starts_at, pivot.seen_at))
    words = {"since": moment(pivot.seen_at, told_at=starts_at, zone=zone)}
    return [Stop(begins, begins + math.ceil(limit.number * 60), 0.0, limit.number, words)]


def _in_the_way(limit: Limit, pivot: PivotSeen | None, starts_at: dt.datetime, until_min: int) -> list[Stop]:
    if pivot is None or pivot.is_running or pivot.angle_deg is None:
        return []
    apart = abs(pivot.angle_deg - pivot.parking_angle_deg) % FULL_CIRCLE_DEG
    off_deg = min(apart, FULL_CIRCLE_DEG - apart)
    if off_deg <= limit.number:
        return []
    words = {"place": angle(pivot.angle_deg), "limit": angle(pivot.parking_angle_deg)}
    begins = math.floor(_minutes(starts_at, pivot.seen_at))
    return [Stop(begins, until_min, off_deg, limit.number, words)]


def _darkness(limit: Limit, sky: Sky, grid: HourGrid, starts_at: dt.datetime, until_min: int) -> list[Stop]:
    """Return the nights, each with the light's margin on both sides."""
    light = []
    for day, rise, sets in zip(grid.days, sky.sunrise_h, sky.sunset_h, strict=True):
        opens = math.ceil((rise + limit.number) * 60)
        shuts = math.floor((sets - limit.number) * 60)
        if opens < shuts:
            light.append(
                (_on_clock(day, opens, starts_at, grid.zone), _on_clock(day, shuts, starts_at, grid.zone))
            )
    stops, begins = [], 0
    for opens, shuts in light:
        if begins < opens:
            light_at = (starts_at.astimezone(dt.UTC) + opens * MINUTE).astimezone(ZoneInfo(grid.zone)).time()
            words = {"until": Sentence(clock_en(light_at), clock_es(light_at))}
            stops.append(Stop(begins, opens, 0.0, limit.number, words))
        begins = max(begins, shuts)
    return stops


def _on_clock(day: dt.date, minute: int, starts_at: dt.datetime, zone: str) -> int:
    local = dt.datetime.combine(day, dt.time(), tzinfo=None) + minute * MINUTE
    return elapsed_min(starts_at, local.replace(tzinfo=ZoneInfo(zone)))


def _minutes(since: dt.datetime, until: dt.datetime) -> float:
    return (until.astimezone(dt.UTC) - since.astimezone(dt.UTC)).total_seconds() / 60


def _whole_minute(instant: dt.datetime) -> dt.datetime:
    """Return the instant, or the next whole minute: nobody goes in half a minute early."""
    over = dt.timedelta(seconds=instant.second, microseconds=instant.microsecond)
    return instant if not over else instant - over + MINUTE
