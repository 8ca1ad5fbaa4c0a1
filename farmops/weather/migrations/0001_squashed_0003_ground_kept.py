import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("weather", "0001_initial"),
        ("weather", "0002_field_readings"),
        ("weather", "0003_ground_kept"),
    ]

    initial = True

    dependencies = [
        ("core", "__first__"),
        ("farms", "0001_squashed_0007_soybeans"),
    ]

    operations = [
        migrations.CreateModel(
            name="Station",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("code", models.CharField(max_length=40)),
                ("name", models.CharField(blank=True, max_length=80)),
                ("latitude_deg", models.DecimalField(blank=True, decimal_places=6, max_digits=9, null=True)),
                ("longitude_deg", models.DecimalField(blank=True, decimal_places=6, max_digits=9, null=True)),
                ("elevation_m", models.DecimalField(blank=True, decimal_places=1, max_digits=7, null=True)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_station_per_code")
                ],
            },
        ),
        migrations.CreateModel(
            name="ForecastIssue",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("source", models.CharField(max_length=40)),
                ("issued_at", models.DateTimeField()),
                ("file_sha256", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["farm", "issued_at"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "source", "issued_at"), name="one_row_per_issue")
                ],
            },
        ),
        migrations.CreateModel(
            name="GaugeReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("client_id", models.UUIDField()),
                (
                    "field",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="gauge_readings",
                        to="farms.field",
                    ),
                ),
                ("day", models.DateField()),
                ("rain_in", models.DecimalField(decimal_places=2, max_digits=5)),
                (
                    "read_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["field", "day", "recorded_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_gauge_reading_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rain_in__gte", 0), ("rain_in__lt", 20)),
                        name="gauge_rain_is_possible",
                    ),
                ],
                "indexes": [models.Index(fields=["farm", "day"], name="gauge_reading_by_day")],
            },
        ),
        migrations.CreateModel(
            name="SoilReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("client_id", models.UUIDField()),
                (
                    "field",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="soil_readings",
                        to="farms.field",
                    ),
                ),
                (
                    "zone",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="soil_readings",
                        to="farms.soilzone",
                    ),
                ),
                ("read_at", models.DateTimeField()),
                ("depth_in", models.DecimalField(decimal_places=1, max_digits=3)),
                ("temp_f", models.DecimalField(decimal_places=1, max_digits=4)),
                (
                    "recorded_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["read_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_soil_reading_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("depth_in__gt", 0), ("depth_in__lte", 12)),
                        name="soil_depth_is_possible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("temp_f__gte", 0), ("temp_f__lt", 130)),
                        name="soil_temp_is_possible",
                    ),
                ],
                "indexes": [models.Index(fields=["farm", "read_at"], name="soil_reading_by_instant")],
            },
        ),
        migrations.CreateModel(
            name="GroundKept",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("day", models.DateField()),
                ("as_of", models.DateField(help_text="the last day whose weather counted")),
                (
                    "mark",
                    models.CharField(
                        blank=True,
                        help_text="of all that is recorded; empty: never worked out",
                        max_length=64,
                    ),
                ),
                (
                    "wide_mark",
                    models.CharField(
                        blank=True,
                        help_text="of what counts for every field: weather, limits, how it is worked out",
                        max_length=64,
                    ),
                ),
                ("air", models.JSONField(default=dict, help_text="the hours of the day as the air has them")),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "day", "as_of"), name="one_kept_ground_per_day")
                ],
            },
        ),
        migrations.CreateModel(
            name="DailyWeather",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "station",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="days", to="weather.station"
                    ),
                ),
                ("day", models.DateField()),
                ("temp_min_c", models.FloatField(null=True)),
                ("temp_max_c", models.FloatField(null=True)),
                ("rain_mm", models.FloatField(null=True)),
                ("solar_mj_m2", models.FloatField(null=True)),
                ("wind_m_s", models.FloatField(help_text="mean, at 2 m", null=True)),
                ("humidity_min_pct", models.FloatField(null=True)),
                ("humidity_max_pct", models.FloatField(null=True)),
                ("is_filled", models.BooleanField(default=False)),
                ("filled_names", models.CharField(blank=True, max_length=120)),
            ],
            options={
                "ordering": ["station", "day"],
                "constraints": [
                    models.UniqueConstraint(fields=("station", "day"), name="one_row_per_station_and_day"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("temp_min_c__isnull", True),
                            ("temp_max_c__isnull", True),
                            ("temp_max_c__gte", models.F("temp_min_c")),
                            _connector="OR",
                        ),
                        name="day_max_is_not_below_min",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rain_mm__isnull", True), ("rain_mm__gte", 0), _connector="OR"),
                        name="rain_is_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("is_filled", True), ("filled_names", ""), _connector="XOR"),
                        name="filled_day_says_what",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ForecastHour",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "issue",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hours",
                        to="weather.forecastissue",
                    ),
                ),
                ("hour_at", models.DateTimeField(help_text="start of the hour, UTC")),
                ("temp_c", models.FloatField(null=True)),
                ("dewpoint_c", models.FloatField(null=True)),
                ("humidity_pct", models.FloatField(null=True)),
                ("wind_m_s", models.FloatField(help_text="at 10 m", null=True)),
                ("sky_cover_pct", models.FloatField(null=True)),
                ("rain_chance_pct", models.FloatField(null=True)),
                ("rain_mm", models.FloatField(null=True)),
            ],
            options={
                "ordering": ["issue", "hour_at"],
                "constraints": [
                    models.UniqueConstraint(fields=("issue", "hour_at"), name="one_row_per_issue_and_hour")
                ],
            },
        ),
        migrations.CreateModel(
            name="FieldGroundKept",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "kept",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="fields",
                        to="weather.groundkept",
                    ),
                ),
                (
                    "field",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="farms.field"
                    ),
                ),
                ("mark", models.CharField(max_length=64)),
                (
                    "is_fit",
                    models.BooleanField(
                        help_text="work can be done at some hour; empty: none waits", null=True
                    ),
                ),
                (
                    "told",
                    models.JSONField(
                        help_text="ground of the zones, their hours, and the windows of the first pass"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("kept", "field"), name="one_kept_ground_per_field")
                ],
            },
        ),
    ]
