"""Writing days: new ones, what a known day lacked, and short gaps from their neighbors."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Protocol

from django.db.models import Max, Min

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, Station
from farmops.weather.services.station_places import station_of
from farmops.weather.sources import gaps
from farmops.weather.sources.days import NEAR, Day, mean_air_c
from farmops.weather.sources.rows import QUANTITIES, BadRow, StationFacts, bad_line

SAME = 1e-6
REACH = dt.timedelta(days=gaps.LONGEST_DAYS + 1)
BATCH = 500


class Tally(Protocol):
    """The part of a report that is written here."""

    first: dt.date | None
    last: dt.date | None
    new: int
    completed: int
    replaced: int
    same: int
    filled: int
    new_rain_mm: float
    refused: list[BadRow]
    notes: list[str]


def store(*, farm: Farm, facts: StationFacts, days: Sequence[Day], far_station: bool, report: Tally) -> None:
    """Write the days of one station; a day that is known with another value is added to `report.refused`.

    A station too far from the farm is refused unless `far_station` says that it is meant.
    """
    if not days:
        return
    report.first, report.last = days[0].day, days[-1].day
    station = station_of(farm=farm, facts=facts, far_station=far_station, notes=report.notes)
    rows = {
        row.day: row
        for row in DailyWeather.objects.filter(
            station=station, day__range=(days[0].day - REACH, days[-1].day + REACH)
        )
    }
    new: list[DailyWeather] = []
    changed: dict[dt.date, DailyWeather] = {}
    for day in days:
        row = rows.get(day.day)
        if row is None:
            row = DailyWeather(farm=farm, station=station, day=day.day, **day.values)
            rows[day.day] = row
            new.append(row)
            report.new += 1
            report.new_rain_mm += day.values.get("rain_mm", 0.0)
            continue
        clash = _clash(row, day)
        if clash is not None:
            report.refused.append(clash)
        elif _complete(row, day, report):
            changed[day.day] = row
    _fill(farm, station, rows, new, changed, report)
    _say_unconnected(station, days, report)
    DailyWeather.objects.bulk_create(new, batch_size=BATCH)
    DailyWeather.objects.bulk_update(
        changed.values(), [*QUANTITIES, "is_filled", "filled_names"], batch_size=BATCH
    )
    report.refused.sort()


def known_means_c(*, farm: Farm, code: str, first: dt.date, last: dt.date) -> dict[dt.date, float]:
    """Return the mean air temperatures, °C, that a station read from three weeks before `first` up to `last`."""
    rows = DailyWeather.objects.filter(farm=farm, station__code=code, day__range=(first - NEAR, last))
    means_c = {row.day: mean_air_c(read_values(row)) for row in rows.order_by("day")}
    return {day: mean_c for day, mean_c in means_c.items() if mean_c is not None}


def read_values(row: DailyWeather) -> dict[str, float]:
    """Return what was read of a day, without what was made."""
    made = row.filled_names.split()
    return {
        name: getattr(row, name) for name in QUANTITIES if name not in made and getattr(row, name) is not None
    }


def _clash(row: DailyWeather, day: Day) -> BadRow | None:
    known = read_values(row)
    for name, value in day.values.items():
        if name in known and abs(known[name] - value) > SAME:
            return bad_line(
                day.lines[name],
                f"{day.day} {name} is {value:g}, but {known[name]:g} is known already at {row.station.code}",
            )
    merged = {**known, **day.values}
    for low, high in gaps.PAIRS:
        if low in merged and high in merged and merged[low] > merged[high]:
            return bad_line(
                day.line,
                f"{day.day} {low} {merged[low]:g} is above {high} {merged[high]:g}, together with what is known",
            )
    return None


def _complete(row: DailyWeather, day: Day, report: Tally) -> bool:
    """Add to a known day what it lacked; return whether it changed."""
    known = read_values(row)
    gained = {name: value for name, value in day.values.items() if name not in known}
    if not gained:
        report.same += 1
        return False
    if known:
        report.completed += 1
    else:
        report.replaced += 1
    report.new_rain_mm += gained.get("rain_mm", 0.0)
    _set(row, {**known, **gained}, {})
    return True


def _set(row: DailyWeather, read: Mapping[str, float], made: Mapping[str, float]) -> None:
    for name in QUANTITIES:
        setattr(row, name, read.get(name, made.get(name)))
    row.filled_names = " ".join(name for name in QUANTITIES if name in made and name not in read)
    row.is_filled = bool(row.filled_names)


def _say_unconnected(station: Station, days: Sequence[Day], report: Tally) -> None:
    """Say which days lie between the file and what is known before or after it, where they are too many to be made."""
    known = DailyWeather.objects.filter(station=station)
    before = known.filter(day__lt=days[0].day).aggregate(day=Max("day"))["day"]
    after = known.filter(day__gt=days[-1].day).aggregate(day=Min("day"))["day"]
    one = dt.timedelta(days=1)
    holes = []
    if before is not None and days[0].day - before > REACH:
        holes.append((before + one, days[0].day - one))
    if after is not None and after - days[-1].day > REACH:
        holes.append((days[-1].day + one, after - one))
    report.notes += [
        f"{first} to {last} ({(last - first).days + 1} days): no day is known at {station.code}."
        for first, last in holes
    ]


def _fill(
    farm: Farm,
    station: Station,
    rows: dict[dt.date, DailyWeather],
    new: list[DailyWeather],
    changed: dict[dt.date, DailyWeather],
    report: Tally,
) -> None:
    read = {day: values for day, row in rows.items() if (values := read_values(row))}
    made, long_gaps = gaps.fill(read)
    report.notes += gaps.spans(long_gaps)
    fresh = {id(row) for row in new}
    for day, values in made.items():
        row = rows.get(day)
        if row is None:
            row = DailyWeather(farm=farm, station=station, day=day)
            new.append(row)
            fresh.add(id(row))
        elif all(
            getattr(row, name) is not None and abs(getattr(row, name) - value) <= SAME
            for name, value in values.items()
        ):
            continue
        made_before = {name: getattr(row, name) for name in row.filled_names.split()}
        _set(row, read.get(day, {}), {**made_before, **values})
        report.filled += 1
        if id(row) not in fresh:
            changed[day] = row
