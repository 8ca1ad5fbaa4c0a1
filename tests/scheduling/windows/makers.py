"""Weather rows for tests of the selectors."""

import datetime as dt

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, Station


def make_days(
    farm: Farm,
    *,
    first: dt.date,
    last: dt.date,
    mean_c: float = 20.0,
    rain_mm: dict[dt.date, float] | None = None,
) -> Station:
    """Steady days of `mean_c` ± 6 °C at one station, with rain on the days told."""
    station, _ = Station.objects.get_or_create(farm=farm, code="gauge-1")
    days = [first + dt.timedelta(days=index) for index in range((last - first).days + 1)]
    DailyWeather.objects.bulk_create(
        DailyWeather(
            farm=farm,
            station=station,
            day=day,
            temp_min_c=mean_c - 6,
            temp_max_c=mean_c + 6,
            rain_mm=(rain_mm or {}).get(day, 0.0),
        )
        for day in days
    )
    return station


def make_forecast(
    farm: Farm,
    *,
    issued_at: dt.datetime,
    first_hour: dt.datetime,
    hours: int,
    mean_c: float = 20.0,
    rain: dict[dt.datetime, tuple[float, float]] | None = None,
) -> ForecastIssue:
    """A forecast of steady air (a low and a high every day); `rain` gives an hour's chance in % and amount in mm."""
    issue = ForecastIssue.objects.create(farm=farm, source="test", issued_at=issued_at, file_sha256="0" * 64)
    rows = []
    for index in range(hours):
        hour_at = first_hour.astimezone(dt.UTC) + dt.timedelta(hours=index)
        chance, amount = (rain or {}).get(hour_at, (0.0, 0.0))
        rows.append(
            ForecastHour(
                farm=farm,
                issue=issue,
                hour_at=hour_at,
                temp_c=mean_c + (6 if index % 24 == 15 else -6 if index % 24 == 5 else 0),
                rain_chance_pct=chance,
                rain_mm=amount,
            )
        )
    ForecastHour.objects.bulk_create(rows)
    return issue
