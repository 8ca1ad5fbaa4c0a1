"""What a crop was meant to cost, and what a season brought in."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Crop, Season, farm_of


class BudgetLine(AppendOnlyModel):
    """Cents an acre that a category is meant to cost in a crop, or in one season of it, which outranks the crop."""

    farm = farm_of()
    crop_year = models.PositiveSmallIntegerField()
    crop = models.CharField(max_length=12, choices=Crop.choices)
    season = models.ForeignKey(
        Season, on_delete=models.PROTECT, null=True, blank=True, related_name="budget_lines"
    )
    category = models.CharField(max_length=20)
    cents_per_ac = models.BigIntegerField()
    correction_no = models.PositiveSmallIntegerField(default=0)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "crop_year", "crop", "category", "correction_no"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "crop_year", "crop", "category", "correction_no"],
                condition=Q(season=None),
                name="one_budget_line_per_crop",
            ),
            models.UniqueConstraint(
                fields=["season", "category", "correction_no"],
                condition=Q(season__isnull=False),
                name="one_budget_line_per_season",
            ),
            models.CheckConstraint(condition=Q(cents_per_ac__gte=0), name="budget_is_not_negative"),
        ]


class SeasonYield(AppendOnlyModel):
    """What was harvested off a season, all of it so far; the row with the highest correction counts."""

    farm = farm_of()
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="yields")
    quantity = models.DecimalField(max_digits=12, decimal_places=3)
    unit = models.CharField(max_length=12, help_text="lb, bu, ton")
    correction_no = models.PositiveSmallIntegerField(default=0)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["season", "correction_no"]
        constraints = [
            models.UniqueConstraint(fields=["season", "correction_no"], name="one_yield_per_correction"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="yield_is_not_negative"),
        ]
