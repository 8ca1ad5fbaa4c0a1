"""Passes: one operation on one season's ground, with what must come before it."""

from django.conf import settings
from django.db import models

from farmops.core.quick_rows import QuickRows
from farmops.farms import operations
from farmops.farms.models import Field, Season, SoilZone, farm_of


class PassState(models.TextChoices):
    WAITING = "waiting", "waiting"
    PLANNED = "planned", "planned"
    SENT = "sent", "sent"
    UNDER_WAY = "under_way", "under way"
    FINISHED = "finished", "finished"
    CALLED_OFF = "called_off", "called off"


class FieldPass(QuickRows):
    """One operation on one season's ground.

    `part` is empty for the whole ground, `strip` for the strip a parked pivot stood on. `done_ac` is what work
    records say so far. The prices of being late or left are the farm's own, in cents.
    """

    farm = farm_of()
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="passes")
    operation = models.CharField(max_length=20, choices=operations.choices())
    turn = models.PositiveSmallIntegerField(default=1, help_text="second disking is turn 2")
    part = models.CharField(max_length=20, blank=True)
    area_ac = models.DecimalField(max_digits=9, decimal_places=2)
    done_ac = models.DecimalField(max_digits=9, decimal_places=2, default=0)
    state = models.CharField(max_length=10, choices=PassState.choices, default=PassState.WAITING)
    earliest_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True, help_text="late from the end of this day on")
    late_cents_per_day = models.PositiveIntegerField(default=0)
    leave_cents = models.PositiveIntegerField(
        null=True, blank=True, help_text="empty: must be done this week"
    )
    pivot_degrees = models.DecimalField(
        max_digits=5, decimal_places=1, null=True, blank=True, help_text="how far a pivot move walks"
    )
    depth_in = models.DecimalField(
        max_digits=4, decimal_places=2, null=True, blank=True, help_text="water of an irrigation turn"
    )
    custom_ac_per_h = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="somebody hired does it at this pace, without an outfit of the farm",
    )
    reentry_h = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="hours for which the label of what is to be sprayed keeps everybody out",
    )
    fixed_from = models.DateTimeField(null=True, blank=True, help_text="the manager holds to this start")
    fixed_outfit = models.CharField(max_length=120, blank=True)
    called_off_why = models.CharField(max_length=200, blank=True)
    called_off_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["season", "id"]
        verbose_name_plural = "field passes"
        indexes = [
            # those still to be done, one in ten after five seasons: most pages ask for no others
            models.Index(
                fields=["farm"],
                condition=models.Q(state__in=["waiting", "planned", "sent", "under_way"]),
                name="passes_still_open",
            ),
            models.Index(fields=["farm", "operation"], name="passes_by_operation"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["season", "operation", "turn", "part"], name="one_pass_per_turn"),
            models.CheckConstraint(
                condition=models.Q(area_ac__gte=0) & models.Q(done_ac__gte=0),
                name="pass_acres_are_not_negative",
            ),
            models.CheckConstraint(
                condition=(models.Q(depth_in__isnull=True) | models.Q(depth_in__gt=0))
                & (models.Q(custom_ac_per_h__isnull=True) | models.Q(custom_ac_per_h__gt=0)),
                name="pass_depth_and_pace_are_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(reentry_h__isnull=True) | models.Q(reentry_h__gte=0),
                name="pass_reentry_is_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.season.field} {self.get_operation_display()}"


class PassLink(models.Model):
    """One pass waits for another: least and most minutes between the end of the first and the start of the second."""

    farm = farm_of()
    before = models.ForeignKey(FieldPass, on_delete=models.PROTECT, related_name="links_after")
    after = models.ForeignKey(FieldPass, on_delete=models.PROTECT, related_name="links_before")
    min_gap_min = models.PositiveIntegerField(default=0)
    max_gap_min = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["before", "after"], name="one_link_per_pair"),
            models.CheckConstraint(condition=~models.Q(before=models.F("after")), name="no_link_to_itself"),
        ]


class SaySoWord(models.TextChoices):
    FIT = "fit", "fit"
    AFTER = "after", "after an hour"
    NOT_TODAY = "not_today", "not today"


class SaySo(models.Model):
    """The grower's own word on a field, or one zone of it, for one day; the newest row that was not taken back counts."""

    farm = farm_of()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="say_sos")
    zone = models.ForeignKey(
        SoilZone, on_delete=models.PROTECT, null=True, blank=True, related_name="say_sos"
    )
    day = models.DateField()
    word = models.CharField(max_length=10, choices=SaySoWord.choices)
    after_at = models.TimeField(null=True, blank=True)
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    said_at = models.DateTimeField()
    client_id = models.UUIDField(null=True, blank=True, help_text="made by the form that it was said in")
    is_taken_back = models.BooleanField(default=False)

    class Meta:
        ordering = ["field", "day", "said_at"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_say_so_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(word="after", after_at__isnull=False)
                | (~models.Q(word="after") & models.Q(after_at__isnull=True)),
                name="after_names_the_hour",
            ),
        ]
