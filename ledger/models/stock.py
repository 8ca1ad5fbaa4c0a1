"""What was in stock when the books began, and how a farm counts what it uses of its stocks in a year."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import farm_of


class StockCost(models.TextChoices):
    ACTUAL = "actual", "what that lot, else the oldest, was bought at"
    AVERAGE = "average", "the average of what is there"


class FuelBy(models.TextChoices):
    AVERAGE_HOUR = "average_hour", "an average hour of the machine"
    FILL_UPS = "fill_ups", "what was filled up, shared over the work since"


class YearChoice(AppendOnlyModel):
    """A farm's choices for a calendar year, made once. A year without a row keeps the defaults."""

    farm = farm_of()
    calendar_year = models.PositiveSmallIntegerField()
    stock_cost = models.CharField(max_length=8, choices=StockCost.choices, default=StockCost.AVERAGE)
    fuel_by = models.CharField(max_length=12, choices=FuelBy.choices, default=FuelBy.AVERAGE_HOUR)
    chosen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    chosen_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "calendar_year"]
        constraints = [models.UniqueConstraint(fields=["farm", "calendar_year"], name="one_choice_per_year")]

    def __str__(self) -> str:
        return f"{self.farm} {self.calendar_year}"


class OpeningStock(AppendOnlyModel):
    """Seed, chemical, fertilizer or fuel that was there when the books began, with what it had cost."""

    farm = farm_of()
    client_id = models.UUIDField()
    item = models.SlugField(max_length=40, help_text="code of the input, or of the fuel")
    category = models.CharField(max_length=20)
    lot = models.CharField(max_length=40, blank=True)
    quantity_e4 = models.BigIntegerField(help_text="ten-thousandths of the unit")
    unit = models.CharField(max_length=12)
    cents = models.BigIntegerField()
    on = models.DateField()
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "on", "item", "lot", "id"]
        verbose_name_plural = "opening stock"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_opening_stock_per_client_id"),
            models.UniqueConstraint(
                fields=["farm", "item", "lot"],
                condition=Q(supersedes=None),
                name="opening_stock_is_entered_once",
            ),
            models.CheckConstraint(
                condition=Q(quantity_e4__gt=0, cents__gte=0, cents__lte=10**12),
                name="opening_stock_is_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} on {self.on}"
