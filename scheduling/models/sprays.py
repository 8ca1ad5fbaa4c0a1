"""What a record of a spraying holds beside the hours of its labels."""

from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import farm_of
from scheduling.models.field_facts import Spraying


class SprayDetail(AppendOnlyModel):
    """When, on what and by whom: what a record of a restricted-use product must hold (7 CFR 110.3)."""

    farm = farm_of()
    spraying = models.OneToOneField(Spraying, on_delete=models.PROTECT, related_name="detail")
    started_at = models.DateTimeField()
    treated_ac = models.DecimalField(max_digits=9, decimal_places=2)
    crop = models.CharField(max_length=40)
    wind_from = models.CharField(max_length=3, blank=True, help_text="N, NE, …")
    temp_f = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    applicator_name = models.CharField(max_length=60)
    license_no = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(treated_ac__gt=0), name="spray_detail_acres_are_positive"
            )
        ]


class SprayProduct(AppendOnlyModel):
    """One product of a spraying, as its label names it."""

    farm = farm_of()
    spraying = models.ForeignKey(Spraying, on_delete=models.PROTECT, related_name="product_rows")
    name = models.CharField(max_length=80)
    registration_no = models.CharField(
        max_length=30, blank=True, help_text="of the federal register, as on the label"
    )
    rate = models.DecimalField(max_digits=9, decimal_places=3, help_text="of product to the acre")
    total = models.DecimalField(max_digits=11, decimal_places=3)
    unit = models.CharField(max_length=12)
    is_restricted = models.BooleanField(default=False, help_text="restricted-use by its label")

    class Meta:
        ordering = ["spraying", "id"]
        constraints = [
            models.UniqueConstraint(fields=["spraying", "name"], name="one_row_per_spray_product"),
            models.CheckConstraint(
                condition=models.Q(rate__gt=0) & models.Q(total__gt=0), name="spray_product_is_positive"
            ),
        ]
