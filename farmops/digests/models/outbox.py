"""One row for each sheet that is owed to a person on a day: the unique key is what keeps a mail from going out twice."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.core.models import Language
from farmops.digests.models.person import OfPerson, names_one_person, one_per_person
from farmops.digests.models.words import AS_IT_HAPPENS, KINDS_OF_HANDS, Reason, RowState, SheetKind
from farmops.farms.models import Hand, farm_of


class OutboxRow(OfPerson):
    """What is owed, to whom, for which local day, and how far it got.

    The tick makes number 1 of a farm, person, kind and day, and no other. A higher number is a change or a trouble that
    came after the first one was told, or a sheet that somebody asked for again (`asked_at`): a message of its own.
    """

    farm = farm_of()
    hand = models.ForeignKey(
        Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="outbox_rows"
    )
    kind = models.CharField(max_length=12, choices=SheetKind.choices, default=SheetKind.HAND)
    local_day = models.DateField(help_text="on the farm's clock, the day it is owed on")
    number = models.PositiveSmallIntegerField(default=1)
    asked_at = models.DateTimeField(null=True, blank=True, help_text="somebody asked for it once more")
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    state = models.CharField(max_length=12, choices=RowState.choices, default=RowState.DUE)
    reason = models.CharField(max_length=20, choices=Reason.choices, blank=True)
    due_at = models.DateTimeField(help_text="the person's hour of that day")
    not_before_at = models.DateTimeField(help_text="the next try is not earlier")
    give_up_at = models.DateTimeField(help_text="a sheet that comes later helps nobody")
    attempt = models.PositiveSmallIntegerField(default=0)
    may_have_arrived = models.BooleanField(default=False, help_text="a try ended without an answer")
    claim_token = models.UUIDField(null=True, blank=True)
    claim_until = models.DateTimeField(null=True, blank=True)
    plan_no = models.PositiveIntegerField(null=True, blank=True, help_text="of the plan it was read from")
    told_hash = models.CharField(
        max_length=64, blank=True, help_text="of what it tells, to see whether that has changed since"
    )
    language = models.CharField(max_length=2, choices=Language.choices, blank=True)
    address = models.CharField(max_length=254, blank=True, help_text="where the last try went")
    message_id = models.CharField(max_length=200)
    bounce_token = models.CharField(
        max_length=32,
        unique=True,
        null=True,
        blank=True,
        help_text="names the row in the address for bounces",
    )
    content = models.BinaryField(default=bytes, help_text="the bytes of the last try, as they went out")
    content_hash = models.CharField(max_length=64, blank=True)
    smtp_reply = models.CharField(max_length=300, blank=True)
    error_class = models.CharField(max_length=60, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "local_day", "hand", "user", "kind", "number"]
        constraints = [
            *one_per_person("one_sheet_per_day", within=("farm", "kind", "local_day", "number")),
            names_one_person("outbox_row_names_one_person"),
            models.CheckConstraint(
                condition=models.Q(kind__in=KINDS_OF_HANDS, hand__isnull=False)
                | (~models.Q(kind__in=KINDS_OF_HANDS) & models.Q(user__isnull=False)),
                name="kind_fits_the_person",
            ),
            models.CheckConstraint(
                condition=models.Q(number=1)
                | models.Q(number__gt=1)
                & (models.Q(kind__in=AS_IT_HAPPENS) | models.Q(asked_at__isnull=False)),
                name="the_tick_makes_one",
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
        indexes = [
            models.Index(fields=["state", "not_before_at"], name="outbox_ready"),
            models.Index(fields=["message_id"], name="outbox_message"),
        ]

    def __str__(self) -> str:
        return f"{self.person_code} {self.local_day} {self.kind} {self.state}"


class SendTry(AppendOnlyModel):
    """One try that did not end in `sent`, or one word of a person to try again: the history of a row.

    A try that went well stands in the row itself.
    """

    farm = farm_of()
    row = models.ForeignKey(OutboxRow, on_delete=models.PROTECT, related_name="tries")
    tried_at = models.DateTimeField()
    attempt = models.PositiveSmallIntegerField(help_text="of the row, when this was written")
    outcome = models.CharField(max_length=12, help_text="a verdict of the mail server's answer, or `again`")
    address = models.CharField(max_length=254, blank=True)
    smtp_reply = models.CharField(max_length=300, blank=True)
    error_class = models.CharField(max_length=60, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["row", "tried_at", "id"]
        verbose_name_plural = "send tries"
