"""What suppliers ask, what was paid of it, and how a farm wants its books kept."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Farm, Implement, Machine, Pump, Season, farm_of
from scheduling.models import Incident


class PunctureTo(models.TextChoices):
    FIELD = "field", "the field it happened in"
    MACHINE_POOL = "machine_pool", "the pool of the machine"


class SharedBy(models.TextChoices):
    """By what a cost is shared out over seasons."""

    ACRES = "acres", "acres"
    HOURS = "hours", "machine hours"
    ACRE_INCHES = "acre_inches", "acre-inches of water"
    EQUAL = "equal", "equal parts"
    USED = "used", "what was used"


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
    gets_no_1099 = models.BooleanField(default=False, help_text="a corporation or the like: no form 1099")

    class Meta:
        ordering = ["farm", "name"]
        constraints = [models.UniqueConstraint(fields=["farm", "name"], name="one_payee_per_name")]

    def __str__(self) -> str:
        return self.name


class Entity(models.Model):
    """In whose name a bill is: the farm's companies and persons. A bill without one is the farm's own."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["farm", "code"]
        verbose_name_plural = "entities"
        constraints = [models.UniqueConstraint(fields=["farm", "code"], name="one_entity_per_code")]

    def __str__(self) -> str:
        return self.name


class Bill(AppendOnlyModel):
    """What a supplier asks, or gives back where the cents are negative. A wrong bill is superseded by a right one."""

    farm = farm_of()
    client_id = models.UUIDField()
    payee = models.ForeignKey(Payee, on_delete=models.PROTECT, related_name="bills")
    number = models.CharField(max_length=40, blank=True, help_text="the supplier's invoice number")
    bill_on = models.DateField()
    cents = models.BigIntegerField(help_text="with sales tax")
    sales_tax_cents = models.BigIntegerField(default=0, help_text="of the cents")
    category = models.CharField(
        max_length=20, help_text="a category of the farm; of the items where there are any"
    )
    entity = models.ForeignKey(Entity, on_delete=models.PROTECT, null=True, blank=True, related_name="bills")
    crop_year = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="whose fields share it; empty: the year of the bill"
    )
    shared_by = models.CharField(
        max_length=12,
        choices=SharedBy.choices,
        blank=True,
        help_text="all fields of the crop year bear it at once; empty: what it names, a stock, or the farm as a whole",
    )
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
    pump = models.ForeignKey(Pump, on_delete=models.PROTECT, null=True, blank=True, related_name="bills")
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
            models.CheckConstraint(
                condition=Q(cents__gte=-(10**12)) & Q(cents__lte=10**12),
                name="a_bill_is_no_slip_of_the_keyboard",
            ),
            models.CheckConstraint(
                condition=Q(cents__gt=0, sales_tax_cents__gte=0, sales_tax_cents__lt=F("cents"))
                | Q(cents__lt=0, sales_tax_cents__lte=0, sales_tax_cents__gt=F("cents")),
                name="sales_tax_is_part_of_the_bill",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.payee} {self.number or self.bill_on}"


class BillItem(AppendOnlyModel):
    """One line of a bill: what was bought, how much, in which lot. The cents of all items are those of the bill."""

    farm = farm_of()
    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="items")
    item_no = models.PositiveSmallIntegerField()
    category = models.CharField(max_length=20)
    cents = models.BigIntegerField(help_text="with its part of the sales tax")
    item = models.SlugField(
        max_length=40, blank=True, help_text="code of the input or fuel that goes into stock"
    )
    lot = models.CharField(max_length=40, blank=True)
    quantity_e4 = models.BigIntegerField(null=True, blank=True, help_text="ten-thousandths of the unit")
    unit = models.CharField(max_length=12, blank=True)
    season = models.ForeignKey(Season, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    says = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["bill", "item_no"]
        constraints = [
            models.UniqueConstraint(fields=["bill", "item_no"], name="one_bill_item_per_number"),
            models.CheckConstraint(condition=~Q(cents=0), name="a_bill_item_asks_for_something"),
            models.CheckConstraint(
                condition=Q(quantity_e4=None, unit="") | (Q(quantity_e4__gt=0) & ~Q(unit="")),
                name="a_bill_item_has_quantity_and_unit",
            ),
            models.CheckConstraint(
                condition=Q(item="", lot="") | (~Q(item="") & Q(quantity_e4__isnull=False)),
                name="what_goes_into_stock_is_counted",
            ),
        ]


class BillPhoto(AppendOnlyModel):
    """A photo of a bill, drawn anew."""

    farm = farm_of()
    client_id = models.UUIDField()
    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="photos")
    stored_as = models.CharField(max_length=120, unique=True)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["bill", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_bill_photo_per_client_id")
        ]


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

    @property
    def supersedes(self) -> "BillPayment | None":
        """Return the payment of the bill whose place this one's took: it was paid once."""
        earlier = self.bill.supersedes
        while earlier is not None:
            payment: BillPayment | None = getattr(earlier, "payment", None)
            if payment is not None:
                return payment
            earlier = earlier.supersedes
        return None
