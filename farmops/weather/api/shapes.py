"""How weather is written as JSON. Readings are JSON numbers in the unit of their name; null is a reading that lacks."""

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Field, SoilZone
from farmops.weather.models import (
    DailyWeather,
    ForecastHour,
    ForecastIssue,
    GaugeReading,
    SoilReading,
    Station,
)


class StationShape(RowShape):
    """Where readings come from."""

    class Meta:
        model = Station
        fields = read_only_fields = ("code", "name", "latitude_deg", "longitude_deg", "elevation_m")


class DayShape(RowShape):
    """One day at one station."""

    class Meta:
        model = DailyWeather
        fields = read_only_fields = (
            "station",
            "day",
            "temp_min_c",
            "temp_max_c",
            "rain_mm",
            "solar_mj_m2",
            "wind_m_s",
            "humidity_min_pct",
            "humidity_max_pct",
            "is_filled",
            "filled_names",
        )

    station = fields.Text(source="station.code", read_only=True)


class IssueShape(RowShape):
    """One forecast as it was issued."""

    class Meta:
        model = ForecastIssue
        fields: tuple[str, ...] = ("id", "source", "issued_at", "file_sha256")
        read_only_fields = fields


class HourShape(RowShape):
    """One hour of a forecast; `wind_m_s` is at 10 m."""

    class Meta:
        model = ForecastHour
        fields = read_only_fields = (
            "hour_at",
            "temp_c",
            "dewpoint_c",
            "humidity_pct",
            "wind_m_s",
            "sky_cover_pct",
            "rain_chance_pct",
            "rain_mm",
        )


class IssueWithHoursShape(IssueShape):
    """One forecast with its hours."""

    class Meta(IssueShape.Meta):
        fields = read_only_fields = (*IssueShape.Meta.fields, "hours")

    hours = HourShape(many=True, read_only=True)


class GaugeReadingShape(RowShape):
    """Inches of rain that fell on a day of the farm's clock at a field; the newest reading of the day counts.

    What a gauge holds early in the morning fell on the day before, mostly: name that day.
    """

    class Meta:
        model = GaugeReading
        fields = ("id", "client_id", "field", "day", "rain_in", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field)


class SoilReadingShape(RowShape):
    """What a thermometer showed in the ground of a field, or of one zone of it."""

    class Meta:
        model = SoilReading
        fields = ("id", "client_id", "field", "zone", "read_at", "depth_in", "temp_f", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field)
    zone = ById(SoilZone, required=False, allow_null=True)
