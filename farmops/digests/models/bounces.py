"""Mail that came back, and addresses to which nothing is sent any more."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.digests.models.outbox import OutboxRow
from farmops.farms.models import farm_of


class BounceReport(AppendOnlyModel):
    """What a report of another mail server says of one message (RFC 3464), under its status code (RFC 3463).

    The same status of the same message counts once, however often the report comes.
    """

    farm = farm_of()
    row = models.ForeignKey(OutboxRow, on_delete=models.PROTECT, related_name="bounces")
    address = models.CharField(max_length=254, help_text="in small letters, where the message went")
    status = models.CharField(max_length=12, help_text="class.subject.detail: 5.1.1")
    action = models.CharField(max_length=12, blank=True, help_text="failed, delayed, …")
    says = models.CharField(max_length=300, blank=True)
    received_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "received_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["row", "status"], name="one_bounce_per_row_and_status")
        ]
        indexes = [models.Index(fields=["farm", "address"], name="bounces_of_address")]


class SuppressedAddress(models.Model):
    """An address of a farm's mail to which nothing is sent, until somebody lifts that."""

    farm = farm_of()
    address = models.CharField(max_length=254, help_text="in small letters")
    report = models.ForeignKey(
        BounceReport,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="the last one",
    )
    since_at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["farm", "address", "since_at"]
        verbose_name_plural = "suppressed addresses"
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "address"],
                condition=models.Q(lifted_at__isnull=True),
                name="one_suppression_per_address",
            )
        ]
