"""Writing a forecast issue once."""

import datetime as dt
import hashlib
from typing import Protocol

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from farmops.weather.models import ForecastHour, ForecastIssue
from farmops.weather.services.station_places import say_distance
from farmops.weather.services.storing_days import SAME
from farmops.weather.sources.nws_grid import LAYERS, GridFile
from farmops.weather.sources.rows import BadRow, UnreadableFile

NAMES = tuple(layer.name for layer in LAYERS.values())
BATCH = 500


class Tally(Protocol):
    """The part of a report that is written here."""

    source: str
    first: dt.date | None
    last: dt.date | None
    issued_at: dt.datetime | None
    new: int
    completed: int
    same: int
    new_rain_mm: float
    refused: list[BadRow]
    notes: list[str]


def store(
    *,
    farm: Farm,
    grid: GridFile,
    text: str,
    far_station: bool,
    today: dt.date | None,
    report: Tally,
) -> None:
    """Write the hours of an issue; the same issue again adds what it lacked, and with other values is refused.

    With `today` given, an issue that is older than a day or has not come yet is noted. A grid cell too far from the
    farm is refused unless `far_station` says that it is meant.
    """
    report.source, report.issued_at = grid.source, grid.issued_at
    report.notes += grid.notes
    report.refused += grid.bad
    if grid.hours:
        report.first, report.last = min(grid.hours).date(), max(grid.hours).date()
    if not any("temp_c" in hour for hour in grid.hours.values()):
        report.refused.append(BadRow(0, "/properties/temperature", "gives no temperature in any hour"))
        return
    if grid.latitude_deg is not None and grid.longitude_deg is not None:
        say_distance(
            farm=farm,
            what=f"The grid cell {grid.source} lies",
            latitude_deg=grid.latitude_deg,
            longitude_deg=grid.longitude_deg,
            far_station=far_station,
            notes=report.notes,
        )
    _say_age(farm, grid, today, report)
    digest = hashlib.sha256(text.encode()).hexdigest()
    issue, is_new = ForecastIssue.objects.get_or_create(
        farm=farm, source=grid.source, issued_at=grid.issued_at, defaults={"file_sha256": digest}
    )
    if not is_new:
        _complete(farm, issue, grid, digest, report)
        return
    ForecastHour.objects.bulk_create(
        (ForecastHour(farm=farm, issue=issue, hour_at=hour, **values) for hour, values in grid.hours.items()),
        batch_size=BATCH,
    )
    report.new = len(grid.hours)
    report.new_rain_mm = sum(values.get("rain_mm", 0.0) for values in grid.hours.values())


def _say_age(farm: Farm, grid: GridFile, today: dt.date | None, report: Tally) -> None:
    issued_on = local_date(grid.issued_at, farm.zone)
    if today is not None and (today - issued_on).days > 1:
        report.notes.append(
            f"This forecast was issued on {issued_on}, more than a day before today ({today}): fetch a newer one."
        )
    if today is not None and issued_on > today:
        report.notes.append(
            f"This forecast was issued on {issued_on}, which has not come yet (today is {today})."
        )
    newest = (
        ForecastIssue.objects.filter(farm=farm, issued_at__gt=grid.issued_at).order_by("issued_at").last()
    )
    if newest is not None:
        report.notes.append(
            f"A newer forecast is here already ({newest.issued_at:%Y-%m-%d %H:%M} UTC); "
            f"this one ({grid.issued_at:%Y-%m-%d %H:%M} UTC) is kept, but does not speak for days from then on."
        )


def _complete(farm: Farm, issue: ForecastIssue, grid: GridFile, digest: str, report: Tally) -> None:
    """Compare an issue with what is stored of it, and add values that were left out when it was stored in part.

    Whatever is added changes the issue too, so that who asks whether its hours are others reads the issues alone.
    """
    stored = {row.hour_at.astimezone(dt.UTC): row for row in issue.hours.all()}
    new, changed = [], []
    for hour in sorted(stored.keys() | grid.hours.keys()):
        row, values = stored.get(hour), grid.hours.get(hour, {})
        if row is None:
            new.append(ForecastHour(farm=farm, issue=issue, hour_at=hour, **values))
            continue
        gained = {name: values[name] for name in NAMES if name in values and getattr(row, name) is None}
        for name in NAMES:
            old, now = getattr(row, name), values.get(name)
            if old is not None and (now is None or abs(old - now) > SAME):
                raise UnreadableFile(
                    f"is the forecast of {grid.source} issued {issue.issued_at:%Y-%m-%dT%H:%MZ}, which is here "
                    f"already, with other values: {name} of {hour:%Y-%m-%dT%H:%MZ} is {now}, known is {old}"
                )
        for name, value in gained.items():
            setattr(row, name, value)
        if gained:
            changed.append(row)
    ForecastHour.objects.bulk_create(new, batch_size=BATCH)
    ForecastHour.objects.bulk_update(changed, NAMES, batch_size=BATCH)
    if new or changed:
        of_both = hashlib.sha256(f"{issue.file_sha256}{digest}".encode()).hexdigest()
        ForecastIssue.objects.filter(pk=issue.pk).update(file_sha256=of_both)
    report.new, report.completed = len(new), len(changed)
    report.same = len(stored) - len(changed)
