"""Weather as it came in: stations, days, forecasts by issue, and what was read at a field."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Field, SoilZone, farm_of


class Station(models.Model):
    """Where readings come from: a weather station or a gauge."""

    farm = farm_of()
    code = models.CharField(max_length=40)
    name = models.CharField(max_length=80, blank=True)
    latitude_deg = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    longitude_deg = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    elevation_m = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ["farm", "code"]
        constraints = [models.UniqueConstraint(fields=["farm", "code"], name="one_station_per_code")]

    def __str__(self) -> str:
        return self.name or self.code


class DailyWeather(models.Model):
    """One day at one station; an absent reading is null, never zero.

    `filled_names` holds, parted by spaces, the quantities that were made from neighboring days; `is_filled`
    says that there are some.
    """

    farm = farm_of()
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="days")
    day = models.DateField()
    temp_min_c = models.FloatField(null=True)
    temp_max_c = models.FloatField(null=True)
    rain_mm = models.FloatField(null=True)
    solar_mj_m2 = models.FloatField(null=True)
    wind_m_s = models.FloatField(null=True, help_text="mean, at 2 m")
    humidity_min_pct = models.FloatField(null=True)
    humidity_max_pct = models.FloatField(null=True)
    is_filled = models.BooleanField(default=False)
    filled_names = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["station", "day"]
        constraints = [
            models.UniqueConstraint(fields=["station", "day"], name="one_row_per_station_and_day"),
            models.CheckConstraint(
                condition=models.Q(temp_min_c__isnull=True)
                | models.Q(temp_max_c__isnull=True)
                | models.Q(temp_max_c__gte=models.F("temp_min_c")),
                name="day_max_is_not_below_min",
            ),
            models.CheckConstraint(
                condition=models.Q(rain_mm__isnull=True) | models.Q(rain_mm__gte=0),
                name="rain_is_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(is_filled=True) ^ models.Q(filled_names=""), name="filled_day_says_what"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station} {self.day}"


class ForecastIssue(models.Model):
    """One forecast as it was issued; the same issue is stored once.

    `file_sha256` is that of its file; where others gave hours or values of it later, of its digest and theirs in a row, so
    that it is another whenever the hours are.
    """

    farm = farm_of()
    source = models.CharField(max_length=40)
    issued_at = models.DateTimeField()
    file_sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["farm", "issued_at"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "source", "issued_at"], name="one_row_per_issue")
        ]

    def __str__(self) -> str:
        return f"{self.source} {self.issued_at:%Y-%m-%d %H:%M} UTC"


class ForecastHour(models.Model):
    """One hour of an issue; a layer that the issue lacks is null."""

    farm = farm_of()
    issue = models.ForeignKey(ForecastIssue, on_delete=models.PROTECT, related_name="hours")
    hour_at = models.DateTimeField(help_text="start of the hour, UTC")
    temp_c = models.FloatField(null=True)
    dewpoint_c = models.FloatField(null=True)
    humidity_pct = models.FloatField(null=True)
    wind_m_s = models.FloatField(null=True, help_text="at 10 m")
    sky_cover_pct = models.FloatField(null=True)
    rain_chance_pct = models.FloatField(null=True)
    rain_mm = models.FloatField(null=True)

    class Meta:
        ordering = ["issue", "hour_at"]
        constraints = [
            models.UniqueConstraint(fields=["issue", "hour_at"], name="one_row_per_issue_and_hour")
        ]

    def __str__(self) -> str:
        return f"{self.issue}: {self.hour_at:%Y-%m-%d %H:%M} UTC"


STANDING = models.Q(is_taken_back=False, superseded_by__isnull=True)
"""The readings at fields that count: neither taken back nor the row that takes one back."""


class GaugeReading(AppendOnlyModel):
    """Rain that fell on `day` at a field, read from the gauge there; the newest of a field and day counts.

    One that was taken back counts no more: the row that takes it back says so and supersedes it.
    """

    farm = farm_of()
    client_id = models.UUIDField()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="gauge_readings")
    day = models.DateField()
    rain_in = models.DecimalField(max_digits=5, decimal_places=2)
    read_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()
    is_taken_back = models.BooleanField(default=False)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )

    class Meta:
        ordering = ["field", "day", "recorded_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_gauge_reading_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(rain_in__gte=0) & models.Q(rain_in__lt=20), name="gauge_rain_is_possible"
            ),
        ]
        indexes = [models.Index(fields=["farm", "day"], name="gauge_reading_by_day")]

    def __str__(self) -> str:
        return f"{self.field} {self.day}: {self.rain_in} in"


class SoilReading(AppendOnlyModel):
    """What a thermometer showed in the ground of a field, or of one zone of it; taken back as a gauge reading is."""

    farm = farm_of()
    client_id = models.UUIDField()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="soil_readings")
    zone = models.ForeignKey(
        SoilZone, on_delete=models.PROTECT, null=True, blank=True, related_name="soil_readings"
    )
    read_at = models.DateTimeField()
    depth_in = models.DecimalField(max_digits=3, decimal_places=1)
    temp_f = models.DecimalField(max_digits=4, decimal_places=1)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()
    is_taken_back = models.BooleanField(default=False)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )

    class Meta:
        ordering = ["read_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_soil_reading_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(depth_in__gt=0) & models.Q(depth_in__lte=12), name="soil_depth_is_possible"
            ),
            models.CheckConstraint(
                condition=models.Q(temp_f__gte=0) & models.Q(temp_f__lt=130), name="soil_temp_is_possible"
            ),
        ]
        indexes = [models.Index(fields=["farm", "read_at"], name="soil_reading_by_instant")]

    def __str__(self) -> str:
        return f"{self.field}: {self.temp_f} °F at {self.depth_in} in"


class GroundKept(models.Model):
    """What was worked out of a farm's ground for one day, and the mark of all that it was worked out from.

    Nothing is told from a row whose mark is not that of what is recorded now: it is worked out anew first.
    """

    farm = farm_of()
    day = models.DateField()
    as_of = models.DateField(help_text="the last day whose weather counted")
    mark = models.CharField(
        max_length=64, blank=True, help_text="of all that is recorded; empty: never worked out"
    )
    wide_mark = models.CharField(
        max_length=64,
        blank=True,
        help_text="of what counts for every field: weather, limits, how it is worked out",
    )
    air = models.JSONField(default=dict, help_text="the hours of the day as the air has them")
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "day", "as_of"], name="one_kept_ground_per_day")
        ]

    def __str__(self) -> str:
        return f"{self.farm} {self.day}"


class FieldGroundKept(models.Model):
    """One field's part of `GroundKept`, with a mark of its own, so that what is recorded of it renews no other."""

    farm = farm_of()
    kept = models.ForeignKey(GroundKept, on_delete=models.CASCADE, related_name="fields")
    field = models.ForeignKey(Field, on_delete=models.CASCADE, related_name="+")
    mark = models.CharField(max_length=64)
    is_fit = models.BooleanField(null=True, help_text="work can be done at some hour; empty: none waits")
    told = models.JSONField(help_text="ground of the zones, their hours, and the windows of the first pass")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kept", "field"], name="one_kept_ground_per_field")]

    def __str__(self) -> str:
        return f"{self.field} {self.kept.day}"
