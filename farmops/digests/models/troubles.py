"""Whether the clockwork runs, and what somebody has to know of the mail."""

from django.conf import settings
from django.db import models

from farmops.digests.models.words import TroubleKind
from farmops.farms.models import farm_of


class Heartbeat(models.Model):
    """When a periodic job last ran to its end; health is read from it, not from processes.

    `boot_id` and `up_s` tell a clock that was set from a machine that was away: since the same start, the clock and the
    time that the machine was up go on together.
    """

    job = models.CharField(max_length=60, unique=True)
    last_at = models.DateTimeField()
    boot_id = models.CharField(max_length=40, blank=True, help_text="of the machine that ran it")
    up_s = models.FloatField(null=True, blank=True, help_text="how long that machine was up")
    clock_apart_s = models.FloatField(
        null=True, blank=True, help_text="the program's clock less that of the database"
    )

    def __str__(self) -> str:
        return f"{self.job} {self.last_at}"


class MailTrouble(models.Model):
    """One trouble with the mail, kept once under its key: of a farm, or (without one) of the whole service.

    A standing one of the kind `halted` stops the queue; until `not_before_at` the mail server is left alone.
    """

    farm = farm_of(null=True, blank=True)
    kind = models.CharField(max_length=10, choices=TroubleKind.choices)
    key = models.CharField(max_length=260, help_text="what makes it one trouble: a day, an address, a row")
    says = models.CharField(max_length=300)
    row_count = models.PositiveIntegerField(default=1, help_text="sheets that it is about")
    raised_at = models.DateTimeField()
    not_before_at = models.DateTimeField(null=True, blank=True)
    attempt = models.PositiveSmallIntegerField(default=0)
    told_at = models.DateTimeField(null=True, blank=True, help_text="when it was mailed to the manager")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["farm", "raised_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "kind", "key"],
                condition=models.Q(farm__isnull=False),
                name="one_mail_trouble_per_key",
            ),
            models.UniqueConstraint(
                fields=["kind", "key"],
                condition=models.Q(farm__isnull=True, ended_at__isnull=True),
                name="one_standing_trouble_of_all",
            ),
        ]
