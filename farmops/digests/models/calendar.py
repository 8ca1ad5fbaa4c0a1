"""What stands in a person's calendar, as it was last told: the number of each change has to outlive the plan."""

from django.db import models

from farmops.digests.models.person import OfPerson, names_one_person, one_per_person
from farmops.farms.models import Farm, farm_of


class CalendarEvent(OfPerson):
    """One stretch of time as a calendar shows it (RFC 5545): `sequence_no` grows with every change of it.

    A hand's is work of the hand's own; a user's is work of the farm with who does it, or a day of the books. An event
    that is not planned any more is cancelled and stays, so that calendars learn of it. One of whole days begins and ends
    at midnight of the farm's clock.
    """

    farm = farm_of()
    key = models.CharField(max_length=160, help_text="names the work across plans, with its day")
    uid = models.CharField(max_length=200, unique=True)
    local_day = models.DateField(help_text="on the farm's clock")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    is_all_day = models.BooleanField(default=False)
    summary = models.CharField(max_length=200)
    place = models.CharField(max_length=300, blank=True)
    says = models.TextField(blank=True)
    told_hash = models.CharField(max_length=64, help_text="of all that a calendar shows of it")
    sequence_no = models.PositiveIntegerField(default=0)
    is_cancelled = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "hand", "user", "starts_at", "key"]
        constraints = [
            *one_per_person("one_calendar_event", within=("farm", "key")),
            names_one_person("calendar_event_names_one_person"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="calendar_event_ends_later"
            ),
        ]
        indexes = [models.Index(fields=["farm", "local_day"], name="calendar_days")]


class CalendarMark(models.Model):
    """What a farm's calendars were last held against, as a hash: while it stays the same they are not looked at again."""

    farm = models.OneToOneField(Farm, on_delete=models.PROTECT, related_name="+")
    mark = models.CharField(max_length=64)
    marked_at = models.DateTimeField()

    class Meta:
        ordering = ["farm"]

    def __str__(self) -> str:
        return f"{self.farm} {self.marked_at}"
