"""Weather as it came in: stations, days, and forecasts by issue."""

from django.db import models

from farmops.farms.models import farm_of


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
    """One forecast as it was issued; the same issue is stored once."""

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
