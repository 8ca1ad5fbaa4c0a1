"""Week plans as they were made, with the problem they answer."""

from django.conf import settings
from django.db import models

from farmops.core.quick_rows import QuickRows
from farmops.farms import operations
from farmops.farms.models import Field, Hand, Implement, Machine, farm_of
from scheduling.models.passes import FieldPass


class PlanState(models.TextChoices):
    MADE = "made", "made"
    SENT = "sent", "sent"
    REPLACED = "replaced", "replaced"


class WeekPlan(models.Model):
    """One plan: the problem, its hash, the answer, and what the search was given."""

    farm = farm_of()
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=PlanState.choices, default=PlanState.MADE)
    starts_at = models.DateTimeField()
    days = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    problem = models.JSONField()
    problem_hash = models.CharField(max_length=64)
    plan = models.JSONField()
    not_offered = models.JSONField(
        default=list, help_text="[pass key, why] of each open pass that the problem could not hold"
    )
    windows = models.JSONField(help_text="open and shut hours behind the problem, with reasons")
    status = models.CharField(max_length=10)
    cost_cents = models.BigIntegerField(null=True)
    bound_cents = models.BigIntegerField(null=True)
    against = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="the sent plan that it was to keep to, if it was",
    )
    seed = models.PositiveIntegerField()
    limits = models.JSONField(help_text="seconds, rounds, workers that the search was given")

    class Meta:
        ordering = ["farm", "number"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "number"], name="one_plan_per_number"),
            models.UniqueConstraint(fields=["farm"], condition=models.Q(state="sent"), name="one_sent_plan"),
        ]


class PlannedTask(QuickRows):
    """One task of a plan: a pass or a day part of it, with its outfit and hours."""

    farm = farm_of()
    plan = models.ForeignKey(WeekPlan, on_delete=models.PROTECT, related_name="tasks")
    task_key = models.CharField(max_length=120)
    field_pass = models.ForeignKey(FieldPass, on_delete=models.PROTECT, related_name="planned_tasks")
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="+")
    operation = models.CharField(max_length=20, choices=operations.choices())
    part_no = models.PositiveSmallIntegerField(default=1)
    part_count = models.PositiveSmallIntegerField(default=1)
    area_ac = models.DecimalField(max_digits=9, decimal_places=2)
    mode = models.CharField(max_length=160)
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, related_name="+")
    implement = models.ForeignKey(Implement, on_delete=models.PROTECT, null=True, related_name="+")
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, related_name="planned_tasks")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    work_min = models.PositiveIntegerField()

    class Meta:
        ordering = ["plan", "starts_at", "task_key"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "task_key"], name="one_row_per_plan_and_task"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="task_ends_later"
            ),
        ]
