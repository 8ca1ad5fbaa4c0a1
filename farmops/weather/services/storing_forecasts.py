"""Writing a forecast issue once."""

import datetime as dt
import hashlib
from typing import Protocol

from farmops.farms.models import Farm
from farmops.weather.models import ForecastHour, ForecastIssue
from farmops.weather.services.storing_days import FAR_KM, SAME, distance_km
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
    same: int
    new_rain_mm: float
    refused: list[BadRow]
    notes: list[str]


def store(*, farm: Farm, grid: GridFile, text: str, report: Tally) -> None:
    """Write the hours of an issue; an issue of the same source and instant with other values is refused."""
    report.source, report.issued_at = grid.source, grid.issued_at
    report.notes += grid.notes
    report.refused += grid.bad
    if grid.hours:
        report.first, report.last = min(grid.hours).date(), max(grid.hours).date()
    if not any("temp_c" in hour for hour in grid.hours.values()):
        report.refused.append(BadRow(0, "/properties/temperature", "gives no temperature in any hour"))
        return
    _say_what_is_odd(farm, grid, report)
    issue, is_new = ForecastIssue.objects.get_or_create(
        farm=farm,
        source=grid.source,
        issued_at=grid.issued_at,
        defaults={"file_sha256": hashlib.sha256(text.encode()).hexdigest()},
    )
    if not is_new:
        _compare(issue, grid)
        report.same = len(grid.hours)
        return
    ForecastHour.objects.bulk_create(
        (ForecastHour(farm=farm, issue=issue, hour_at=hour, **values) for hour, values in grid.hours.items()),
        batch_size=BATCH,
    )
    report.new = len(grid.hours)
    report.new_rain_mm = sum(values.get("rain_mm", 0.0) for values in grid.hours.values())


def _say_what_is_odd(farm: Farm, grid: GridFile, report: Tally) -> None:
    if grid.latitude_deg is not None and grid.longitude_deg is not None:
        km = distance_km(farm, grid.latitude_deg, grid.longitude_deg)
        if km > FAR_KM:
            report.notes.append(f"The grid cell {grid.source} lies {km:.0f} km from {farm.name}.")
    newest = (
        ForecastIssue.objects.filter(farm=farm, issued_at__gt=grid.issued_at).order_by("issued_at").last()
    )
    if newest is not None:
        report.notes.append(
            f"A newer forecast is here already ({newest.issued_at:%Y-%m-%d %H:%M} UTC); "
            f"this one ({grid.issued_at:%Y-%m-%d %H:%M} UTC) is kept, but does not speak for days from then on."
        )


def _compare(issue: ForecastIssue, grid: GridFile) -> None:
    stored = {
        hour_at.astimezone(dt.UTC): dict(zip(NAMES, numbers))
        for hour_at, *numbers in issue.hours.values_list("hour_at", *NAMES)
    }
    for hour in sorted(stored.keys() | grid.hours.keys()):
        before, now = stored.get(hour, {}), grid.hours.get(hour, {})
        for name in NAMES:
            old, new = before.get(name), now.get(name)
            if old == new or (old is not None and new is not None and abs(old - new) <= SAME):
                continue
            raise UnreadableFile(
                f"is the forecast of {grid.source} issued {issue.issued_at:%Y-%m-%dT%H:%MZ}, which is here already, "
                f"with other values: {name} of {hour:%Y-%m-%dT%H:%MZ} is {new}, known is {old}"
            )
