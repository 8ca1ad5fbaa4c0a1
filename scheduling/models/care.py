"""Care that was done, and care that a plan holds."""

from decimal import Decimal

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import CareRule, Hand, Implement, Machine, farm_of
from scheduling.models.plans import WeekPlan
from scheduling.models.work import HourReading


class CareDone(AppendOnlyModel):
    """A service that was done: the rule counts anew from it. A newer row may correct it or take it back."""

    farm = farm_of()
    client_id = models.UUIDField()
    rule = models.ForeignKey(CareRule, on_delete=models.PROTECT, related_name="done")
    done_at = models.DateTimeField()
    meter_h = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, help_text="hour meter then; empty: worked out"
    )
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    hand_min = models.PositiveIntegerField(default=0, help_text="minutes of the hand")
    parts = models.CharField(max_length=200, blank=True, help_text="parts and fluids that went in")
    parts_cents = models.PositiveIntegerField(
        null=True, blank=True, help_text="what they cost, where no bill will say it"
    )
    note = models.TextField(blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "done_at", "id"]
        verbose_name_plural = "care done"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_care_done_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(meter_h__isnull=True) | models.Q(meter_h__gte=0),
                name="care_meter_is_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="care_taken_back_was_done",
            ),
        ]

    @property
    def parts_usd(self) -> Decimal | None:
        """Return what the parts cost, in dollars."""
        return None if self.parts_cents is None else Decimal(self.parts_cents).scaleb(-2)


class CheckTicked(AppendOnlyModel):
    """A check before going out that a hand ticked."""

    farm = farm_of()
    client_id = models.UUIDField()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="checks_ticked")
    work_on = models.DateField()
    check_key = models.CharField(max_length=80, help_text="which check: of a rule, or of the work")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    is_fine = models.BooleanField(default=True, help_text="looked at and fine; otherwise the note says what")
    note = models.CharField(max_length=200, blank=True)
    ticked_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "work_on", "id"]
        verbose_name_plural = "checks ticked"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_check_ticked_per_client_id")
        ]


class ReadingSetAside(AppendOnlyModel):
    """A meter reading that was found to be wrong, and why: it stays as it was written and counts no more."""

    farm = farm_of()
    reading = models.OneToOneField(HourReading, on_delete=models.PROTECT, related_name="set_aside")
    why = models.CharField(max_length=200)
    set_aside_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "recorded_at", "id"]
        verbose_name_plural = "readings set aside"


class PlannedCare(models.Model):
    """A service stop of a plan, with who does it and when."""

    farm = farm_of()
    plan = models.ForeignKey(WeekPlan, on_delete=models.PROTECT, related_name="care_stops")
    task_key = models.CharField(max_length=120)
    rule = models.ForeignKey(CareRule, on_delete=models.PROTECT, related_name="planned")
    mode = models.CharField(max_length=160)
    place = models.CharField(max_length=60, help_text="the yard, or the code of the field where it stands")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, related_name="+")
    implement = models.ForeignKey(Implement, on_delete=models.PROTECT, null=True, related_name="+")
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, related_name="planned_care")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    work_min = models.PositiveIntegerField()

    class Meta:
        ordering = ["plan", "starts_at", "task_key"]
        verbose_name_plural = "planned care"
        constraints = [
            models.UniqueConstraint(fields=["plan", "task_key"], name="one_care_stop_per_plan_and_task"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="care_stop_ends_later"
            ),
        ]
