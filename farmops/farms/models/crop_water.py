"""How a farm waters a crop, where that differs from its region's practice."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models.farm import farm_of
from farmops.farms.models.fields import Crop


class CropWaterFacts(AppendOnlyModel):
    """A farm's own roots and allowed depletion of a crop; the newest row of a crop counts, an empty number is the region's."""

    farm = farm_of()
    crop = models.CharField(max_length=12, choices=Crop.choices)
    root_depth_in = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="deepest roots that water is kept for",
    )
    allowed_share = models.DecimalField(
        max_digits=4,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="of the available water, before the crop is watered",
    )
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "crop", "set_at", "id"]
        verbose_name_plural = "crop water facts"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(root_depth_in__isnull=True) | models.Q(root_depth_in__gt=0),
                name="crop_roots_are_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(allowed_share__isnull=True)
                | models.Q(allowed_share__gt=0, allowed_share__lte=1),
                name="crop_allowed_share_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.farm} {self.crop} water"
