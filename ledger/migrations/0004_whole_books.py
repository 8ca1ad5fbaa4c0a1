import datetime
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("core", "__first__"),
        ("farms", "0004_working_day"),
        ("ledger", "0003_care_done_entries"),
        ("scheduling", "0013_input_lots"),
    ]

    operations = [
        migrations.CreateModel(
            name="BillItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("item_no", models.PositiveSmallIntegerField()),
                ("category", models.CharField(max_length=20)),
                ("cents", models.BigIntegerField(help_text="with its part of the sales tax")),
                (
                    "item",
                    models.SlugField(
                        blank=True, help_text="code of the input or fuel that goes into stock", max_length=40
                    ),
                ),
                ("lot", models.CharField(blank=True, max_length=40)),
                (
                    "quantity_e4",
                    models.BigIntegerField(blank=True, help_text="ten-thousandths of the unit", null=True),
                ),
                ("unit", models.CharField(blank=True, max_length=12)),
                ("says", models.CharField(blank=True, max_length=120)),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="items", to="ledger.bill"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
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
                    "season",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.season",
                    ),
                ),
            ],
            options={
                "ordering": ["bill", "item_no"],
                "constraints": [
                    models.UniqueConstraint(fields=("bill", "item_no"), name="one_bill_item_per_number"),
                    models.CheckConstraint(
                        condition=models.Q(("cents", 0), _negated=True), name="a_bill_item_asks_for_something"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("quantity_e4", None), ("unit", "")),
                            models.Q(("quantity_e4__gt", 0), models.Q(("unit", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="a_bill_item_has_quantity_and_unit",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("item", ""), ("lot", "")),
                            models.Q(models.Q(("item", ""), _negated=True), ("quantity_e4__isnull", False)),
                            _connector="OR",
                        ),
                        name="what_goes_into_stock_is_counted",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="BillPhoto",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("client_id", models.UUIDField()),
                ("stored_as", models.CharField(max_length=120, unique=True)),
                ("sha256", models.CharField(max_length=64)),
                ("size_bytes", models.PositiveIntegerField()),
                ("recorded_at", models.DateTimeField()),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="photos", to="ledger.bill"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
            ],
            options={
                "ordering": ["bill", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_bill_photo_per_client_id")
                ],
            },
        ),
        migrations.CreateModel(
            name="BudgetLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("crop_year", models.PositiveSmallIntegerField()),
                (
                    "crop",
                    models.CharField(
                        choices=[("cotton", "cotton"), ("peanuts", "peanuts"), ("corn", "corn")],
                        max_length=12,
                    ),
                ),
                ("category", models.CharField(max_length=20)),
                ("cents_per_ac", models.BigIntegerField()),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                ("entered_at", models.DateTimeField()),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="budget_lines",
                        to="farms.season",
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "crop_year", "crop", "category", "correction_no"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("season", None)),
                        fields=("farm", "crop_year", "crop", "category", "correction_no"),
                        name="one_budget_line_per_crop",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("season__isnull", False)),
                        fields=("season", "category", "correction_no"),
                        name="one_budget_line_per_season",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cents_per_ac__gte", 0)), name="budget_is_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CategoryMap",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.SlugField(max_length=40)),
                ("name", models.CharField(max_length=80)),
                (
                    "form_year",
                    models.PositiveSmallIntegerField(
                        help_text="year of the form whose line numbers these are"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "code", "form_year"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "code", "form_year"), name="one_map_per_form_year"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CategoryMapLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("category", models.CharField(max_length=20)),
                ("line", models.CharField(help_text="as the form numbers it: 11, 21b", max_length=12)),
                ("label", models.CharField(max_length=80)),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "map",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="lines",
                        to="ledger.categorymap",
                    ),
                ),
            ],
            options={
                "ordering": ["map", "line", "category"],
                "constraints": [
                    models.UniqueConstraint(fields=("map", "category"), name="one_form_line_per_category")
                ],
            },
        ),
        migrations.CreateModel(
            name="Entity",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.SlugField(max_length=40)),
                ("name", models.CharField(max_length=80)),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "entities",
                "ordering": ["farm", "code"],
                "constraints": [models.UniqueConstraint(fields=("farm", "code"), name="one_entity_per_code")],
            },
        ),
        migrations.CreateModel(
            name="FarmCategory",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.SlugField(max_length=20)),
                ("label", models.CharField(max_length=60)),
                (
                    "is_stocked",
                    models.BooleanField(default=False, help_text="bought into stock, and used from it"),
                ),
                (
                    "counts_for_1099",
                    models.BooleanField(default=False, help_text="rent, services and the like"),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "farm categories",
                "ordering": ["farm", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "code"), name="one_farm_category_per_code")
                ],
            },
        ),
        migrations.CreateModel(
            name="LandlordTerm",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("category", models.CharField(blank=True, max_length=20)),
                ("share_pct", models.DecimalField(decimal_places=3, max_digits=6)),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                ("entered_at", models.DateTimeField()),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "landlord",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="landlord_terms",
                        to="ledger.payee",
                    ),
                ),
                (
                    "season",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="landlord_terms",
                        to="farms.season",
                    ),
                ),
            ],
            options={
                "ordering": ["season", "landlord", "category", "correction_no"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("season", "landlord", "category", "correction_no"),
                        name="one_landlord_term_per_category",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("share_pct__gte", 0), ("share_pct__lte", 100)),
                        name="landlord_share_is_a_share",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MachineYear",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("calendar_year", models.PositiveSmallIntegerField()),
                (
                    "recovery_cents",
                    models.BigIntegerField(help_text="capital recovery: what it lost and interest, by EP496"),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "cost_facts",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="ledger.machinecostfacts",
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
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.implement",
                    ),
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
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "calendar_year", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("implement", None), ("machine__isnull", False)),
                            models.Q(("implement__isnull", False), ("machine", None)),
                            _connector="OR",
                        ),
                        name="machine_year_of_one_thing",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("machine__isnull", False)),
                        fields=("machine", "calendar_year"),
                        name="one_year_per_machine",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("implement__isnull", False)),
                        fields=("implement", "calendar_year"),
                        name="one_year_per_implement",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OpeningStock",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("client_id", models.UUIDField()),
                ("item", models.SlugField(help_text="code of the input, or of the fuel", max_length=40)),
                ("category", models.CharField(max_length=20)),
                ("lot", models.CharField(blank=True, max_length=40)),
                ("quantity_e4", models.BigIntegerField(help_text="ten-thousandths of the unit")),
                ("unit", models.CharField(max_length=12)),
                ("cents", models.BigIntegerField()),
                ("on", models.DateField()),
                ("entered_at", models.DateTimeField()),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="ledger.openingstock",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "opening stock",
                "ordering": ["farm", "on", "item", "lot", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "client_id"), name="one_opening_stock_per_client_id"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("supersedes", None)),
                        fields=("farm", "item", "lot"),
                        name="opening_stock_is_entered_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cents__gte", 0), ("cents__lte", 1000000000000), ("quantity_e4__gt", 0)
                        ),
                        name="opening_stock_is_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PeriodMark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("month", models.DateField(help_text="the first day of the month")),
                ("turn", models.PositiveSmallIntegerField(help_text="1, 2, 3 ... each close of the month")),
                ("is_close", models.BooleanField(help_text="otherwise the close of this turn is taken back")),
                ("why", models.CharField(blank=True, help_text="of a reopening", max_length=200)),
                ("made_at", models.DateTimeField()),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "month", "turn", "-is_close"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "month", "turn", "is_close"), name="one_mark_per_turn"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("month__day", 1), ("turn__gte", 1)),
                        name="a_month_begins_on_the_1st",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_close", True), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="a_reopening_says_why",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SeasonYield",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.DecimalField(decimal_places=3, max_digits=12)),
                ("unit", models.CharField(help_text="lb, bu, ton", max_length=12)),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                ("entered_at", models.DateTimeField()),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="yields", to="farms.season"
                    ),
                ),
            ],
            options={
                "ordering": ["season", "correction_no"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("season", "correction_no"), name="one_yield_per_correction"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 0)), name="yield_is_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ShareOut",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("client_id", models.UUIDField()),
                (
                    "shared_by",
                    models.CharField(
                        choices=[
                            ("acres", "acres"),
                            ("hours", "machine hours"),
                            ("acre_inches", "acre-inches of water"),
                            ("equal", "equal parts"),
                        ],
                        max_length=12,
                    ),
                ),
                ("crop_year", models.PositiveSmallIntegerField()),
                ("first_on", models.DateField()),
                ("last_on", models.DateField(help_text="the business date of its entry")),
                ("total_cents", models.BigIntegerField()),
                ("why", models.CharField(max_length=200)),
                ("made_at", models.DateTimeField()),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
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
                    "landlord",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="ledger.payee",
                    ),
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
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pump",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.pump",
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "last_on", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_share_out_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("last_on__gte", models.F("first_on"))), name="share_out_has_days"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("implement", None), ("machine", None), ("pump", None)),
                            models.Q(("implement", None), ("landlord", None), ("machine", None)),
                            models.Q(("landlord", None), ("machine", None), ("pump", None)),
                            models.Q(("implement", None), ("landlord", None), ("pump", None)),
                            _connector="OR",
                        ),
                        name="share_out_of_one_pool",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ShareOutPart",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("category", models.CharField(max_length=20)),
                ("weight_e4", models.BigIntegerField(help_text="ten-thousandths of the unit")),
                ("unit", models.CharField(help_text="ac, h, ac-in, part, or % of a landlord", max_length=12)),
                ("cents", models.BigIntegerField()),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "season",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="share_out_parts",
                        to="farms.season",
                    ),
                ),
                (
                    "share_out",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parts",
                        to="ledger.shareout",
                    ),
                ),
            ],
            options={
                "ordering": ["share_out", "season", "category"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("share_out", "season", "category"), name="one_part_per_season"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("weight_e4__gte", 0)), name="a_weight_is_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="YearChoice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("calendar_year", models.PositiveSmallIntegerField()),
                (
                    "stock_cost",
                    models.CharField(
                        choices=[
                            ("actual", "what that lot, else the oldest, was bought at"),
                            ("average", "the average of what is there"),
                        ],
                        default="average",
                        max_length=8,
                    ),
                ),
                (
                    "fuel_by",
                    models.CharField(
                        choices=[
                            ("average_hour", "an average hour of the machine"),
                            ("fill_ups", "what was filled up, shared over the work since"),
                        ],
                        default="average_hour",
                        max_length=12,
                    ),
                ),
                ("chosen_at", models.DateTimeField()),
                (
                    "chosen_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "calendar_year"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "calendar_year"), name="one_choice_per_year")
                ],
            },
        ),
        migrations.RemoveConstraint(
            model_name="entry",
            name="entry_has_its_source",
        ),
        migrations.RemoveConstraint(
            model_name="line",
            name="line_names_its_subject",
        ),
        migrations.RemoveConstraint(
            model_name="rate",
            name="rate_names_what_its_kind_allows",
        ),
        migrations.AddField(
            model_name="bill",
            name="crop_year",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="whose fields share it; empty: the year of the bill", null=True
            ),
        ),
        migrations.AddField(
            model_name="bill",
            name="pump",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="bills",
                to="farms.pump",
            ),
        ),
        migrations.AddField(
            model_name="bill",
            name="sales_tax_cents",
            field=models.BigIntegerField(default=0, help_text="of the cents"),
        ),
        migrations.AddField(
            model_name="bill",
            name="shared_by",
            field=models.CharField(
                blank=True,
                choices=[
                    ("acres", "acres"),
                    ("hours", "machine hours"),
                    ("acre_inches", "acre-inches of water"),
                    ("equal", "equal parts"),
                ],
                help_text="all fields of the crop year bear it at once; empty: what it names, a stock, or the farm as a whole",
                max_length=12,
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="booked_on",
            field=models.DateField(
                default=datetime.date(2000, 1, 1),
                help_text="that date, or the first day of the month that was open where its own was closed",
            ),
            preserve_default=False,
        ),
        migrations.RunSQL(
            sql="UPDATE ledger_entry SET booked_on = happened_on",
            reverse_sql="",
        ),
        migrations.AddField(
            model_name="entry",
            name="form_no",
            field=models.PositiveSmallIntegerField(
                default=1, help_text="of the canonical form that is hashed"
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="fuel_fill",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="scheduling.fuelfill",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="hour_reading",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="scheduling.hourreading",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="incident",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="scheduling.incident",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="is_imported",
            field=models.BooleanField(default=False, help_text="read from a journal of another database"),
        ),
        migrations.AddField(
            model_name="entry",
            name="made_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="line",
            name="is_imported",
            field=models.BooleanField(default=False, help_text="as its entry"),
        ),
        migrations.AddField(
            model_name="line",
            name="item",
            field=models.CharField(blank=True, help_text="code of the input or fuel", max_length=40),
        ),
        migrations.AddField(
            model_name="line",
            name="layer",
            field=models.ForeignKey(
                blank=True,
                help_text="line by which it came into stock, at actual cost",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="draws",
                to="ledger.line",
            ),
        ),
        migrations.AddField(
            model_name="line",
            name="lot",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="line",
            name="outfit",
            field=models.CharField(
                blank=True,
                default="",
                help_text="machine and implement of a season's cost, as it is hashed",
                max_length=90,
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="line",
            name="operation",
            field=models.CharField(
                blank=True, help_text="the kind of work, of a cost of work", max_length=20
            ),
        ),
        migrations.AddField(
            model_name="line",
            name="pump",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="lines",
                to="farms.pump",
            ),
        ),
        migrations.AddField(
            model_name="payee",
            name="gets_no_1099",
            field=models.BooleanField(default=False, help_text="a corporation or the like: no form 1099"),
        ),
        migrations.AddField(
            model_name="rate",
            name="valid_until",
            field=models.DateField(
                blank=True, help_text="last day; empty: until another price of the same begins", null=True
            ),
        ),
        migrations.AlterField(
            model_name="bill",
            name="category",
            field=models.CharField(
                help_text="a category of the farm; of the items where there are any", max_length=20
            ),
        ),
        migrations.AlterField(
            model_name="bill",
            name="cents",
            field=models.BigIntegerField(help_text="with sales tax"),
        ),
        migrations.AlterField(
            model_name="entry",
            name="source_kind",
            field=models.CharField(
                choices=[
                    ("work_record", "work record"),
                    ("bill", "bill"),
                    ("payment", "payment of a bill"),
                    ("care_done", "service done"),
                    ("incident", "incident"),
                    ("fuel_fill", "fill-up"),
                    ("hour_reading", "hour reading"),
                    ("opening", "opening stock"),
                    ("share_out", "share-out"),
                    ("machine_year", "year of a machine"),
                    ("period", "close of a period"),
                    ("reversal", "reversal"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="line",
            name="account",
            field=models.CharField(
                choices=[
                    ("season", "cost of a season"),
                    ("machine_pool", "pool of a machine or implement"),
                    ("irrigation", "pool of a pump"),
                    ("fuel_stock", "fuel in the tank"),
                    ("input_stock", "inputs in the shed"),
                    ("overhead", "the farm as a whole"),
                    ("wages_owed", "wages owed to hands"),
                    ("payroll_owed", "payroll taxes and insurance owed"),
                    ("owner_time", "the owner's own hours, unpaid"),
                    ("bills_owed", "bills owed"),
                    ("bank", "paid from the bank"),
                    ("landlords_owe", "landlords' share of costs"),
                    ("ownership", "owning machines, for management"),
                    ("opening", "what was there at the start"),
                ],
                max_length=14,
            ),
        ),
        migrations.AlterField(
            model_name="line",
            name="category",
            field=models.CharField(blank=True, max_length=20),
        ),
        migrations.AlterField(
            model_name="postingwait",
            name="source_kind",
            field=models.CharField(
                choices=[
                    ("work_record", "work record"),
                    ("bill", "bill"),
                    ("payment", "payment of a bill"),
                    ("care_done", "service done"),
                    ("incident", "incident"),
                    ("fuel_fill", "fill-up"),
                    ("hour_reading", "hour reading"),
                    ("opening", "opening stock"),
                    ("share_out", "share-out"),
                    ("machine_year", "year of a machine"),
                    ("period", "close of a period"),
                    ("reversal", "reversal"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="rate",
            name="category",
            field=models.CharField(
                blank=True,
                choices=[
                    ("labor", "labor"),
                    ("overtime", "overtime extra"),
                    ("payroll_burden", "payroll taxes and insurance"),
                    ("lost_time", "time lost by incidents"),
                    ("owner_time", "owner's time, unpaid"),
                    ("machine", "machine"),
                    ("implement", "implement"),
                    ("fuel", "fuel"),
                    ("lubricants", "oil and grease"),
                    ("repairs", "repairs"),
                    ("tires", "tires"),
                    ("inputs", "inputs"),
                    ("seed", "seed"),
                    ("technology_fee", "technology fee"),
                    ("fertilizer", "fertilizer and lime"),
                    ("chemicals", "chemicals"),
                    ("custom_work", "custom work"),
                    ("ginning_drying", "ginning and drying"),
                    ("scouting", "scouting"),
                    ("insurance", "insurance premium"),
                    ("land_rent", "land rent"),
                    ("irrigation_power", "irrigation power"),
                    ("interest", "interest"),
                    ("ownership", "owning machines, for management"),
                    ("other", "other"),
                ],
                help_text="of an input: seed, fertilizer, ...",
                max_length=20,
            ),
        ),
        migrations.AlterField(
            model_name="rate",
            name="kind",
            field=models.CharField(
                choices=[
                    ("wage", "wage"),
                    ("overtime_extra", "overtime extra"),
                    ("fuel", "fuel"),
                    ("machine", "machine"),
                    ("implement", "implement"),
                    ("input", "input"),
                    ("custom", "custom work"),
                    ("payroll_burden", "payroll burden"),
                ],
                max_length=16,
            ),
        ),
        migrations.AddIndex(
            model_name="line",
            index=models.Index(
                condition=models.Q(("item", ""), _negated=True),
                fields=["farm", "account", "item"],
                name="lines_by_item",
            ),
        ),
        migrations.AddConstraint(
            model_name="line",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("account", "season"),
                        models.Q(("category", ""), _negated=True),
                        models.Q(("season__isnull", False), ("is_imported", True), _connector="OR"),
                    ),
                    models.Q(
                        ("account", "machine_pool"),
                        ("pump", None),
                        ("season", None),
                        models.Q(
                            models.Q(("implement", None), ("machine", None), _negated=True),
                            ("is_imported", True),
                            _connector="OR",
                        ),
                    ),
                    models.Q(
                        ("account", "irrigation"),
                        ("implement", None),
                        ("machine", None),
                        ("season", None),
                        models.Q(("pump__isnull", False), ("is_imported", True), _connector="OR"),
                    ),
                    models.Q(
                        ("implement", None),
                        ("machine", None),
                        ("pump", None),
                        ("season", None),
                        models.Q(("account__in", ["season", "machine_pool", "irrigation"]), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="line_names_its_subject",
            ),
        ),
        migrations.AddConstraint(
            model_name="rate",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("valid_until", None), ("valid_until__gte", models.F("valid_from")), _connector="OR"
                ),
                name="rate_ends_after_it_begins",
            ),
        ),
        migrations.AddConstraint(
            model_name="rate",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("implement", None),
                        ("input_code", ""),
                        ("kind__in", ["wage", "overtime_extra", "payroll_burden"]),
                        ("machine", None),
                    ),
                    models.Q(
                        ("hand", None),
                        ("implement", None),
                        ("input_code", ""),
                        ("kind", "fuel"),
                        ("machine", None),
                    ),
                    models.Q(("hand", None), ("implement", None), ("input_code", ""), ("kind", "machine")),
                    models.Q(("hand", None), ("input_code", ""), ("kind", "implement"), ("machine", None)),
                    models.Q(
                        ("hand", None),
                        ("implement", None),
                        ("kind__in", ["input", "custom"]),
                        ("machine", None),
                        models.Q(("input_code", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="rate_names_what_its_kind_allows",
            ),
        ),
        migrations.AddField(
            model_name="bill",
            name="entity",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="bills",
                to="ledger.entity",
            ),
        ),
        migrations.AddConstraint(
            model_name="bill",
            constraint=models.CheckConstraint(
                condition=models.Q(("cents__gte", -1000000000000), ("cents__lte", 1000000000000)),
                name="a_bill_is_no_slip_of_the_keyboard",
            ),
        ),
        migrations.AddConstraint(
            model_name="bill",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("cents__gt", 0),
                        ("sales_tax_cents__gte", 0),
                        ("sales_tax_cents__lt", models.F("cents")),
                    ),
                    models.Q(
                        ("cents__lt", 0),
                        ("sales_tax_cents__gt", models.F("cents")),
                        ("sales_tax_cents__lte", 0),
                    ),
                    _connector="OR",
                ),
                name="sales_tax_is_part_of_the_bill",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="machine_year",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="ledger.machineyear",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="opening",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="ledger.openingstock",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="period_mark",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="ledger.periodmark",
            ),
        ),
        migrations.AddField(
            model_name="entry",
            name="share_out",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="ledger.shareout",
            ),
        ),
        migrations.AddIndex(
            model_name="entry",
            index=models.Index(fields=["farm", "booked_on"], name="entries_by_booking_day"),
        ),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "reversal"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", True),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "work_record"),
                        ("work_record", models.F("source_id")),
                    ),
                    models.Q(
                        ("bill", models.F("source_id")),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "bill"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", models.F("source_id")),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "payment"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", models.F("source_id")),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "care_done"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", models.F("source_id")),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "incident"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", models.F("source_id")),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "fuel_fill"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", models.F("source_id")),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "hour_reading"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", models.F("source_id")),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "opening"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", models.F("source_id")),
                        ("source_kind", "share_out"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", models.F("source_id")),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", None),
                        ("share_out", None),
                        ("source_kind", "machine_year"),
                        ("work_record", None),
                    ),
                    models.Q(
                        ("bill", None),
                        ("care_done", None),
                        ("fuel_fill", None),
                        ("hour_reading", None),
                        ("incident", None),
                        ("is_imported", False),
                        ("machine_year", None),
                        ("opening", None),
                        ("payment", None),
                        ("period_mark", models.F("source_id")),
                        ("share_out", None),
                        ("source_kind", "period"),
                        ("work_record", None),
                    ),
                    _connector="OR",
                ),
                name="entry_has_its_source",
            ),
        ),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.CheckConstraint(
                condition=models.Q(("booked_on__gte", models.F("happened_on"))),
                name="nothing_is_booked_before_it_happened",
            ),
        ),
    ]
