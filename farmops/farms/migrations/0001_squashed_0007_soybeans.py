import datetime
import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("farms", "0001_initial"),
        ("farms", "0002_field_facts"),
        ("farms", "0003_care_and_late_planting"),
        ("farms", "0004_working_day"),
        ("farms", "0005_machine_fuel"),
        ("farms", "0006_ground_kept"),
        ("farms", "0007_soybeans"),
    ]

    initial = True

    dependencies = [
        ("core", "__first__"),
    ]

    operations = [
        migrations.CreateModel(
            name="Farm",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.SlugField(max_length=40, unique=True)),
                ("name", models.CharField(max_length=80)),
                ("zone", models.CharField(help_text="IANA name of the farm's clock", max_length=60)),
                (
                    "latitude_deg",
                    models.DecimalField(
                        decimal_places=6,
                        max_digits=9,
                        validators=[
                            django.core.validators.MinValueValidator(-90),
                            django.core.validators.MaxValueValidator(90),
                        ],
                    ),
                ),
                (
                    "longitude_deg",
                    models.DecimalField(
                        decimal_places=6,
                        max_digits=9,
                        validators=[
                            django.core.validators.MinValueValidator(-180),
                            django.core.validators.MaxValueValidator(180),
                        ],
                    ),
                ),
                ("elevation_ft", models.DecimalField(decimal_places=1, max_digits=7)),
                (
                    "region",
                    models.CharField(
                        choices=[("southeast", "southeastern practice"), ("fao", "FAO handbook")],
                        default="southeast",
                        help_text="whose crop water numbers hold where the farm sets none",
                        max_length=12,
                    ),
                ),
                ("road_address", models.CharField(blank=True, max_length=120)),
                ("boss_name", models.CharField(blank=True, max_length=60)),
                ("boss_phone", models.CharField(blank=True, max_length=30)),
                ("emergency_number", models.CharField(default="911", max_length=20)),
                (
                    "sheet_at",
                    models.TimeField(
                        default=datetime.time(5, 0),
                        help_text="when the morning sheets go out, on the farm's clock",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("latitude_deg__range", (-90, 90)), ("longitude_deg__range", (-180, 180))
                        ),
                        name="farm_is_on_the_globe",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Field",
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
                ("name", models.CharField(max_length=60)),
                (
                    "boundary",
                    models.JSONField(
                        help_text="RFC 7946 Polygon or MultiPolygon, outer ring counter-clockwise"
                    ),
                ),
                (
                    "area_ac",
                    models.DecimalField(
                        decimal_places=2, help_text="of the boundary, on the ellipsoid", max_digits=9
                    ),
                ),
                ("stated_ac", models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True)),
                ("planted_ac", models.DecimalField(decimal_places=2, max_digits=9)),
                ("latitude_deg", models.DecimalField(decimal_places=6, max_digits=9)),
                ("longitude_deg", models.DecimalField(decimal_places=6, max_digits=9)),
                ("agency_farm_no", models.CharField(blank=True, max_length=12)),
                ("agency_tract_no", models.CharField(blank=True, max_length=12)),
                ("agency_field_no", models.CharField(blank=True, max_length=12)),
                ("agency_ac", models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True)),
                ("landlord", models.CharField(blank=True, max_length=80)),
                (
                    "landlord_share_pct",
                    models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True),
                ),
                ("entrance", models.CharField(blank=True, max_length=120)),
                ("road_address", models.CharField(blank=True, max_length=120)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_field_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(("area_ac__gt", 0), ("planted_ac__gt", 0)),
                        name="field_acres_are_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Pump",
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
                ("name", models.CharField(max_length=60)),
                ("flow_gpm", models.DecimalField(decimal_places=1, max_digits=7)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_pump_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(("flow_gpm__gt", 0)), name="pump_flow_is_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="FuelTank",
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
                ("name", models.CharField(max_length=60)),
                (
                    "fuel",
                    models.CharField(
                        choices=[("diesel", "diesel"), ("gasoline", "gasoline"), ("propane", "propane")],
                        default="diesel",
                        max_length=10,
                    ),
                ),
                ("holds_gal", models.DecimalField(decimal_places=1, max_digits=8)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_fuel_tank_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(("holds_gal__gt", 0)), name="fuel_tank_holds_something"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Machine",
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
                ("name", models.CharField(max_length=60)),
                ("name_es", models.CharField(blank=True, max_length=60)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("tractor", "tractor"),
                            ("truck", "truck"),
                            ("sprayer", "sprayer"),
                            ("combine", "combine"),
                            ("picker", "picker"),
                        ],
                        default="tractor",
                        max_length=20,
                    ),
                ),
                (
                    "power_hp",
                    models.DecimalField(decimal_places=1, help_text="at the power take-off", max_digits=6),
                ),
                (
                    "fuel",
                    models.CharField(
                        choices=[("diesel", "diesel"), ("gasoline", "gasoline"), ("propane", "propane")],
                        default="diesel",
                        max_length=10,
                    ),
                ),
                ("road_speed_mph", models.DecimalField(decimal_places=1, default=15, max_digits=4)),
                (
                    "meter_start_h",
                    models.DecimalField(
                        decimal_places=1, help_text="hour meter when it was entered", max_digits=8
                    ),
                ),
                (
                    "noise_dba",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="at the driver's ear, at work",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "down_until",
                    models.DateTimeField(blank=True, help_text="broken, and back about then", null=True),
                ),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_machine_per_code")
                ],
            },
        ),
        migrations.CreateModel(
            name="Implement",
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
                ("name", models.CharField(max_length=60)),
                ("name_es", models.CharField(blank=True, max_length=60)),
                (
                    "carried_by",
                    models.CharField(
                        choices=[
                            ("tractor", "tractor"),
                            ("truck", "truck"),
                            ("sprayer", "sprayer"),
                            ("combine", "combine"),
                            ("picker", "picker"),
                        ],
                        default="tractor",
                        help_text="the kind of machine it goes with",
                        max_length=20,
                    ),
                ),
                ("width_ft", models.DecimalField(decimal_places=1, max_digits=5)),
                ("speed_min_mph", models.DecimalField(decimal_places=1, max_digits=4)),
                ("speed_mph", models.DecimalField(decimal_places=1, help_text="the usual one", max_digits=4)),
                ("speed_max_mph", models.DecimalField(decimal_places=1, max_digits=4)),
                ("efficiency_pct", models.DecimalField(decimal_places=1, max_digits=4)),
                ("power_needed_hp", models.DecimalField(decimal_places=1, max_digits=6)),
                (
                    "road_factor",
                    models.DecimalField(
                        decimal_places=2, default=1, help_text="slower on the road by", max_digits=4
                    ),
                ),
                (
                    "wide_on_road",
                    models.BooleanField(default=False, help_text="goes on the road by daylight only"),
                ),
                (
                    "draft_kind",
                    models.SlugField(
                        blank=True,
                        help_text="a key of farmops.science.work_rate.DRAFT; empty: not known",
                        max_length=30,
                    ),
                ),
                (
                    "depth_in",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="the usual working depth",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "tool_count",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="shanks, rows or beds, where the pull counts by them", null=True
                    ),
                ),
                (
                    "gang_angle_min_deg",
                    models.DecimalField(blank=True, decimal_places=1, max_digits=3, null=True),
                ),
                (
                    "gang_angle_max_deg",
                    models.DecimalField(blank=True, decimal_places=1, max_digits=3, null=True),
                ),
                (
                    "bearings_front",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="counted on the machine", null=True
                    ),
                ),
                ("bearings_back", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("down_until", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_implement_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("width_ft__gt", 0),
                            ("speed_min_mph__lte", models.F("speed_mph")),
                            ("speed_max_mph__gte", models.F("speed_mph")),
                            ("efficiency_pct__gt", 0),
                            ("efficiency_pct__lte", 100),
                        ),
                        name="implement_numbers_make_sense",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Hand",
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
                ("name", models.CharField(max_length=60)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("phone", models.CharField(blank=True, max_length=30)),
                (
                    "language",
                    models.CharField(
                        choices=[("en", "English"), ("es", "Español")], default="en", max_length=2
                    ),
                ),
                (
                    "is_owner",
                    models.BooleanField(
                        default=False, help_text="own hours are shown apart and not paid as wages"
                    ),
                ),
                ("works", models.BooleanField(default=True)),
                (
                    "started_on",
                    models.DateField(
                        blank=True,
                        help_text="first day at this work; the first days in heat are short ones",
                        null=True,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [models.UniqueConstraint(fields=("farm", "code"), name="one_hand_per_code")],
            },
        ),
        migrations.CreateModel(
            name="CropWaterFacts",
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
                    "crop",
                    models.CharField(
                        choices=[
                            ("cotton", "cotton"),
                            ("peanuts", "peanuts"),
                            ("corn", "corn"),
                            ("soybeans", "soybeans"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "root_depth_in",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="deepest roots that water is kept for",
                        max_digits=5,
                        null=True,
                    ),
                ),
                (
                    "allowed_share",
                    models.DecimalField(
                        blank=True,
                        decimal_places=3,
                        help_text="of the available water, before the crop is watered",
                        max_digits=4,
                        null=True,
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
                "verbose_name_plural": "crop water facts",
                "ordering": ["farm", "crop", "set_at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("root_depth_in__isnull", True), ("root_depth_in__gt", 0), _connector="OR"
                        ),
                        name="crop_roots_are_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("allowed_share__isnull", True),
                            models.Q(("allowed_share__gt", 0), ("allowed_share__lte", 1)),
                            _connector="OR",
                        ),
                        name="crop_allowed_share_is_a_share",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LatePlantingFacts",
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
                    "crop",
                    models.CharField(
                        choices=[
                            ("cotton", "cotton"),
                            ("peanuts", "peanuts"),
                            ("corn", "corn"),
                            ("soybeans", "soybeans"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "yield_per_ac",
                    models.DecimalField(
                        decimal_places=1, help_text="expected where planted in time", max_digits=7
                    ),
                ),
                (
                    "yield_unit",
                    models.CharField(help_text="what the yield is counted in: lb, bu", max_length=12),
                ),
                (
                    "price_usd",
                    models.DecimalField(
                        decimal_places=4, help_text="dollars for one unit of the yield", max_digits=9
                    ),
                ),
                (
                    "curve",
                    models.SlugField(
                        blank=True, help_text="a curve that ships; empty: the region's", max_length=40
                    ),
                ),
                (
                    "losses",
                    models.JSONField(
                        blank=True,
                        help_text="own curve: [{after: MM-DD, per_day, at_once}] in order",
                        null=True,
                    ),
                ),
                (
                    "is_in_pct",
                    models.BooleanField(
                        default=True, help_text="own losses are percent, not units of the yield"
                    ),
                ),
                ("source", models.CharField(blank=True, help_text="whose numbers they are", max_length=200)),
            ],
            options={
                "verbose_name": "late planting",
                "verbose_name_plural": "late planting facts",
                "ordering": ["farm", "crop"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "crop"), name="one_late_planting_per_crop"),
                    models.CheckConstraint(
                        condition=models.Q(("yield_per_ac__gt", 0), ("price_usd__gte", 0)),
                        name="late_planting_numbers_make_sense",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StartFile",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("boundaries", "boundaries"),
                            ("machines", "machines"),
                            ("implements", "implements"),
                            ("hands", "hands"),
                            ("pumps", "pumps"),
                            ("pivots", "pivots"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(blank=True, max_length=80)),
                (
                    "content",
                    models.JSONField(help_text="outlines with their attributes, or the rows as text"),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "kind"), name="one_start_file_per_kind")
                ],
            },
        ),
        migrations.CreateModel(
            name="Membership",
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
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="memberships",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[("manager", "manager"), ("bookkeeper", "bookkeeper"), ("hand", "hand")],
                        max_length=12,
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="memberships",
                        to="farms.hand",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "user", "role"), name="one_membership_per_role"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("role", "hand")),
                            models.Q(("role", "hand"), _negated=True),
                            _connector="OR",
                        ),
                        name="a_hand_member_names_the_hand",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SoilZone",
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="zones", to="farms.field"
                    ),
                ),
                ("name", models.CharField(max_length=40)),
                ("texture", models.SlugField(help_text="a key of farmops.science.textures", max_length=30)),
                ("share_pct", models.DecimalField(decimal_places=2, max_digits=5)),
                ("retention_residual_m3_m3", models.FloatField(blank=True, null=True)),
                ("retention_saturation_m3_m3", models.FloatField(blank=True, null=True)),
                ("retention_alpha_per_m", models.FloatField(blank=True, null=True)),
                ("retention_n", models.FloatField(blank=True, null=True)),
                (
                    "workable_m3_m3",
                    models.FloatField(
                        blank=True, help_text="own wet limit of the topsoil; empty: by texture", null=True
                    ),
                ),
                (
                    "dry_m3_m3",
                    models.FloatField(
                        blank=True, help_text="own dry limit of the topsoil; empty: by texture", null=True
                    ),
                ),
            ],
            options={
                "ordering": ["field", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("field", "name"), name="one_zone_per_name"),
                    models.CheckConstraint(
                        condition=models.Q(("share_pct__gt", 0), ("share_pct__lte", 100)),
                        name="zone_share_is_a_share",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("retention_alpha_per_m__isnull", True),
                                ("retention_n__isnull", True),
                                ("retention_residual_m3_m3__isnull", True),
                                ("retention_saturation_m3_m3__isnull", True),
                            ),
                            models.Q(
                                ("retention_alpha_per_m__gt", 0),
                                ("retention_n__gt", 1),
                                ("retention_residual_m3_m3__gte", 0),
                                ("retention_saturation_m3_m3__gt", models.F("retention_residual_m3_m3")),
                                ("retention_saturation_m3_m3__lt", 1),
                            ),
                            _connector="OR",
                        ),
                        name="zone_retention_is_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("dry_m3_m3__isnull", True),
                            ("workable_m3_m3__isnull", True),
                            ("dry_m3_m3__lt", models.F("workable_m3_m3")),
                            _connector="OR",
                        ),
                        name="zone_dry_is_below_workable",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Season",
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="seasons", to="farms.field"
                    ),
                ),
                ("crop_year", models.PositiveSmallIntegerField()),
                (
                    "crop",
                    models.CharField(
                        choices=[
                            ("cotton", "cotton"),
                            ("peanuts", "peanuts"),
                            ("corn", "corn"),
                            ("soybeans", "soybeans"),
                        ],
                        max_length=12,
                    ),
                ),
                ("part", models.CharField(blank=True, help_text="empty for the whole field", max_length=40)),
                ("area_ac", models.DecimalField(decimal_places=2, max_digits=9)),
                ("landlord", models.CharField(blank=True, max_length=80)),
                (
                    "landlord_share_pct",
                    models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True),
                ),
            ],
            options={
                "ordering": ["crop_year", "field", "part"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("field", "crop_year", "crop", "part"), name="one_season_per_part"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("area_ac__gt", 0)), name="season_acres_are_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PumpShutHours",
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
                    "pump",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="shut_hours",
                        to="farms.pump",
                    ),
                ),
                ("weekday", models.PositiveSmallIntegerField(help_text="0 is Monday")),
                ("starts_at", models.TimeField()),
                ("ends_at", models.TimeField()),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("weekday__lte", 6)), name="pump_shut_weekday"),
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))),
                        name="pump_shut_ends_later",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Pivot",
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
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pivot", to="farms.field"
                    ),
                ),
                (
                    "pump",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pivots", to="farms.pump"
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("last_tower_radius_ft", models.DecimalField(decimal_places=1, max_digits=7)),
                (
                    "walk_ft_per_min",
                    models.DecimalField(
                        decimal_places=2, help_text="last tower, dry, at 100 %", max_digits=5
                    ),
                ),
                ("tower_count", models.PositiveSmallIntegerField()),
                (
                    "parking_angle_deg",
                    models.DecimalField(decimal_places=1, help_text="clockwise from north", max_digits=5),
                ),
                ("strip_width_ft", models.DecimalField(decimal_places=1, default=60, max_digits=5)),
                (
                    "strip_move_deg",
                    models.DecimalField(
                        decimal_places=1,
                        default=20,
                        help_text="how far it walks to clear the strip it stood on",
                        max_digits=5,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "field"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("last_tower_radius_ft__gt", 0), ("walk_ft_per_min__gt", 0)),
                        name="pivot_walks",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ImplementOperation",
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
                    "implement",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="operations",
                        to="farms.implement",
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
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("implement", "operation"), name="one_row_per_implement_operation"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="HandSkill",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="skills", to="farms.hand"
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
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("hand", "operation"), name="one_row_per_hand_operation")
                ],
            },
        ),
        migrations.CreateModel(
            name="HandLicense",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="licenses", to="farms.hand"
                    ),
                ),
                ("number", models.CharField(max_length=40)),
                ("category", models.CharField(blank=True, max_length=60)),
                ("expires_on", models.DateField()),
            ],
            options={
                "ordering": ["hand", "expires_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("hand", "number"), name="one_license_per_number")
                ],
            },
        ),
        migrations.CreateModel(
            name="Shift",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="shifts", to="farms.hand"
                    ),
                ),
                ("weekday", models.PositiveSmallIntegerField(help_text="0 is Monday")),
                ("starts_at", models.TimeField()),
                ("ends_at", models.TimeField()),
                ("is_overtime", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ["hand", "weekday", "starts_at"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("weekday__lte", 6)), name="shift_weekday"),
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))), name="shift_ends_later"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HandAway",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="away", to="farms.hand"
                    ),
                ),
                ("first_on", models.DateField()),
                ("last_on", models.DateField()),
                ("why", models.CharField(blank=True, max_length=80)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("last_on__gte", models.F("first_on"))), name="away_ends_later"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SignInLink",
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
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sign_in_links",
                        to="farms.hand",
                    ),
                ),
                ("secret_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "revoked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("last_used_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["hand", "made_at"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("made_at"))),
                        name="sign_in_link_expires_later",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CareRule",
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
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="care_rules",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="care_rules",
                        to="farms.implement",
                    ),
                ),
                (
                    "pivot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="care_rules",
                        to="farms.pivot",
                    ),
                ),
                (
                    "what",
                    models.CharField(
                        help_text="as a hand reads it: change engine oil and filter", max_length=80
                    ),
                ),
                ("what_es", models.CharField(blank=True, max_length=80)),
                (
                    "every_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="hours run between two services",
                        max_digits=7,
                        null=True,
                    ),
                ),
                ("every_days", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("every_ac", models.DecimalField(blank=True, decimal_places=1, max_digits=8, null=True)),
                (
                    "every_starts",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        help_text="outings: days on which it went out, or turns of a pivot",
                        null=True,
                    ),
                ),
                ("takes_min", models.PositiveSmallIntegerField(help_text="minutes of the hand who does it")),
                (
                    "place",
                    models.CharField(
                        choices=[("yard", "at the yard"), ("field", "where it stands")],
                        default="yard",
                        max_length=8,
                    ),
                ),
                ("is_must", models.BooleanField(default=False, help_text="it may not run past the limit")),
                ("is_used", models.BooleanField(default=True)),
                (
                    "counts_from_h",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="meter at the last service before",
                        max_digits=8,
                        null=True,
                    ),
                ),
                (
                    "counts_from_on",
                    models.DateField(blank=True, help_text="day of the last service before", null=True),
                ),
                ("source", models.CharField(help_text="the maker's manual, farm judgement", max_length=200)),
            ],
            options={
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_care_rule_per_code"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("implement__isnull", True),
                                ("machine__isnull", False),
                                ("pivot__isnull", True),
                            ),
                            models.Q(
                                ("implement__isnull", False),
                                ("machine__isnull", True),
                                ("pivot__isnull", True),
                            ),
                            models.Q(
                                ("implement__isnull", True),
                                ("machine__isnull", True),
                                ("pivot__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="care_rule_names_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("takes_min__gt", 0),
                            ("takes_min__lte", 1440),
                            models.Q(("every_h__isnull", True), ("every_h__gt", 0), _connector="OR"),
                            models.Q(("every_days__isnull", True), ("every_days__gt", 0), _connector="OR"),
                            models.Q(("every_ac__isnull", True), ("every_ac__gt", 0), _connector="OR"),
                            models.Q(
                                ("every_starts__isnull", True), ("every_starts__gt", 0), _connector="OR"
                            ),
                        ),
                        name="care_rule_numbers_make_sense",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("every_h__isnull", False),
                            ("every_days__isnull", False),
                            ("every_ac__isnull", False),
                            ("every_starts__isnull", False),
                            _connector="OR",
                        ),
                        name="care_rule_says_how_often",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CareRuleHand",
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
                    "rule",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hands", to="farms.carerule"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.hand"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("rule", "hand"), name="one_row_per_care_rule_hand")
                ],
            },
        ),
    ]
