"""What was done, read and met: rows that are written once and corrected by a row that supersedes."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Field, Hand, Implement, Machine, Season, farm_of
from scheduling.models.passes import FieldPass


class WorkRecord(AppendOnlyModel):
    """What a hand says was done on a pass. `client_id` is made by the sender: a repeat is the same record."""

    farm = farm_of()
    client_id = models.UUIDField()
    field_pass = models.ForeignKey(FieldPass, on_delete=models.PROTECT, related_name="work_records")
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="work_records")
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="work_records"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="work_records"
    )
    work_on = models.DateField(help_text="business date on the farm's clock")
    starts_at = models.DateTimeField(null=True, blank=True)
    hand_min = models.PositiveIntegerField(help_text="minutes of the hand")
    machine_min = models.PositiveIntegerField(default=0, help_text="minutes of the engine")
    done_ac = models.DecimalField(max_digits=9, decimal_places=2, default=0)
    overtime_min = models.PositiveIntegerField(default=0, help_text="of hand_min, minutes in overtime")
    is_finished = models.BooleanField(default=False)
    not_done_why = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "work_on", "id"]
        indexes = [models.Index(fields=["farm", "work_on"], name="work_by_day")]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_work_record_per_client_id"),
            models.CheckConstraint(condition=models.Q(hand_min__lte=24 * 60), name="work_fits_a_day"),
            models.CheckConstraint(
                condition=models.Q(overtime_min__lte=models.F("hand_min")),
                name="overtime_is_part_of_the_work",
            ),
        ]


class InputUse(AppendOnlyModel):
    """An input put on the ground with a work record: seed, fertilizer, chemical."""

    farm = farm_of()
    work_record = models.ForeignKey(WorkRecord, on_delete=models.PROTECT, related_name="inputs")
    input_code = models.SlugField(max_length=40)
    quantity = models.DecimalField(max_digits=12, decimal_places=3)
    unit = models.CharField(max_length=12)
    lot = models.CharField(max_length=40, blank=True, help_text="as the bag or jug says")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["work_record", "input_code", "lot"], name="one_row_per_input_and_lot"
            ),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="input_quantity_is_positive"),
        ]


class HourReading(AppendOnlyModel):
    """Reading of an hour meter."""

    farm = farm_of()
    client_id = models.UUIDField()
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="hour_readings")
    reading_h = models.DecimalField(max_digits=8, decimal_places=1)
    read_at = models.DateTimeField()
    read_by = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["machine", "read_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_hour_reading_per_client_id"),
            models.CheckConstraint(condition=models.Q(reading_h__gte=0), name="reading_is_not_negative"),
        ]


class IncidentKind(models.TextChoices):
    PUNCTURE = "puncture", "puncture"
    BREAKAGE = "breakage", "breakage"
    STUCK = "stuck", "stuck"
    NEAR_MISS = "near_miss", "near miss"


class Incident(AppendOnlyModel):
    """Something that went wrong in the field; its bill comes later."""

    farm = farm_of()
    client_id = models.UUIDField()
    kind = models.CharField(max_length=12, choices=IncidentKind.choices)
    happened_at = models.DateTimeField()
    field = models.ForeignKey(
        Field, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    season = models.ForeignKey(
        Season, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    wheel = models.CharField(max_length=40, blank=True)
    met = models.CharField(max_length=80, blank=True, help_text="what it met: bone, antler, wire")
    lost_min = models.PositiveIntegerField(default=0)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "happened_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_incident_per_client_id")
        ]
