"""What things cost from a date on. Rows are written once: a slip is put right by a correction with the same date."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Hand, Implement, Machine, farm_of
from ledger.models.words import Category


class RateKind(models.TextChoices):
    WAGE = "wage", "wage"
    OVERTIME_EXTRA = "overtime_extra", "overtime extra"
    FUEL = "fuel", "fuel"
    MACHINE = "machine", "machine"
    IMPLEMENT = "implement", "implement"
    INPUT = "input", "input"
    CUSTOM = "custom", "custom work"
    PAYROLL_BURDEN = "payroll_burden", "payroll burden"


class Rate(AppendOnlyModel):
    """A price of one unit from a date on, for one machine, implement, hand or input, or for all where none is named.

    A row that names its subject outranks a row for all. `price_e4` is in ten-thousandths of a dollar. The row with
    the highest `correction_no` of a date counts; lines that were posted keep the row they used.
    """

    farm = farm_of()
    kind = models.CharField(max_length=16, choices=RateKind.choices)
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="rates"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="rates"
    )
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="rates")
    input_code = models.SlugField(
        max_length=40, blank=True, help_text="the input; of custom work the operation that is hired"
    )
    category = models.CharField(
        max_length=20, choices=Category.choices, blank=True, help_text="of an input: seed, fertilizer, ..."
    )
    unit = models.CharField(max_length=12, help_text="h, gal, ac of custom work, or the unit of the input")
    price_e4 = models.BigIntegerField(help_text="ten-thousandths of a dollar for one unit")
    holds_fuel = models.BooleanField(default=False, help_text="a machine's hour with its fuel and lubricants")
    valid_from = models.DateField()
    valid_until = models.DateField(
        null=True, blank=True, help_text="last day; empty: until another price of the same begins"
    )
    correction_no = models.PositiveSmallIntegerField(default=0)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "kind", "valid_from", "correction_no"]
        constraints = [
            models.CheckConstraint(condition=Q(price_e4__gte=0), name="rate_is_not_negative"),
            models.CheckConstraint(
                condition=Q(valid_until=None) | Q(valid_until__gte=F("valid_from")),
                name="rate_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=(
                    Q(
                        kind__in=["wage", "overtime_extra", "payroll_burden"],
                        machine=None,
                        implement=None,
                        input_code="",
                    )
                    | Q(kind="fuel", machine=None, implement=None, hand=None, input_code="")
                    | Q(kind="machine", implement=None, hand=None, input_code="")
                    | Q(kind="implement", machine=None, hand=None, input_code="")
                    | (
                        Q(kind__in=["input", "custom"], machine=None, implement=None, hand=None)
                        & ~Q(input_code="")
                    )
                ),
                name="rate_names_what_its_kind_allows",
            ),
            models.CheckConstraint(
                condition=Q(holds_fuel=False) | Q(kind="machine"), name="only_a_machine_rate_holds_fuel"
            ),
            models.UniqueConstraint(
                fields=["farm", "kind", "machine", "valid_from", "correction_no"],
                condition=Q(machine__isnull=False),
                name="one_rate_per_machine_and_date",
            ),
            models.UniqueConstraint(
                fields=["farm", "kind", "implement", "valid_from", "correction_no"],
                condition=Q(implement__isnull=False),
                name="one_rate_per_implement_and_date",
            ),
            models.UniqueConstraint(
                fields=["farm", "kind", "hand", "valid_from", "correction_no"],
                condition=Q(hand__isnull=False),
                name="one_rate_per_hand_and_date",
            ),
            models.UniqueConstraint(
                fields=["farm", "kind", "input_code", "valid_from", "correction_no"],
                condition=Q(machine=None, implement=None, hand=None),
                name="one_rate_per_input_or_all_and_date",
            ),
        ]

    def __str__(self) -> str:
        subject = self.machine or self.implement or self.hand or self.input_code or "all"
        return f"{self.get_kind_display()} of {subject} from {self.valid_from}"


class MachineCostFacts(AppendOnlyModel):
    """What was paid for a machine or implement and how it is used, from which its hour is worked out.

    Only asked where no rate of its own is given. `life_h` is the meter when it will be parted with, `bought_at_h`
    the meter when it came.
    """

    farm = farm_of()
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="cost_facts"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="cost_facts"
    )
    cost_class = models.SlugField(max_length=30, help_text="a key of ledger.costing.remaining_value")
    list_price_cents = models.BigIntegerField()
    paid_cents = models.BigIntegerField()
    bought_on = models.DateField()
    bought_at_h = models.DecimalField(max_digits=8, decimal_places=1, default=0)
    life_h = models.DecimalField(max_digits=8, decimal_places=1)
    annual_h = models.DecimalField(max_digits=7, decimal_places=1)
    interest_pct = models.DecimalField(max_digits=5, decimal_places=2)
    insurance_housing_pct = models.DecimalField(max_digits=5, decimal_places=2)
    repair_rf1_factor = models.DecimalField(max_digits=6, decimal_places=4)
    repair_rf2_factor = models.DecimalField(max_digits=6, decimal_places=4)
    correction_no = models.PositiveSmallIntegerField(default=0)
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "bought_on", "correction_no"]
        verbose_name_plural = "machine cost facts"
        constraints = [
            models.CheckConstraint(
                condition=Q(machine__isnull=False, implement__isnull=True)
                | Q(machine__isnull=True, implement__isnull=False),
                name="cost_facts_name_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(list_price_cents__gt=0, paid_cents__gte=0, annual_h__gt=0)
                & Q(life_h__gt=F("bought_at_h")),
                name="cost_facts_make_sense",
            ),
            models.UniqueConstraint(
                fields=["machine", "bought_on", "correction_no"],
                condition=Q(machine__isnull=False),
                name="one_cost_row_per_machine_and_date",
            ),
            models.UniqueConstraint(
                fields=["implement", "bought_on", "correction_no"],
                condition=Q(implement__isnull=False),
                name="one_cost_row_per_implement_and_date",
            ),
        ]

    def __str__(self) -> str:
        return f"cost facts of {self.machine or self.implement} from {self.bought_on}"
