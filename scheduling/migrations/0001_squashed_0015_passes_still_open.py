import django.db.models.deletion
import farmops.farms.operations
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("scheduling", "0001_initial"),
        ("scheduling", "0002_field_facts"),
        ("scheduling", "0003_say_so_client_id"),
        ("scheduling", "0004_zone_limit_changes"),
        ("scheduling", "0005_pass_reentry"),
        ("scheduling", "0006_plan_against"),
        ("scheduling", "0007_care"),
        ("scheduling", "0008_working_day"),
        ("scheduling", "0009_reading_set_aside"),
        ("scheduling", "0010_report_clock"),
        ("scheduling", "0011_parked_changes"),
        ("scheduling", "0012_incident_by_mistake"),
        ("scheduling", "0013_input_lots"),
        ("scheduling", "0014_orders_of_work"),
        ("scheduling", "0015_passes_still_open"),
    ]

    initial = True

    dependencies = [
        ("core", "__first__"),
        ("farms", "0001_squashed_0007_soybeans"),
    ]

    operations = [
        migrations.CreateModel(
            name="FieldPass",
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
                    "season",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="passes", to="farms.season"
                    ),
                ),
                (
                    "operation",
                    models.CharField(
                        choices=[
                            ("pivot_start", "start pivot and look"),
                            ("pivot_walk", "pivot walks"),
                            ("pivot_stop", "stop pivot and look"),
                            ("disk", "disk"),
                            ("rip_bed", "rip and bed"),
                            ("plant", "plant"),
                            ("burndown", "burn down weeds and cover"),
                            ("spray", "spray"),
                            ("strip_till", "strip-till"),
                            ("sidedress", "sidedress"),
                            ("spread", "spread lime or fertilizer"),
                            ("irrigate", "irrigate"),
                            ("defoliate", "defoliate"),
                            ("dig", "dig peanuts"),
                            ("combine", "combine"),
                            ("pick", "pick cotton"),
                            ("shred", "shred stalks"),
                            ("cover", "sow a cover crop"),
                            ("debris_walk", "walk the field for debris"),
                        ],
                        max_length=20,
                    ),
                ),
                ("turn", models.PositiveSmallIntegerField(default=1, help_text="second disking is turn 2")),
                ("part", models.CharField(blank=True, max_length=20)),
                ("area_ac", models.DecimalField(decimal_places=2, max_digits=9)),
                ("done_ac", models.DecimalField(decimal_places=2, default=0, max_digits=9)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "waiting"),
                            ("planned", "planned"),
                            ("sent", "sent"),
                            ("under_way", "under way"),
                            ("finished", "finished"),
                            ("called_off", "called off"),
                        ],
                        default="waiting",
                        max_length=10,
                    ),
                ),
                ("earliest_on", models.DateField(blank=True, null=True)),
                (
                    "due_on",
                    models.DateField(blank=True, help_text="late from the end of this day on", null=True),
                ),
                ("late_cents_per_day", models.PositiveIntegerField(default=0)),
                (
                    "leave_cents",
                    models.PositiveIntegerField(
                        blank=True, help_text="empty: must be done this week", null=True
                    ),
                ),
                (
                    "pivot_degrees",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="how far a pivot move walks",
                        max_digits=5,
                        null=True,
                    ),
                ),
                (
                    "depth_in",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        help_text="water of an irrigation turn",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "custom_ac_per_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        help_text="somebody hired does it at this pace, without an outfit of the farm",
                        max_digits=6,
                        null=True,
                    ),
                ),
                (
                    "reentry_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="hours for which the label of what is to be sprayed keeps everybody out",
                        max_digits=5,
                        null=True,
                    ),
                ),
                (
                    "fixed_from",
                    models.DateTimeField(blank=True, help_text="the manager holds to this start", null=True),
                ),
                ("fixed_outfit", models.CharField(blank=True, max_length=120)),
                ("called_off_why", models.CharField(blank=True, max_length=200)),
                ("called_off_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "verbose_name_plural": "field passes",
                "ordering": ["season", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("season", "operation", "turn", "part"), name="one_pass_per_turn"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("area_ac__gte", 0), ("done_ac__gte", 0)),
                        name="pass_acres_are_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("depth_in__isnull", True), ("depth_in__gt", 0), _connector="OR"),
                            models.Q(
                                ("custom_ac_per_h__isnull", True), ("custom_ac_per_h__gt", 0), _connector="OR"
                            ),
                        ),
                        name="pass_depth_and_pace_are_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("reentry_h__isnull", True), ("reentry_h__gte", 0), _connector="OR"
                        ),
                        name="pass_reentry_is_not_negative",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("state__in", ["waiting", "planned", "sent", "under_way"])),
                        fields=["farm"],
                        name="passes_still_open",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SaySo",
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
                    "field",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="say_sos", to="farms.field"
                    ),
                ),
                (
                    "zone",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="say_sos",
                        to="farms.soilzone",
                    ),
                ),
                ("day", models.DateField()),
                (
                    "word",
                    models.CharField(
                        choices=[("fit", "fit"), ("after", "after an hour"), ("not_today", "not today")],
                        max_length=10,
                    ),
                ),
                ("after_at", models.TimeField(blank=True, null=True)),
                (
                    "said_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("said_at", models.DateTimeField()),
                (
                    "client_id",
                    models.UUIDField(blank=True, help_text="made by the form that it was said in", null=True),
                ),
            ],
            options={
                "ordering": ["field", "day", "said_at"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_say_so_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("after_at__isnull", False), ("word", "after")),
                            models.Q(models.Q(("word", "after"), _negated=True), ("after_at__isnull", True)),
                            _connector="OR",
                        ),
                        name="after_names_the_hour",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="WeekPlan",
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
                ("number", models.PositiveIntegerField()),
                (
                    "state",
                    models.CharField(
                        choices=[("made", "made"), ("sent", "sent"), ("replaced", "replaced")],
                        default="made",
                        max_length=10,
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("days", models.PositiveSmallIntegerField()),
                ("made_at", models.DateTimeField()),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("problem", models.JSONField()),
                ("problem_hash", models.CharField(max_length=64)),
                ("plan", models.JSONField()),
                (
                    "not_offered",
                    models.JSONField(
                        default=list,
                        help_text="[pass key, why] of each open pass that the problem could not hold",
                    ),
                ),
                (
                    "windows",
                    models.JSONField(help_text="open and shut hours behind the problem, with reasons"),
                ),
                ("status", models.CharField(max_length=10)),
                ("cost_cents", models.BigIntegerField(null=True)),
                ("bound_cents", models.BigIntegerField(null=True)),
                (
                    "against",
                    models.ForeignKey(
                        help_text="the sent plan that it was to keep to, if it was",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.weekplan",
                    ),
                ),
                ("seed", models.PositiveIntegerField()),
                ("limits", models.JSONField(help_text="seconds, rounds, workers that the search was given")),
            ],
            options={
                "ordering": ["farm", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "number"), name="one_plan_per_number"),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "sent")), fields=("farm",), name="one_sent_plan"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HourReading",
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
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hour_readings",
                        to="farms.machine",
                    ),
                ),
                ("reading_h", models.DecimalField(decimal_places=1, max_digits=8)),
                ("read_at", models.DateTimeField()),
                (
                    "read_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["machine", "read_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_hour_reading_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("reading_h__gte", 0)), name="reading_is_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Incident",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("puncture", "puncture"),
                            ("breakage", "breakage"),
                            ("stuck", "stuck"),
                            ("near_miss", "near miss"),
                        ],
                        max_length=12,
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                (
                    "field",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="incidents",
                        to="farms.field",
                    ),
                ),
                (
                    "season",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="incidents",
                        to="farms.season",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="incidents",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="incidents",
                        to="farms.implement",
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                ("wheel", models.CharField(blank=True, max_length=40)),
                (
                    "met",
                    models.CharField(blank=True, help_text="what it met: bone, antler, wire", max_length=80),
                ),
                ("lost_min", models.PositiveIntegerField(default=0)),
                ("note", models.TextField(blank=True)),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "happened_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_incident_per_client_id")
                ],
            },
        ),
        migrations.CreateModel(
            name="CareDone",
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
                    "rule",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="done", to="farms.carerule"
                    ),
                ),
                ("done_at", models.DateTimeField()),
                (
                    "meter_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="hour meter then; empty: worked out",
                        max_digits=8,
                        null=True,
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                ("hand_min", models.PositiveIntegerField(default=0, help_text="minutes of the hand")),
                (
                    "parts",
                    models.CharField(blank=True, help_text="parts and fluids that went in", max_length=200),
                ),
                (
                    "parts_cents",
                    models.PositiveIntegerField(
                        blank=True, help_text="what they cost, where no bill will say it", null=True
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.caredone",
                    ),
                ),
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
                "verbose_name_plural": "care done",
                "ordering": ["farm", "done_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_care_done_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("meter_h__isnull", True), ("meter_h__gte", 0), _connector="OR"),
                        name="care_meter_is_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="care_taken_back_was_done",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CheckTicked",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="checks_ticked",
                        to="farms.hand",
                    ),
                ),
                ("work_on", models.DateField()),
                (
                    "check_key",
                    models.CharField(help_text="which check: of a rule, or of the work", max_length=80),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.implement",
                    ),
                ),
                (
                    "is_fine",
                    models.BooleanField(
                        default=True, help_text="looked at and fine; otherwise the note says what"
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
                ("ticked_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "verbose_name_plural": "checks ticked",
                "ordering": ["farm", "work_on", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_check_ticked_per_client_id"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="DebrisNumbers",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("found_share_pct", models.DecimalField(decimal_places=1, default=60, max_digits=4)),
                ("swath_ft", models.DecimalField(decimal_places=1, default=30, max_digits=5)),
                ("walk_mph", models.DecimalField(decimal_places=1, default=Decimal("2.5"), max_digits=3)),
                (
                    "wage_cents_per_h",
                    models.PositiveIntegerField(blank=True, help_text="empty: from the rates", null=True),
                ),
                (
                    "puncture_cents",
                    models.PositiveIntegerField(blank=True, help_text="empty: from the bills", null=True),
                ),
                (
                    "lost_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="for one puncture; empty: from the reports",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "lost_cents_per_h",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="outfit standing, and late work; empty: from the rates",
                        null=True,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "debris numbers",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("found_share_pct__gte", 0),
                            ("found_share_pct__lte", 100),
                            ("swath_ft__gt", 0),
                            ("walk_mph__gt", 0),
                        ),
                        name="debris_numbers_make_sense",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Watering",
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
                        related_name="waterings",
                        to="farms.field",
                    ),
                ),
                ("water_on", models.DateField(help_text="day on the farm's clock")),
                ("depth_in", models.DecimalField(decimal_places=2, max_digits=4)),
                ("note", models.TextField(blank=True)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.watering",
                    ),
                ),
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
                "ordering": ["farm", "water_on", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_watering_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("depth_in__gt", 0)), name="watering_is_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="watering_taken_back_was_kept",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Spraying",
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
                        related_name="sprayings",
                        to="farms.field",
                    ),
                ),
                ("ended_at", models.DateTimeField(help_text="when the last of the field was sprayed")),
                (
                    "operation",
                    models.CharField(
                        choices=[
                            ("pivot_start", "start pivot and look"),
                            ("pivot_walk", "pivot walks"),
                            ("pivot_stop", "stop pivot and look"),
                            ("disk", "disk"),
                            ("rip_bed", "rip and bed"),
                            ("plant", "plant"),
                            ("burndown", "burn down weeds and cover"),
                            ("spray", "spray"),
                            ("strip_till", "strip-till"),
                            ("sidedress", "sidedress"),
                            ("spread", "spread lime or fertilizer"),
                            ("irrigate", "irrigate"),
                            ("defoliate", "defoliate"),
                            ("dig", "dig peanuts"),
                            ("combine", "combine"),
                            ("pick", "pick cotton"),
                            ("shred", "shred stalks"),
                            ("cover", "sow a cover crop"),
                            ("debris_walk", "walk the field for debris"),
                        ],
                        default=farmops.farms.operations.Operation["SPRAY"],
                        max_length=20,
                    ),
                ),
                ("products", models.CharField(help_text="as the labels name them", max_length=300)),
                (
                    "reentry_h",
                    models.DecimalField(
                        decimal_places=1,
                        help_text="longest restricted-entry interval of the labels",
                        max_digits=5,
                    ),
                ),
                (
                    "plant_back_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        help_text="until the next crop may be planted, by the labels; empty: none stated",
                        null=True,
                    ),
                ),
                (
                    "sprayed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                ("wind_mph", models.DecimalField(blank=True, decimal_places=1, max_digits=4, null=True)),
                ("note", models.TextField(blank=True)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.spraying",
                    ),
                ),
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
                "ordering": ["farm", "ended_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_spraying_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("reentry_h__gte", 0)), name="reentry_is_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="spraying_taken_back_was_kept",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PivotPlace",
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
                    "pivot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="places", to="farms.pivot"
                    ),
                ),
                ("seen_at", models.DateTimeField()),
                ("is_running", models.BooleanField()),
                (
                    "angle_deg",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="clockwise from north",
                        max_digits=4,
                        null=True,
                    ),
                ),
                ("note", models.TextField(blank=True)),
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
                "ordering": ["pivot", "seen_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_pivot_place_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("angle_deg__isnull", True),
                            models.Q(("angle_deg__gte", 0), ("angle_deg__lt", 360)),
                            _connector="OR",
                        ),
                        name="pivot_place_is_on_the_circle",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LimitChoice",
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
                    "field",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="limit_choices",
                        to="farms.field",
                    ),
                ),
                ("key", models.CharField(max_length=80)),
                ("number", models.FloatField(blank=True, help_text="in the unit of the limit", null=True)),
                ("is_used", models.BooleanField(blank=True, null=True)),
                ("effect", models.CharField(blank=True, max_length=12)),
                (
                    "source",
                    models.CharField(
                        help_text="whose number it is: a label, a paper, farm judgement", max_length=200
                    ),
                ),
                (
                    "set_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("set_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "key", "field", "set_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="FuelFill",
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
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fuel_fills",
                        to="farms.machine",
                    ),
                ),
                (
                    "tank",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fills",
                        to="farms.fueltank",
                    ),
                ),
                (
                    "fuel",
                    models.CharField(
                        choices=[("diesel", "diesel"), ("gasoline", "gasoline"), ("propane", "propane")],
                        default="diesel",
                        max_length=10,
                    ),
                ),
                ("filled_at", models.DateTimeField()),
                ("gallons", models.DecimalField(decimal_places=1, max_digits=7)),
                ("meter_h", models.DecimalField(blank=True, decimal_places=1, max_digits=8, null=True)),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.fuelfill",
                    ),
                ),
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
                "ordering": ["farm", "filled_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_fuel_fill_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("gallons__gt", 0)), name="fuel_fill_is_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="fuel_fill_taken_back_was_kept",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="FuelDelivery",
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
                    "tank",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="deliveries",
                        to="farms.fueltank",
                    ),
                ),
                ("delivered_at", models.DateTimeField()),
                ("gallons", models.DecimalField(decimal_places=1, max_digits=8)),
                ("ticket_no", models.CharField(blank=True, max_length=40)),
                ("note", models.CharField(blank=True, max_length=200)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.fueldelivery",
                    ),
                ),
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
                "verbose_name_plural": "fuel deliveries",
                "ordering": ["tank", "delivered_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_fuel_delivery_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("gallons__gt", 0)), name="fuel_delivery_is_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="fuel_delivery_taken_back_was_kept",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TankReading",
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
                    "tank",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="farms.fueltank",
                    ),
                ),
                ("read_at", models.DateTimeField()),
                ("gallons", models.DecimalField(decimal_places=1, max_digits=8)),
                ("note", models.CharField(blank=True, max_length=200)),
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
                "ordering": ["tank", "read_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_tank_reading_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("gallons__gte", 0)), name="tank_reading_is_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderOfWork",
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
                ("code", models.SlugField(max_length=40)),
                ("newest_no", models.PositiveIntegerField(default=1)),
                (
                    "is_put_away",
                    models.BooleanField(default=False, help_text="no longer offered; its versions stay"),
                ),
            ],
            options={
                "verbose_name_plural": "orders of work",
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_order_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(("newest_no__gte", 1)), name="order_has_a_version"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="FieldReport",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="field_reports",
                        to="farms.hand",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("work", "work on a pass"),
                            ("day", "start and stop of the day"),
                            ("care", "a service"),
                            ("check", "a check before going out"),
                            ("fuel", "a fill-up"),
                            ("incident", "an incident"),
                            ("spray", "a spraying"),
                            ("meter", "an hour meter"),
                        ],
                        max_length=10,
                    ),
                ),
                ("body", models.JSONField()),
                ("body_hash", models.CharField(max_length=64)),
                (
                    "made_at",
                    models.DateTimeField(
                        blank=True, help_text="by the sender's clock: evidence, not truth", null=True
                    ),
                ),
                (
                    "made_offset_min",
                    models.SmallIntegerField(
                        blank=True, help_text="of the sender's clock from UTC", null=True
                    ),
                ),
                (
                    "sent_at",
                    models.DateTimeField(
                        blank=True, help_text="what the sender's clock showed as it was sent", null=True
                    ),
                ),
                (
                    "written_at",
                    models.DateTimeField(
                        blank=True,
                        help_text="when it was made, by our clock, worked out from those two",
                        null=True,
                    ),
                ),
                ("received_at", models.DateTimeField()),
                (
                    "sent_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "received_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_field_report_per_client_id"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkDay",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="work_days", to="farms.hand"
                    ),
                ),
                ("work_on", models.DateField()),
                ("starts_at", models.DateTimeField(blank=True, null=True)),
                ("ends_at", models.DateTimeField(blank=True, null=True)),
                ("break_min", models.PositiveIntegerField(default=0)),
                ("offered_min", models.PositiveIntegerField(blank=True, null=True)),
                ("worked_min", models.PositiveIntegerField()),
                ("why_fewer", models.CharField(blank=True, max_length=200)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.workday",
                    ),
                ),
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
                "ordering": ["farm", "work_on", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_work_day_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("worked_min__lte", 1440)), name="work_day_fits_a_day"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MeterReplaced",
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
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="meters_replaced",
                        to="farms.machine",
                    ),
                ),
                ("replaced_at", models.DateTimeField()),
                ("old_reading_h", models.DecimalField(decimal_places=1, max_digits=8)),
                ("new_reading_h", models.DecimalField(decimal_places=1, default=0, max_digits=8)),
                ("note", models.CharField(blank=True, max_length=200)),
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
                "verbose_name_plural": "meters replaced",
                "ordering": ["machine", "replaced_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_meter_replaced_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("old_reading_h__gte", 0), ("new_reading_h__gte", 0)),
                        name="replaced_meter_is_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ZoneLimitChange",
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
                    "zone",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="limit_changes",
                        to="farms.soilzone",
                    ),
                ),
                ("workable_before_m3_m3", models.FloatField()),
                ("workable_m3_m3", models.FloatField()),
                ("dry_before_m3_m3", models.FloatField()),
                ("dry_m3_m3", models.FloatField()),
                (
                    "remark_count",
                    models.PositiveIntegerField(help_text="how many words on the zone it rests on"),
                ),
                (
                    "set_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "set_by_name",
                    models.CharField(
                        help_text="as the command was told, or the account it ran in", max_length=80
                    ),
                ),
                ("set_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "set_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="PassLink",
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
                    "before",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="links_after",
                        to="scheduling.fieldpass",
                    ),
                ),
                (
                    "after",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="links_before",
                        to="scheduling.fieldpass",
                    ),
                ),
                ("min_gap_min", models.PositiveIntegerField(default=0)),
                ("max_gap_min", models.PositiveIntegerField(blank=True, null=True)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("before", "after"), name="one_link_per_pair"),
                    models.CheckConstraint(
                        condition=models.Q(("before", models.F("after")), _negated=True),
                        name="no_link_to_itself",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlannedTask",
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
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tasks",
                        to="scheduling.weekplan",
                    ),
                ),
                ("task_key", models.CharField(max_length=120)),
                (
                    "field_pass",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="planned_tasks",
                        to="scheduling.fieldpass",
                    ),
                ),
                (
                    "field",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.field"
                    ),
                ),
                (
                    "operation",
                    models.CharField(
                        choices=[
                            ("pivot_start", "start pivot and look"),
                            ("pivot_walk", "pivot walks"),
                            ("pivot_stop", "stop pivot and look"),
                            ("disk", "disk"),
                            ("rip_bed", "rip and bed"),
                            ("plant", "plant"),
                            ("burndown", "burn down weeds and cover"),
                            ("spray", "spray"),
                            ("strip_till", "strip-till"),
                            ("sidedress", "sidedress"),
                            ("spread", "spread lime or fertilizer"),
                            ("irrigate", "irrigate"),
                            ("defoliate", "defoliate"),
                            ("dig", "dig peanuts"),
                            ("combine", "combine"),
                            ("pick", "pick cotton"),
                            ("shred", "shred stalks"),
                            ("cover", "sow a cover crop"),
                            ("debris_walk", "walk the field for debris"),
                        ],
                        max_length=20,
                    ),
                ),
                ("part_no", models.PositiveSmallIntegerField(default=1)),
                ("part_count", models.PositiveSmallIntegerField(default=1)),
                ("area_ac", models.DecimalField(decimal_places=2, max_digits=9)),
                ("mode", models.CharField(max_length=160)),
                (
                    "machine",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.implement",
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="planned_tasks",
                        to="farms.hand",
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("work_min", models.PositiveIntegerField()),
            ],
            options={
                "ordering": ["plan", "starts_at", "task_key"],
                "constraints": [
                    models.UniqueConstraint(fields=("plan", "task_key"), name="one_row_per_plan_and_task"),
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))), name="task_ends_later"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkRecord",
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
                    "field_pass",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_records",
                        to="scheduling.fieldpass",
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_records",
                        to="farms.hand",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_records",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_records",
                        to="farms.implement",
                    ),
                ),
                ("work_on", models.DateField(help_text="business date on the farm's clock")),
                ("starts_at", models.DateTimeField(blank=True, null=True)),
                ("hand_min", models.PositiveIntegerField(help_text="minutes of the hand")),
                ("machine_min", models.PositiveIntegerField(default=0, help_text="minutes of the engine")),
                ("done_ac", models.DecimalField(decimal_places=2, default=0, max_digits=9)),
                (
                    "overtime_min",
                    models.PositiveIntegerField(default=0, help_text="of hand_min, minutes in overtime"),
                ),
                ("is_finished", models.BooleanField(default=False)),
                ("not_done_why", models.CharField(blank=True, max_length=200)),
                ("note", models.TextField(blank=True)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.workrecord",
                    ),
                ),
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
                "ordering": ["farm", "work_on", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_work_record_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("hand_min__lte", 1440)), name="work_fits_a_day"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("overtime_min__lte", models.F("hand_min"))),
                        name="overtime_is_part_of_the_work",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReadingSetAside",
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
                    "reading",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="set_aside",
                        to="scheduling.hourreading",
                    ),
                ),
                ("why", models.CharField(max_length=200)),
                (
                    "set_aside_by",
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
                "verbose_name_plural": "readings set aside",
                "ordering": ["farm", "recorded_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="PlannedCare",
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
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="care_stops",
                        to="scheduling.weekplan",
                    ),
                ),
                ("task_key", models.CharField(max_length=120)),
                (
                    "rule",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="planned",
                        to="farms.carerule",
                    ),
                ),
                ("mode", models.CharField(max_length=160)),
                (
                    "place",
                    models.CharField(
                        help_text="the yard, or the code of the field where it stands", max_length=60
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.implement",
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="planned_care",
                        to="farms.hand",
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("work_min", models.PositiveIntegerField()),
            ],
            options={
                "verbose_name_plural": "planned care",
                "ordering": ["plan", "starts_at", "task_key"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("plan", "task_key"), name="one_care_stop_per_plan_and_task"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))),
                        name="care_stop_ends_later",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="IncidentPlace",
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
                    "incident",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="places",
                        to="scheduling.incident",
                    ),
                ),
                ("latitude_deg", models.DecimalField(decimal_places=6, max_digits=9)),
                ("longitude_deg", models.DecimalField(decimal_places=6, max_digits=9)),
                (
                    "placed_by",
                    models.CharField(
                        choices=[
                            ("phone", "by the phone"),
                            ("tapped", "tapped on the field"),
                            ("typed", "typed"),
                        ],
                        max_length=6,
                    ),
                ),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["incident", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_incident_place_per_client_id"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("latitude_deg__range", (-90, 90)), ("longitude_deg__range", (-180, 180))
                        ),
                        name="incident_place_is_on_the_globe",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="IncidentMended",
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
                    "incident",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mendings",
                        to="scheduling.incident",
                    ),
                ),
                (
                    "mending",
                    models.CharField(
                        choices=[
                            ("none", "nothing yet"),
                            ("repair", "repaired"),
                            ("new_tire", "new tire"),
                            ("mistake", "entered by mistake"),
                        ],
                        max_length=8,
                    ),
                ),
                ("lost_min", models.PositiveIntegerField(default=0)),
                ("note", models.CharField(blank=True, max_length=200)),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "verbose_name_plural": "incidents mended",
                "ordering": ["incident", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_incident_mended_per_client_id"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderVersion",
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
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="versions",
                        to="scheduling.orderofwork",
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=80)),
                ("crop", models.CharField(max_length=12)),
                ("tillage", models.CharField(max_length=12)),
                ("plant_from", models.CharField(help_text="MM-DD", max_length=5)),
                ("plant_to", models.CharField(help_text="MM-DD", max_length=5)),
                ("steps", models.JSONField()),
                ("source", models.CharField(blank=True, max_length=300)),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["order", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("order", "number"), name="one_version_per_number")
                ],
            },
        ),
        migrations.CreateModel(
            name="ParkedReport",
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
                    "report",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parked",
                        to="scheduling.fieldreport",
                    ),
                ),
                ("code", models.CharField(help_text="code of the rule that it did not fit", max_length=60)),
                ("why", models.TextField(help_text="for the manager")),
                ("why_for_hand", models.TextField(help_text="in the hand's language")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "waits for the manager"),
                            ("taken", "taken over"),
                            ("set_aside", "set aside, with a reason"),
                        ],
                        default="waiting",
                        max_length=10,
                    ),
                ),
                ("settled_at", models.DateTimeField(blank=True, null=True)),
                (
                    "settled_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("settled_note", models.CharField(blank=True, max_length=300)),
                (
                    "changes",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text="by name, what the manager put in the place of what was sent",
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "report"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("settled_at__isnull", True), ("state", "waiting")),
                            models.Q(
                                models.Q(("state", "waiting"), _negated=True), ("settled_at__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="parked_report_says_when_settled",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SprayDetail",
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
                    "spraying",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="detail",
                        to="scheduling.spraying",
                    ),
                ),
                ("started_at", models.DateTimeField()),
                ("treated_ac", models.DecimalField(decimal_places=2, max_digits=9)),
                ("crop", models.CharField(max_length=40)),
                ("wind_from", models.CharField(blank=True, help_text="N, NE, …", max_length=3)),
                ("temp_f", models.DecimalField(blank=True, decimal_places=1, max_digits=4, null=True)),
                ("applicator_name", models.CharField(max_length=60)),
                ("license_no", models.CharField(blank=True, max_length=40)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("treated_ac__gt", 0)), name="spray_detail_acres_are_positive"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SprayProduct",
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
                    "spraying",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="product_rows",
                        to="scheduling.spraying",
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                (
                    "registration_no",
                    models.CharField(
                        blank=True, help_text="of the federal register, as on the label", max_length=30
                    ),
                ),
                (
                    "rate",
                    models.DecimalField(decimal_places=3, help_text="of product to the acre", max_digits=9),
                ),
                ("total", models.DecimalField(decimal_places=3, max_digits=11)),
                ("unit", models.CharField(max_length=12)),
                (
                    "is_restricted",
                    models.BooleanField(default=False, help_text="restricted-use by its label"),
                ),
            ],
            options={
                "ordering": ["spraying", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("spraying", "name"), name="one_row_per_spray_product"),
                    models.CheckConstraint(
                        condition=models.Q(("rate__gt", 0), ("total__gt", 0)),
                        name="spray_product_is_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="InputUse",
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
                    "work_record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inputs",
                        to="scheduling.workrecord",
                    ),
                ),
                ("input_code", models.SlugField(max_length=40)),
                ("quantity", models.DecimalField(decimal_places=3, max_digits=12)),
                ("unit", models.CharField(max_length=12)),
                ("lot", models.CharField(blank=True, help_text="as the bag or jug says", max_length=40)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("work_record", "input_code", "lot"), name="one_row_per_input_and_lot"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)), name="input_quantity_is_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Remark",
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="remarks", to="farms.field"
                    ),
                ),
                (
                    "zone",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="remarks",
                        to="farms.soilzone",
                    ),
                ),
                ("said_at", models.DateTimeField()),
                (
                    "what",
                    models.CharField(
                        choices=[("too_wet", "too wet"), ("too_dry", "too dry"), ("fits", "fits")],
                        max_length=8,
                    ),
                ),
                (
                    "operation",
                    models.CharField(
                        choices=[
                            ("pivot_start", "start pivot and look"),
                            ("pivot_walk", "pivot walks"),
                            ("pivot_stop", "stop pivot and look"),
                            ("disk", "disk"),
                            ("rip_bed", "rip and bed"),
                            ("plant", "plant"),
                            ("burndown", "burn down weeds and cover"),
                            ("spray", "spray"),
                            ("strip_till", "strip-till"),
                            ("sidedress", "sidedress"),
                            ("spread", "spread lime or fertilizer"),
                            ("irrigate", "irrigate"),
                            ("defoliate", "defoliate"),
                            ("dig", "dig peanuts"),
                            ("combine", "combine"),
                            ("pick", "pick cotton"),
                            ("shred", "shred stalks"),
                            ("cover", "sow a cover crop"),
                            ("debris_walk", "walk the field for debris"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "work_record",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="remarks",
                        to="scheduling.workrecord",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("is_taken_back", models.BooleanField(default=False)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="scheduling.remark",
                    ),
                ),
                (
                    "said_by",
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
                "ordering": ["farm", "said_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_remark_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_taken_back", False), ("supersedes__isnull", False), _connector="OR"
                        ),
                        name="remark_taken_back_was_said",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderLaying",
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
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="layings",
                        to="scheduling.orderversion",
                    ),
                ),
                ("client_id", models.UUIDField(help_text="made by the form or sender that asked for it")),
                (
                    "laid_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("laid_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "laid_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_laying_per_client_id")
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkStop",
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
                    "work_record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stops",
                        to="scheduling.workrecord",
                    ),
                ),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("plugged", "plugged"),
                            ("wet", "too wet"),
                            ("broken", "broken"),
                            ("debris", "debris"),
                            ("other", "something else"),
                        ],
                        max_length=8,
                    ),
                ),
                ("lost_min", models.PositiveIntegerField(default=0)),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["work_record", "id"],
            },
        ),
        migrations.CreateModel(
            name="WorkLook",
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
                    "work_record",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="look",
                        to="scheduling.workrecord",
                    ),
                ),
                (
                    "ridges",
                    models.CharField(
                        blank=True,
                        choices=[("none", "none"), ("some", "some"), ("many", "many")],
                        max_length=4,
                    ),
                ),
                (
                    "mounds",
                    models.CharField(
                        blank=True,
                        choices=[("none", "none"), ("some", "some"), ("many", "many")],
                        max_length=4,
                    ),
                ),
                (
                    "clods",
                    models.CharField(
                        blank=True,
                        choices=[("none", "none"), ("some", "some"), ("many", "many")],
                        max_length=4,
                    ),
                ),
                (
                    "cut",
                    models.CharField(
                        blank=True,
                        choices=[("shallow", "too shallow"), ("right", "right"), ("deep", "too deep")],
                        max_length=8,
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="WorkSetting",
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
                    "work_record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="settings_used",
                        to="scheduling.workrecord",
                    ),
                ),
                (
                    "key",
                    models.CharField(help_text="speed_mph, depth_in, gang_angle_deg, level", max_length=20),
                ),
                ("number", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("word", models.CharField(blank=True, max_length=20)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("work_record", "key"), name="one_row_per_work_setting")
                ],
            },
        ),
        migrations.CreateModel(
            name="ReportPhoto",
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
                    "report",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="scheduling.fieldreport",
                    ),
                ),
                (
                    "work_record",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="scheduling.workrecord",
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="scheduling.incident",
                    ),
                ),
                ("stored_as", models.CharField(max_length=120, unique=True)),
                ("sha256", models.CharField(max_length=64)),
                ("width_px", models.PositiveIntegerField()),
                ("height_px", models.PositiveIntegerField()),
                ("size_bytes", models.PositiveIntegerField()),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_photo_per_client_id")
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderLaidField",
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
                    "laying",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fields",
                        to="scheduling.orderlaying",
                    ),
                ),
                (
                    "season",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.season"
                    ),
                ),
                ("plant_from_on", models.DateField()),
                ("plant_to_on", models.DateField()),
                ("passes", models.JSONField()),
                ("links", models.JSONField()),
            ],
            options={
                "ordering": ["laying", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("laying", "season"), name="one_row_per_laying_and_season")
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderTakenBack",
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
                    "laying",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="scheduling.orderlaying",
                    ),
                ),
                (
                    "taken_back_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("taken_back_at", models.DateTimeField()),
            ],
            options={
                "abstract": False,
            },
        ),
    ]
