"""What suppliers ask, what was paid of it, and how a farm wants its books kept."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Farm, Implement, Machine, Season, farm_of
from ledger.models.words import Category
from scheduling.models import Incident


class PunctureTo(models.TextChoices):
    FIELD = "field", "the field it happened in"
    MACHINE_POOL = "machine_pool", "the pool of the machine"


class BookSettings(models.Model):
    """A farm's own choices for its books; a farm without a row keeps the defaults."""

    farm = models.OneToOneField(Farm, on_delete=models.PROTECT, related_name="+")
    puncture_to = models.CharField(
        max_length=14, choices=PunctureTo.choices, default=PunctureTo.FIELD, help_text="who bears a puncture"
    )

    class Meta:
        verbose_name_plural = "book settings"

    def __str__(self) -> str:
        return f"books of {self.farm}"


class Payee(models.Model):
    """Somebody who is paid."""

    farm = farm_of()
    name = models.CharField(max_length=80)
    has_w9 = models.BooleanField(null=True, blank=True, help_text="form W-9 on file; empty: not known")

    class Meta:
        ordering = ["farm", "name"]
        constraints = [models.UniqueConstraint(fields=["farm", "name"], name="one_payee_per_name")]

    def __str__(self) -> str:
        return self.name


class Bill(AppendOnlyModel):
    """What a supplier asks, or gives back where the cents are negative. A wrong bill is superseded by a right one."""

    farm = farm_of()
    client_id = models.UUIDField()
    payee = models.ForeignKey(Payee, on_delete=models.PROTECT, related_name="bills")
    number = models.CharField(max_length=40, blank=True, help_text="the supplier's invoice number")
    bill_on = models.DateField()
    cents = models.BigIntegerField()
    category = models.CharField(max_length=20, choices=Category.choices)
    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, null=True, blank=True, related_name="bills"
    )
    season = models.ForeignKey(Season, on_delete=models.PROTECT, null=True, blank=True, related_name="bills")
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="bills"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="bills"
    )
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "bill_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_bill_per_client_id"),
            models.CheckConstraint(condition=~Q(cents=0), name="a_bill_asks_for_something"),
        ]

    def __str__(self) -> str:
        return f"{self.payee} {self.number or self.bill_on}"


class BillPayment(AppendOnlyModel):
    """A bill was paid, whole, on a day."""

    farm = farm_of()
    bill = models.OneToOneField(Bill, on_delete=models.PROTECT, related_name="payment")
    paid_on = models.DateField()
    check_no = models.CharField(max_length=20, blank=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "paid_on", "id"]

    def __str__(self) -> str:
        return f"payment of {self.bill}"
