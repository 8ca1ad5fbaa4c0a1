"""Small makers of weather rows for tests."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, Station
from farmops.weather.services.imports import ImportReport
from farmops.weather.services.storing_forecasts import store
from farmops.weather.sources.nws_grid import GridFile


def make_station(farm: Farm, code: str = "yard", **facts: object) -> Station:
    return Station.objects.create(farm=farm, code=code, **facts)


def make_days(
    station: Station, first: dt.date, rows: Sequence[Mapping[str, float | str | None]]
) -> list[DailyWeather]:
    plain = {"temp_min_c": 10.0, "temp_max_c": 22.0, "rain_mm": 0.0}
    return DailyWeather.objects.bulk_create(
        DailyWeather(
            farm=station.farm, station=station, day=first + dt.timedelta(days=index), **{**plain, **row}
        )
        for index, row in enumerate(rows)
    )


def make_issue(
    farm: Farm,
    issued_at: dt.datetime,
    *,
    hours: int,
    starts_at: dt.datetime | None = None,
    layers: Callable[[int], Mapping[str, float | None]],
    source: str = "test/1,1",
) -> ForecastIssue:
    """Store an issue whose hours begin with the hour after it came out; `layers` gives the values of hour n."""
    issue = ForecastIssue.objects.create(farm=farm, source=source, issued_at=issued_at, file_sha256="0" * 64)
    start = starts_at or issued_at.replace(minute=0, second=0) + dt.timedelta(hours=1)
    ForecastHour.objects.bulk_create(
        ForecastHour(farm=farm, issue=issue, hour_at=start + dt.timedelta(hours=hour), **layers(hour))
        for hour in range(hours)
    )
    return issue


def read_in_grid(farm: Farm, issued_at: dt.datetime, *, hours: int, **layers: float) -> ImportReport:
    """Read in the same issue again and again, each time with so many hours from when it came out, and with some layers."""
    told = {
        issued_at + dt.timedelta(hours=hour): {"temp_c": 20.0 + hour % 9, **layers} for hour in range(hours)
    }
    grid = GridFile("test/1,1", issued_at, None, None, told)
    report = ImportReport(format="nws-grid", file="grid.json")
    store(
        farm=farm,
        grid=grid,
        text="the same text, read by another release",
        far_station=False,
        today=None,
        report=report,
    )
    return report
