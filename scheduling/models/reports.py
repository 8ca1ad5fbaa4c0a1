"""What comes in from the field: each report as it was sent, what waits for the manager, and what goes with the work."""

import datetime as dt

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Hand, Machine, farm_of
from scheduling.models.work import Incident, WorkRecord


class ReportKind(models.TextChoices):
    WORK = "work", "work on a pass"
    DAY = "day", "start and stop of the day"
    CARE = "care", "a service"
    CHECK = "check", "a check before going out"
    FUEL = "fuel", "a fill-up"
    INCIDENT = "incident", "an incident"
    SPRAY = "spray", "a spraying"
    METER = "meter", "an hour meter"


class FieldReport(AppendOnlyModel):
    """A report as it came. The sender makes its id: sent again it is the same report, with another body it is refused."""

    farm = farm_of()
    client_id = models.UUIDField()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="field_reports")
    kind = models.CharField(max_length=10, choices=ReportKind.choices)
    body = models.JSONField()
    body_hash = models.CharField(max_length=64)
    made_at = models.DateTimeField(
        null=True, blank=True, help_text="by the sender's clock: evidence, not truth"
    )
    made_offset_min = models.SmallIntegerField(
        null=True, blank=True, help_text="of the sender's clock from UTC"
    )
    sent_at = models.DateTimeField(
        null=True, blank=True, help_text="what the sender's clock showed as it was sent"
    )
    written_at = models.DateTimeField(
        null=True, blank=True, help_text="when it was made, by our clock, worked out from those two"
    )
    received_at = models.DateTimeField()
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["farm", "received_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_field_report_per_client_id")
        ]

    @property
    def stands_at(self) -> dt.datetime:
        """The instant that what it tells stands for: when it was written, else when it came."""
        return self.written_at or self.received_at


class ParkedState(models.TextChoices):
    WAITING = "waiting", "waits for the manager"
    TAKEN = "taken", "taken over"
    SET_ASIDE = "set_aside", "set aside, with a reason"


class ParkedReport(models.Model):
    """A report that did not fit: kept whole until the manager takes it over or sets it aside. No hours are lost."""

    farm = farm_of()
    report = models.OneToOneField(FieldReport, on_delete=models.PROTECT, related_name="parked")
    code = models.CharField(max_length=60, help_text="code of the rule that it did not fit")
    why = models.TextField(help_text="for the manager")
    why_for_hand = models.TextField(help_text="in the hand's language")
    state = models.CharField(max_length=10, choices=ParkedState.choices, default=ParkedState.WAITING)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    settled_note = models.CharField(max_length=300, blank=True)
    changes = models.JSONField(
        default=dict, blank=True, help_text="by name, what the manager put in the place of what was sent"
    )

    class Meta:
        ordering = ["farm", "report"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state="waiting", settled_at__isnull=True)
                | (~models.Q(state="waiting") & models.Q(settled_at__isnull=False)),
                name="parked_report_says_when_settled",
            )
        ]


class WorkDay(AppendOnlyModel):
    """A hand's day: when it started and stopped, the hours offered, and why fewer were worked."""

    farm = farm_of()
    client_id = models.UUIDField()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="work_days")
    work_on = models.DateField()
    starts_at = models.DateTimeField(null=True, blank=True)
    ends_at = models.DateTimeField(null=True, blank=True)
    break_min = models.PositiveIntegerField(default=0)
    offered_min = models.PositiveIntegerField(null=True, blank=True)
    worked_min = models.PositiveIntegerField()
    why_fewer = models.CharField(max_length=200, blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "work_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_work_day_per_client_id"),
            models.CheckConstraint(condition=models.Q(worked_min__lte=24 * 60), name="work_day_fits_a_day"),
        ]


class StopCause(models.TextChoices):
    PLUGGED = "plugged", "plugged"
    WET = "wet", "too wet"
    BROKEN = "broken", "broken"
    DEBRIS = "debris", "debris"
    OTHER = "other", "something else"


class WorkStop(AppendOnlyModel):
    """A stop in the middle of the work and its cause."""

    farm = farm_of()
    work_record = models.ForeignKey(WorkRecord, on_delete=models.PROTECT, related_name="stops")
    cause = models.CharField(max_length=8, choices=StopCause.choices)
    lost_min = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["work_record", "id"]


class LookWord(models.TextChoices):
    NONE = "none", "none"
    SOME = "some", "some"
    MANY = "many", "many"


class CutWord(models.TextChoices):
    SHALLOW = "shallow", "too shallow"
    RIGHT = "right", "right"
    DEEP = "deep", "too deep"


class WorkLook(AppendOnlyModel):
    """How the ground looked behind the implement; what was not said is empty."""

    farm = farm_of()
    work_record = models.OneToOneField(WorkRecord, on_delete=models.PROTECT, related_name="look")
    ridges = models.CharField(max_length=4, choices=LookWord.choices, blank=True)
    mounds = models.CharField(max_length=4, choices=LookWord.choices, blank=True)
    clods = models.CharField(max_length=4, choices=LookWord.choices, blank=True)
    cut = models.CharField(max_length=8, choices=CutWord.choices, blank=True)


class WorkSetting(AppendOnlyModel):
    """One setting that a hand worked with."""

    farm = farm_of()
    work_record = models.ForeignKey(WorkRecord, on_delete=models.PROTECT, related_name="settings_used")
    key = models.CharField(max_length=20, help_text="speed_mph, depth_in, gang_angle_deg, level")
    number = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    word = models.CharField(max_length=20, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["work_record", "key"], name="one_row_per_work_setting")
        ]


class ReportPhoto(AppendOnlyModel):
    """A photo of a report, drawn anew without place or maker's data; the bytes lie in the photo folder."""

    farm = farm_of()
    client_id = models.UUIDField()
    report = models.ForeignKey(FieldReport, on_delete=models.PROTECT, related_name="photos")
    work_record = models.ForeignKey(
        WorkRecord, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    stored_as = models.CharField(max_length=120, unique=True)
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    size_bytes = models.PositiveIntegerField()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "id"]
        constraints = [models.UniqueConstraint(fields=["farm", "client_id"], name="one_photo_per_client_id")]


class MeterReplaced(AppendOnlyModel):
    """An hour meter was replaced: the old one ended at so many hours, the new one began at so many."""

    farm = farm_of()
    client_id = models.UUIDField()
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="meters_replaced")
    replaced_at = models.DateTimeField()
    old_reading_h = models.DecimalField(max_digits=8, decimal_places=1)
    new_reading_h = models.DecimalField(max_digits=8, decimal_places=1, default=0)
    note = models.CharField(max_length=200, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["machine", "replaced_at", "id"]
        verbose_name_plural = "meters replaced"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_meter_replaced_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(old_reading_h__gte=0) & models.Q(new_reading_h__gte=0),
                name="replaced_meter_is_not_negative",
            ),
        ]
