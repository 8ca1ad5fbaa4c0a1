"""What stands in a hand's calendar, as it was last told: the number of each change has to outlive the plan."""

from django.db import models

from farmops.farms.models import Hand, farm_of


class CalendarEvent(models.Model):
    """One stretch of work of a hand as a calendar shows it (RFC 5545): `sequence_no` grows with every change of it.

    An event that is not planned any more is cancelled and stays, so that calendars learn of it.
    """

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=160, help_text="names the work across plans, with its day")
    uid = models.CharField(max_length=200, unique=True)
    local_day = models.DateField(help_text="on the farm's clock")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    summary = models.CharField(max_length=200)
    place = models.CharField(max_length=300, blank=True)
    says = models.TextField(blank=True)
    told_hash = models.CharField(max_length=64, help_text="of all that a calendar shows of it")
    sequence_no = models.PositiveIntegerField(default=0)
    is_cancelled = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "hand", "starts_at", "key"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "hand", "key"], name="one_calendar_event_per_key"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="calendar_event_ends_later"
            ),
        ]
        indexes = [models.Index(fields=["farm", "local_day"], name="calendar_days")]
