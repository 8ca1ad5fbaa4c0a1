import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("ledger", "0001_initial"),
        ("ledger", "0002_custom_rate"),
        ("ledger", "0003_care_done_entries"),
        ("ledger", "0004_whole_books"),
        ("ledger", "0005_corrected_years_and_priced_items"),
        ("ledger", "0006_soybeans"),
    ]

    initial = True

    dependencies = [
        ("core", "__first__"),
        ("farms", "0001_squashed_0007_soybeans"),
        ("scheduling", "0001_squashed_0015_passes_still_open"),
    ]

    operations = [
        migrations.CreateModel(
            name="BookSettings",
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
                (
                    "puncture_to",
                    models.CharField(
                        choices=[
                            ("field", "the field it happened in"),
                            ("machine_pool", "the pool of the machine"),
                        ],
                        default="field",
                        help_text="who bears a puncture",
                        max_length=14,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "book settings",
            },
        ),
        migrations.CreateModel(
            name="Payee",
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
                ("name", models.CharField(max_length=80)),
                (
                    "has_w9",
                    models.BooleanField(
                        blank=True, help_text="form W-9 on file; empty: not known", null=True
                    ),
                ),
                (
                    "gets_no_1099",
                    models.BooleanField(default=False, help_text="a corporation or the like: no form 1099"),
                ),
            ],
            options={
                "ordering": ["farm", "name"],
                "constraints": [models.UniqueConstraint(fields=("farm", "name"), name="one_payee_per_name")],
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("code", models.SlugField(max_length=40)),
                ("name", models.CharField(max_length=80)),
            ],
            options={
                "verbose_name_plural": "entities",
                "ordering": ["farm", "code"],
                "constraints": [models.UniqueConstraint(fields=("farm", "code"), name="one_entity_per_code")],
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
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
                ("category", models.CharField(max_length=20)),
                ("cents_per_ac", models.BigIntegerField()),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
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
            name="SeasonYield",
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="yields", to="farms.season"
                    ),
                ),
                ("quantity", models.DecimalField(decimal_places=3, max_digits=12)),
                ("unit", models.CharField(help_text="lb, bu, ton", max_length=12)),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
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
            name="FarmCategory",
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
            name="CategoryMap",
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
                ("name", models.CharField(max_length=80)),
                (
                    "form_year",
                    models.PositiveSmallIntegerField(
                        help_text="year of the form whose line numbers these are"
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
            name="PeriodMark",
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
                ("month", models.DateField(help_text="the first day of the month")),
                ("turn", models.PositiveSmallIntegerField(help_text="1, 2, 3 ... each close of the month")),
                ("is_close", models.BooleanField(help_text="otherwise the close of this turn is taken back")),
                ("why", models.CharField(blank=True, help_text="of a reopening", max_length=200)),
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
            name="Rate",
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
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rates",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rates",
                        to="farms.implement",
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rates",
                        to="farms.hand",
                    ),
                ),
                (
                    "input_code",
                    models.SlugField(
                        blank=True,
                        help_text="the input; of custom work the operation that is hired",
                        max_length=40,
                    ),
                ),
                (
                    "category",
                    models.CharField(
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
                (
                    "unit",
                    models.CharField(
                        help_text="h, gal, ac of custom work, or the unit of the input", max_length=12
                    ),
                ),
                ("price_e4", models.BigIntegerField(help_text="ten-thousandths of a dollar for one unit")),
                (
                    "holds_fuel",
                    models.BooleanField(
                        default=False, help_text="a machine's hour with its fuel and lubricants"
                    ),
                ),
                ("valid_from", models.DateField()),
                (
                    "valid_until",
                    models.DateField(
                        blank=True,
                        help_text="last day; empty: until another price of the same begins",
                        null=True,
                    ),
                ),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "kind", "valid_from", "correction_no"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("price_e4__gte", 0)), name="rate_is_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("valid_until", None),
                            ("valid_until__gte", models.F("valid_from")),
                            _connector="OR",
                        ),
                        name="rate_ends_after_it_begins",
                    ),
                    models.CheckConstraint(
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
                            models.Q(
                                ("hand", None), ("implement", None), ("input_code", ""), ("kind", "machine")
                            ),
                            models.Q(
                                ("hand", None), ("input_code", ""), ("kind", "implement"), ("machine", None)
                            ),
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
                    models.CheckConstraint(
                        condition=models.Q(("holds_fuel", False), ("kind", "machine"), _connector="OR"),
                        name="only_a_machine_rate_holds_fuel",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("machine__isnull", False)),
                        fields=("farm", "kind", "machine", "valid_from", "correction_no"),
                        name="one_rate_per_machine_and_date",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("implement__isnull", False)),
                        fields=("farm", "kind", "implement", "valid_from", "correction_no"),
                        name="one_rate_per_implement_and_date",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False)),
                        fields=("farm", "kind", "hand", "valid_from", "correction_no"),
                        name="one_rate_per_hand_and_date",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("hand", None), ("implement", None), ("machine", None)),
                        fields=("farm", "kind", "input_code", "valid_from", "correction_no"),
                        name="one_rate_per_input_or_all_and_date",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MachineCostFacts",
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
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cost_facts",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cost_facts",
                        to="farms.implement",
                    ),
                ),
                (
                    "cost_class",
                    models.SlugField(help_text="a key of ledger.costing.remaining_value", max_length=30),
                ),
                ("list_price_cents", models.BigIntegerField()),
                ("paid_cents", models.BigIntegerField()),
                ("bought_on", models.DateField()),
                ("bought_at_h", models.DecimalField(decimal_places=1, default=0, max_digits=8)),
                ("life_h", models.DecimalField(decimal_places=1, max_digits=8)),
                ("annual_h", models.DecimalField(decimal_places=1, max_digits=7)),
                ("interest_pct", models.DecimalField(decimal_places=2, max_digits=5)),
                ("insurance_housing_pct", models.DecimalField(decimal_places=2, max_digits=5)),
                ("repair_rf1_factor", models.DecimalField(decimal_places=4, max_digits=6)),
                ("repair_rf2_factor", models.DecimalField(decimal_places=4, max_digits=6)),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "verbose_name_plural": "machine cost facts",
                "ordering": ["farm", "bought_on", "correction_no"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("implement__isnull", True), ("machine__isnull", False)),
                            models.Q(("implement__isnull", False), ("machine__isnull", True)),
                            _connector="OR",
                        ),
                        name="cost_facts_name_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("annual_h__gt", 0),
                            ("list_price_cents__gt", 0),
                            ("paid_cents__gte", 0),
                            ("life_h__gt", models.F("bought_at_h")),
                        ),
                        name="cost_facts_make_sense",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("machine__isnull", False)),
                        fields=("machine", "bought_on", "correction_no"),
                        name="one_cost_row_per_machine_and_date",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("implement__isnull", False)),
                        fields=("implement", "bought_on", "correction_no"),
                        name="one_cost_row_per_implement_and_date",
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
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
                (
                    "chosen_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("chosen_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "calendar_year"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "calendar_year"), name="one_choice_per_year")
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
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
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
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
            name="Zero",
            fields=[
                ("v", models.BigIntegerField(primary_key=True, serialize=False)),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("v", 0)), name="zero_is_zero")],
            },
        ),
        migrations.CreateModel(
            name="PostingWait",
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
                    "source_kind",
                    models.CharField(
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
                ("source_id", models.BigIntegerField()),
                ("happened_on", models.DateField()),
                ("code", models.CharField(max_length=40)),
                ("says", models.CharField(max_length=300)),
                ("first_at", models.DateTimeField()),
                ("checked_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "happened_on", "source_kind", "source_id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("farm", "source_kind", "source_id"), name="one_wait_per_source"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Bill",
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
                    "payee",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="bills", to="ledger.payee"
                    ),
                ),
                (
                    "number",
                    models.CharField(blank=True, help_text="the supplier's invoice number", max_length=40),
                ),
                ("bill_on", models.DateField()),
                ("cents", models.BigIntegerField(help_text="with sales tax")),
                ("sales_tax_cents", models.BigIntegerField(default=0, help_text="of the cents")),
                (
                    "category",
                    models.CharField(
                        help_text="a category of the farm; of the items where there are any", max_length=20
                    ),
                ),
                (
                    "entity",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="ledger.entity",
                    ),
                ),
                (
                    "crop_year",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="whose fields share it; empty: the year of the bill", null=True
                    ),
                ),
                (
                    "shared_by",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("acres", "acres"),
                            ("hours", "machine hours"),
                            ("acre_inches", "acre-inches of water"),
                            ("equal", "equal parts"),
                            ("used", "what was used"),
                        ],
                        help_text="all fields of the crop year bear it at once; empty: what it names, a stock, or the farm as a whole",
                        max_length=12,
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="scheduling.incident",
                    ),
                ),
                (
                    "season",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="farms.season",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="farms.implement",
                    ),
                ),
                (
                    "pump",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bills",
                        to="farms.pump",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="ledger.bill",
                    ),
                ),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "bill_on", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_bill_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("cents", 0), _negated=True), name="a_bill_asks_for_something"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cents__gte", -1000000000000), ("cents__lte", 1000000000000)),
                        name="a_bill_is_no_slip_of_the_keyboard",
                    ),
                    models.CheckConstraint(
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
                ("category", models.CharField(max_length=20)),
                ("line", models.CharField(help_text="as the form numbers it: 11, 21b", max_length=12)),
                ("label", models.CharField(max_length=80)),
            ],
            options={
                "ordering": ["map", "line", "category"],
                "constraints": [
                    models.UniqueConstraint(fields=("map", "category"), name="one_form_line_per_category")
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
                    "pump",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.pump",
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
                ("item", models.CharField(blank=True, help_text="code of the input or fuel", max_length=40)),
                (
                    "stock",
                    models.CharField(
                        blank=True,
                        choices=[("fuel_stock", "fuel in the tank"), ("input_stock", "inputs in the shed")],
                        help_text="the stock in which the item is",
                        max_length=14,
                    ),
                ),
                (
                    "shared_by",
                    models.CharField(
                        choices=[
                            ("acres", "acres"),
                            ("hours", "machine hours"),
                            ("acre_inches", "acre-inches of water"),
                            ("equal", "equal parts"),
                            ("used", "what was used"),
                        ],
                        max_length=12,
                    ),
                ),
                ("crop_year", models.PositiveSmallIntegerField()),
                ("first_on", models.DateField()),
                ("last_on", models.DateField(help_text="the business date of its entry")),
                ("total_cents", models.BigIntegerField()),
                ("why", models.CharField(max_length=200)),
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
                "ordering": ["farm", "last_on", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_share_out_per_client_id"),
                    models.CheckConstraint(
                        condition=models.Q(("last_on__gte", models.F("first_on"))), name="share_out_has_days"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("implement", None),
                                ("item", ""),
                                ("machine", None),
                                ("pump", None),
                                ("stock", ""),
                            ),
                            models.Q(
                                ("implement", None),
                                ("item", ""),
                                ("landlord", None),
                                ("machine", None),
                                ("stock", ""),
                            ),
                            models.Q(
                                ("item", ""),
                                ("landlord", None),
                                ("machine", None),
                                ("pump", None),
                                ("stock", ""),
                            ),
                            models.Q(
                                ("implement", None),
                                ("item", ""),
                                ("landlord", None),
                                ("pump", None),
                                ("stock", ""),
                            ),
                            models.Q(
                                ("implement", None),
                                ("landlord", None),
                                ("machine", None),
                                ("pump", None),
                                models.Q(("item", ""), _negated=True),
                                models.Q(("stock", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="share_out_of_one_pool",
                    ),
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
                        related_name="landlord_terms",
                        to="farms.season",
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
                ("category", models.CharField(blank=True, max_length=20)),
                ("share_pct", models.DecimalField(decimal_places=3, max_digits=6)),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
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
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.implement",
                    ),
                ),
                ("calendar_year", models.PositiveSmallIntegerField()),
                ("correction_no", models.PositiveSmallIntegerField(default=0)),
                (
                    "cost_facts",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="ledger.machinecostfacts",
                    ),
                ),
                (
                    "recovery_cents",
                    models.BigIntegerField(help_text="capital recovery: what it lost and interest, by EP496"),
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
                ("made_at", models.DateTimeField()),
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
                        fields=("machine", "calendar_year", "correction_no"),
                        name="one_year_per_machine",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("implement__isnull", False)),
                        fields=("implement", "calendar_year", "correction_no"),
                        name="one_year_per_implement",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="BillItem",
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
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="items", to="ledger.bill"
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
                ("says", models.CharField(blank=True, max_length=120)),
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("client_id", models.UUIDField()),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="photos", to="ledger.bill"
                    ),
                ),
                ("stored_as", models.CharField(max_length=120, unique=True)),
                ("sha256", models.CharField(max_length=64)),
                ("size_bytes", models.PositiveIntegerField()),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["bill", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "client_id"), name="one_bill_photo_per_client_id")
                ],
            },
        ),
        migrations.CreateModel(
            name="BillPayment",
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
                    "bill",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="payment", to="ledger.bill"
                    ),
                ),
                ("paid_on", models.DateField()),
                ("check_no", models.CharField(blank=True, max_length=20)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "paid_on", "id"],
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
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
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
                (
                    "season",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="share_out_parts",
                        to="farms.season",
                    ),
                ),
                ("category", models.CharField(max_length=20)),
                ("weight_e4", models.BigIntegerField(help_text="ten-thousandths of the unit")),
                ("unit", models.CharField(help_text="ac, h, ac-in, part, or % of a landlord", max_length=12)),
                ("cents", models.BigIntegerField()),
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
            name="Entry",
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
                ("number", models.PositiveIntegerField(help_text="1, 2, 3 ... of the farm, without gaps")),
                (
                    "source_kind",
                    models.CharField(
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
                ("source_id", models.BigIntegerField()),
                (
                    "source_key",
                    models.CharField(help_text="the source's own id, as it is hashed", max_length=40),
                ),
                ("purpose", models.CharField(default="cost", max_length=12)),
                (
                    "work_record",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="scheduling.workrecord",
                    ),
                ),
                (
                    "bill",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.bill",
                    ),
                ),
                (
                    "payment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.billpayment",
                    ),
                ),
                (
                    "care_done",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="scheduling.caredone",
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="scheduling.incident",
                    ),
                ),
                (
                    "fuel_fill",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="scheduling.fuelfill",
                    ),
                ),
                (
                    "hour_reading",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="scheduling.hourreading",
                    ),
                ),
                (
                    "opening",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.openingstock",
                    ),
                ),
                (
                    "share_out",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.shareout",
                    ),
                ),
                (
                    "machine_year",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.machineyear",
                    ),
                ),
                (
                    "period_mark",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="ledger.periodmark",
                    ),
                ),
                (
                    "reverses",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reversed_by",
                        to="ledger.entry",
                    ),
                ),
                ("happened_on", models.DateField(help_text="business date of the source")),
                (
                    "booked_on",
                    models.DateField(
                        help_text="that date, or the first day of the month that was open where its own was closed"
                    ),
                ),
                ("posted_at", models.DateTimeField()),
                ("why", models.CharField(blank=True, help_text="of a reversal", max_length=200)),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "is_imported",
                    models.BooleanField(default=False, help_text="read from a journal of another database"),
                ),
                (
                    "form_no",
                    models.PositiveSmallIntegerField(
                        default=1, help_text="of the canonical form that is hashed"
                    ),
                ),
                ("line_count", models.PositiveSmallIntegerField()),
                ("hash_before", models.CharField(blank=True, max_length=64)),
                ("hash", models.CharField(max_length=64)),
            ],
            options={
                "verbose_name_plural": "entries",
                "ordering": ["farm", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("farm", "number"), name="one_entry_per_number"),
                    models.UniqueConstraint(
                        fields=("farm", "source_kind", "source_id", "purpose"), name="nothing_posts_twice"
                    ),
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("reverses", models.F("source_id")), ("source_kind", "reversal")),
                            models.Q(
                                models.Q(("source_kind", "reversal"), _negated=True), ("reverses", None)
                            ),
                            _connector="OR",
                        ),
                        name="only_a_reversal_reverses",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("booked_on__gte", models.F("happened_on"))),
                        name="nothing_is_booked_before_it_happened",
                    ),
                ],
                "indexes": [models.Index(fields=["farm", "booked_on"], name="entries_by_booking_day")],
            },
        ),
        migrations.CreateModel(
            name="EntryBalance",
            fields=[
                (
                    "entry",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="balance",
                        serialize=False,
                        to="ledger.entry",
                    ),
                ),
                (
                    "imbalance",
                    models.ForeignKey(
                        db_column="imbalance",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="ledger.zero",
                    ),
                ),
                (
                    "lines_missing",
                    models.ForeignKey(
                        db_column="lines_missing",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="ledger.zero",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Line",
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
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="ledger.entry"
                    ),
                ),
                ("line_no", models.PositiveSmallIntegerField()),
                (
                    "account",
                    models.CharField(
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
                (
                    "subject",
                    models.CharField(blank=True, help_text="whose account, as it is hashed", max_length=120),
                ),
                (
                    "season",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="farms.season",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="farms.machine",
                    ),
                ),
                (
                    "implement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="farms.implement",
                    ),
                ),
                (
                    "pump",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="farms.pump",
                    ),
                ),
                (
                    "operation",
                    models.CharField(
                        blank=True, help_text="the kind of work, of a cost of work", max_length=20
                    ),
                ),
                (
                    "outfit",
                    models.CharField(
                        blank=True,
                        help_text="machine and implement of a season's cost, as it is hashed",
                        max_length=90,
                    ),
                ),
                ("category", models.CharField(blank=True, max_length=20)),
                ("cents", models.BigIntegerField()),
                (
                    "quantity_e4",
                    models.BigIntegerField(blank=True, help_text="ten-thousandths of the unit", null=True),
                ),
                ("unit", models.CharField(blank=True, max_length=12)),
                ("price_e4", models.BigIntegerField(blank=True, null=True)),
                (
                    "rate",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="ledger.rate",
                    ),
                ),
                (
                    "cost_facts",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="ledger.machinecostfacts",
                    ),
                ),
                ("item", models.CharField(blank=True, help_text="code of the input or fuel", max_length=40)),
                ("lot", models.CharField(blank=True, max_length=40)),
                (
                    "layer",
                    models.ForeignKey(
                        blank=True,
                        help_text="line by which it came into stock, at actual cost",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="draws",
                        to="ledger.line",
                    ),
                ),
                ("is_imported", models.BooleanField(default=False, help_text="as its entry")),
                ("says", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["entry", "line_no"],
                "constraints": [
                    models.UniqueConstraint(fields=("entry", "line_no"), name="one_line_per_number"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("cents", 0), _negated=True),
                            ("cents__gte", -1000000000000),
                            ("cents__lte", 1000000000000),
                        ),
                        name="a_line_moves_money",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("line_no__gte", 1)), name="lines_count_from_one"
                    ),
                    models.CheckConstraint(
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
                                models.Q(
                                    ("account__in", ["season", "machine_pool", "irrigation"]), _negated=True
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="line_names_its_subject",
                    ),
                ],
                "indexes": [
                    models.Index(fields=["season", "category"], name="lines_by_season"),
                    models.Index(
                        condition=models.Q(("item", ""), _negated=True),
                        fields=["farm", "account", "item"],
                        name="lines_by_item",
                    ),
                ],
            },
        ),
    ]
