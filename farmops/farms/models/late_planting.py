"""What a crop is worth to a farm and what planting it late takes: the price of late work."""

from django.db import models

from farmops.farms.models.farm import farm_of
from farmops.farms.models.fields import Crop


class LatePlantingFacts(models.Model):
    """The farm's yield and price of a crop, and its curve of loss by planting day.

    `losses` is the farm's own curve, in percent of the yield or in its unit; where it is empty, the shipped curve named
    `curve` holds, and where that is empty too, the one of the farm's region. A crop without such a row has no price of
    late work but what its orders of work state.
    """

    farm = farm_of()
    crop = models.CharField(max_length=12, choices=Crop.choices)
    yield_per_ac = models.DecimalField(
        max_digits=7, decimal_places=1, help_text="expected where planted in time"
    )
    yield_unit = models.CharField(max_length=12, help_text="what the yield is counted in: lb, bu")
    price_usd = models.DecimalField(
        max_digits=9, decimal_places=4, help_text="dollars for one unit of the yield"
    )
    curve = models.SlugField(max_length=40, blank=True, help_text="a curve that ships; empty: the region's")
    losses = models.JSONField(
        null=True, blank=True, help_text="own curve: [{after: MM-DD, per_day, at_once}] in order"
    )
    is_in_pct = models.BooleanField(default=True, help_text="own losses are percent, not units of the yield")
    source = models.CharField(max_length=200, blank=True, help_text="whose numbers they are")

    class Meta:
        ordering = ["farm", "crop"]
        verbose_name = "late planting"
        verbose_name_plural = "late planting facts"
        constraints = [
            models.UniqueConstraint(fields=["farm", "crop"], name="one_late_planting_per_crop"),
            models.CheckConstraint(
                condition=models.Q(yield_per_ac__gt=0) & models.Q(price_usd__gte=0),
                name="late_planting_numbers_make_sense",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.crop} planted late"
