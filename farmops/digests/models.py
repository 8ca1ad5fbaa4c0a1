"""One row for each sheet that is owed to a person on a day: the unique key is what keeps a mail from going out twice."""

from django.db import models

from farmops.core.models import Language
from farmops.farms.models import Hand, farm_of


class SheetKind(models.TextChoices):
    HAND = "hand", "morning sheet"


class RowState(models.TextChoices):
    """due -> claimed -> sending -> sent; retry and unknown come back after a wait; the rest are ends.

    `unknown`: the connection broke after the message was handed over and before the server answered.
    `dead`: refused for good or tried too often. `skipped`: the hour to give up passed. `empty`: nothing to do that day.
    """

    DUE = "due", "due"
    CLAIMED = "claimed", "claimed"
    SENDING = "sending", "sending"
    SENT = "sent", "sent"
    RETRY = "retry", "retry"
    UNKNOWN = "unknown", "unknown"
    DEAD = "dead", "dead"
    SKIPPED = "skipped", "skipped"
    EMPTY = "empty", "empty"


class OutboxRow(models.Model):
    """What is owed, to whom, for which local day, and how far it got."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="outbox_rows")
    kind = models.CharField(max_length=12, choices=SheetKind.choices, default=SheetKind.HAND)
    local_day = models.DateField(help_text="on the farm's clock")
    state = models.CharField(max_length=8, choices=RowState.choices, default=RowState.DUE)
    due_at = models.DateTimeField(help_text="the farm's sheet hour of that day")
    not_before_at = models.DateTimeField(help_text="the next try is not earlier")
    give_up_at = models.DateTimeField(help_text="a sheet that comes later helps nobody")
    attempt = models.PositiveSmallIntegerField(default=0)
    may_have_arrived = models.BooleanField(default=False, help_text="a try ended without an answer")
    claim_token = models.UUIDField(null=True, blank=True)
    claim_until = models.DateTimeField(null=True, blank=True)
    plan_no = models.PositiveIntegerField(null=True, blank=True, help_text="of the plan it was read from")
    language = models.CharField(max_length=2, choices=Language.choices, blank=True)
    address = models.CharField(max_length=254, blank=True, help_text="where the last try went")
    message_id = models.CharField(max_length=200)
    content = models.BinaryField(default=bytes, help_text="the bytes of the last try, as they went out")
    content_hash = models.CharField(max_length=64, blank=True)
    smtp_reply = models.CharField(max_length=300, blank=True)
    error_class = models.CharField(max_length=60, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "local_day", "hand"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "hand", "kind", "local_day"], name="one_sheet_per_hand_kind_and_day"
            ),
            models.CheckConstraint(
                condition=models.Q(state="sent", sent_at__isnull=False)
                | (~models.Q(state="sent") & models.Q(sent_at__isnull=True)),
                name="sent_says_when",
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=["claimed", "sending"])
                | models.Q(claim_token__isnull=False, claim_until__isnull=False),
                name="a_claim_has_a_lease",
            ),
        ]
        indexes = [models.Index(fields=["state", "not_before_at"], name="outbox_ready")]

    def __str__(self) -> str:
        return f"{self.hand} {self.local_day} {self.state}"


class Heartbeat(models.Model):
    """When a periodic job last ran to its end; health is read from it, not from processes."""

    job = models.CharField(max_length=60, unique=True)
    last_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.job} {self.last_at}"
