"""Links that need no signing in, each good for one thing, and short codes on paper."""

from django.conf import settings
from django.db import models

from farmops.digests.models.person import OfPerson, names_one_person, one_per_person
from farmops.digests.models.words import Purpose, SheetKind
from farmops.farms.models import Hand, SignInLink, farm_of


class PersonLink(OfPerson):
    """A link of one person for one purpose; its address is signed by the service's key over `nonce`, and can be revoked.

    A calendar is read by it until it is taken back. `kind` is the mail that it stops, empty for a calendar.
    """

    farm = farm_of()
    purpose = models.CharField(max_length=10, choices=Purpose.choices)
    kind = models.CharField(max_length=12, choices=SheetKind.choices, blank=True)
    nonce = models.CharField(max_length=32, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["farm", "hand", "user", "made_at"]
        constraints = [
            *one_per_person(
                "one_open_link",
                within=("farm", "purpose", "kind"),
                condition=models.Q(revoked_at__isnull=True),
            ),
            names_one_person("person_link_names_one_person"),
            models.CheckConstraint(
                condition=models.Q(purpose=Purpose.CALENDAR, kind="")
                | (models.Q(purpose=Purpose.STOP) & ~models.Q(kind="")),
                name="a_stop_link_names_its_kind",
            ),
        ]


class DoorCode(models.Model):
    """A short code on a printed sheet: another, shorter key to a sign-in link, which it expires and is revoked with.

    The code is made from the service's key and `nonce`, so that it can be printed again; only its hash is looked for.
    """

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="+")
    local_day = models.DateField(help_text="on the farm's clock, the day of the sheet")
    link = models.OneToOneField(SignInLink, on_delete=models.PROTECT, related_name="door_code")
    nonce = models.CharField(max_length=32)
    code_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "local_day", "hand", "made_at"]
