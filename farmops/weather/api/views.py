"""Addresses of weather, to read."""

from farmops.core.api.queries import DayFilter, FilterSet, TextFilter
from farmops.farms.api.access import FarmItem, FarmList
from farmops.weather.api import shapes
from farmops.weather.models import DailyWeather, ForecastIssue, Station


class StationList(FarmList):
    """Stations of a farm."""

    queryset = Station.objects.all()
    shows = shapes.StationShape
    order = ("code",)


class DayFilterSet(FilterSet):
    """Days of a station, from a date to a date."""

    station = TextFilter(field_name="station__code")
    first = DayFilter(field_name="day", lookup_expr="gte")
    last = DayFilter(field_name="day", lookup_expr="lte")


class DayList(FarmList):
    """Days as they were read; what was made from neighboring days says so."""

    queryset = DailyWeather.objects.select_related("station")
    shows = shapes.DayShape
    filterset_class = DayFilterSet
    order = ("day", "id")


class ForecastList(FarmList):
    """Forecasts by issue, the newest first."""

    queryset = ForecastIssue.objects.all()
    shows = shapes.IssueShape
    order = ("-issued_at", "id")


class ForecastItem(FarmItem):
    """One forecast with its hours."""

    queryset = ForecastIssue.objects.prefetch_related("hours")
    shows = shapes.IssueWithHoursShape
