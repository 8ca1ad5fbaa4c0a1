"""What was seen on a field and put on it: remarks on its wetness, water, sprayings, where a pivot stands.

Rows are written once; a row that `supersedes` another stands in its place, or takes it back.
"""

from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms import operations
from farmops.farms.models import Field, Hand, Pivot, SoilZone, farm_of
from scheduling.models.kept_by import earlier, keeper
from scheduling.models.work import WorkRecord


class RemarkWord(models.TextChoices):
    TOO_WET = "too_wet", "too wet"
    TOO_DRY = "too_dry", "too dry"
    FITS = "fits", "fits"


class Remark(AppendOnlyModel):
    """What somebody standing on a field said of it for a kind of work: "too wet to disk at the low end"."""

    farm = farm_of()
    client_id = models.UUIDField()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="remarks")
    zone = models.ForeignKey(
        SoilZone, on_delete=models.PROTECT, null=True, blank=True, related_name="remarks"
    )
    said_at = models.DateTimeField()
    what = models.CharField(max_length=8, choices=RemarkWord.choices)
    operation = models.CharField(max_length=20, choices=operations.choices())
    work_record = models.ForeignKey(
        WorkRecord, on_delete=models.PROTECT, null=True, blank=True, related_name="remarks"
    )
    note = models.TextField(blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = earlier()
    said_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "said_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_remark_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="remark_taken_back_was_said",
            ),
        ]


class Watering(AppendOnlyModel):
    """Water put on a field on a day, as depth over what is watered."""

    farm = farm_of()
    client_id = models.UUIDField()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="waterings")
    water_on = models.DateField(help_text="day on the farm's clock")
    depth_in = models.DecimalField(max_digits=4, decimal_places=2)
    note = models.TextField(blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = earlier()
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "water_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_watering_per_client_id"),
            models.CheckConstraint(condition=models.Q(depth_in__gt=0), name="watering_is_positive"),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="watering_taken_back_was_kept",
            ),
        ]


class Spraying(AppendOnlyModel):
    """What was sprayed on a field, with the hours and days that its label asks for; the label wins."""

    farm = farm_of()
    client_id = models.UUIDField()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="sprayings")
    ended_at = models.DateTimeField(help_text="when the last of the field was sprayed")
    operation = models.CharField(
        max_length=20, choices=operations.choices(), default=operations.Operation.SPRAY
    )
    products = models.CharField(max_length=300, help_text="as the labels name them")
    reentry_h = models.DecimalField(
        max_digits=5, decimal_places=1, help_text="longest restricted-entry interval of the labels"
    )
    plant_back_days = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="until the next crop may be planted, by the labels; empty: none stated",
    )
    sprayed_by = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    wind_mph = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    note = models.TextField(blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = earlier()
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "ended_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_spraying_per_client_id"),
            models.CheckConstraint(condition=models.Q(reentry_h__gte=0), name="reentry_is_not_negative"),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="spraying_taken_back_was_kept",
            ),
        ]


class PivotPlace(AppendOnlyModel):
    """Where a pivot was seen, and whether it ran; the newest sight counts."""

    farm = farm_of()
    client_id = models.UUIDField()
    pivot = models.ForeignKey(Pivot, on_delete=models.PROTECT, related_name="places")
    seen_at = models.DateTimeField()
    is_running = models.BooleanField()
    angle_deg = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="clockwise from north"
    )
    note = models.TextField(blank=True)
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["pivot", "seen_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_pivot_place_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(angle_deg__isnull=True) | models.Q(angle_deg__gte=0, angle_deg__lt=360),
                name="pivot_place_is_on_the_circle",
            ),
        ]


class LimitChoice(AppendOnlyModel):
    """A farm's own choice about one limit, on all fields or on one; the newest of a key and field counts.

    What is left empty stays as the limits' table has it; a row with nothing chosen goes back to the table.
    """

    farm = farm_of()
    field = models.ForeignKey(
        Field, on_delete=models.PROTECT, null=True, blank=True, related_name="limit_choices"
    )
    key = models.CharField(max_length=80)
    number = models.FloatField(null=True, blank=True, help_text="in the unit of the limit")
    is_used = models.BooleanField(null=True, blank=True)
    effect = models.CharField(max_length=12, blank=True)
    source = models.CharField(
        max_length=200, help_text="whose number it is: a label, a paper, farm judgement"
    )
    set_by = keeper()
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "key", "field", "set_at", "id"]
