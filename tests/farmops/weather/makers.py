"""Small makers of weather rows for tests."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, Station


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
