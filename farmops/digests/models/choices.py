"""When a farm's mail goes out, and what each person chose."""

import datetime as dt

from django.conf import settings
from django.db import models

from farmops.digests.models.person import OfPerson, names_one_person, one_per_person
from farmops.digests.models.words import OnEmptyDay, SheetKind, Units
from farmops.farms.models import Farm, farm_of

EARLIEST = dt.time(3, 30)
"""No mail is set to an hour before this one: on days on which clocks change, some of those hours are missing or come twice."""


def changed_by() -> models.ForeignKey:
    """Return the key to the user who chose; empty: the person, by a link in the mail."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )


class MailTimes(models.Model):
    """When a farm's mail goes out, on its own clock. The hour of the morning sheets is `Farm.sheet_at`.

    A farm without a row has the defaults.
    """

    farm = models.OneToOneField(Farm, on_delete=models.PROTECT, related_name="mail_times")
    digest_at = models.TimeField(default=dt.time(5), help_text="the manager's digest")
    notice_at = models.TimeField(default=dt.time(18), help_text="from when on changes for tomorrow are told")
    notice_until = models.TimeField(default=dt.time(21), help_text="what changes later waits for the morning")
    most_notices_per_day = models.PositiveSmallIntegerField(default=2, help_text="to one hand")
    cost_weekday = models.PositiveSmallIntegerField(default=0, help_text="0 is Monday")
    cost_at = models.TimeField(default=dt.time(7), help_text="the cost note of the week before")
    catch_up_min = models.PositiveSmallIntegerField(
        default=360, help_text="how long after its hour a held up mail still goes out, never after its day"
    )
    has_door_codes = models.BooleanField(default=True, help_text="sheets for the shop door hold a short code")
    changed_at = models.DateTimeField()
    changed_by = changed_by()

    class Meta:
        verbose_name_plural = "mail times"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(digest_at__gte=EARLIEST, notice_at__gte=EARLIEST, cost_at__gte=EARLIEST),
                name="mail_times_exist_every_day",
            ),
            models.CheckConstraint(
                condition=models.Q(notice_until__gt=models.F("notice_at")), name="notices_end_later"
            ),
            models.CheckConstraint(
                condition=models.Q(cost_weekday__lte=6)
                & models.Q(most_notices_per_day__gte=1, most_notices_per_day__lte=6)
                & models.Q(catch_up_min__gte=30, catch_up_min__lte=1080),
                name="mail_times_make_sense",
            ),
        ]


class MailChoice(OfPerson):
    """What one person chose of one kind of mail. Without a row: wanted, at the farm's hour, nothing on an empty day."""

    farm = farm_of()
    kind = models.CharField(max_length=12, choices=SheetKind.choices)
    is_wanted = models.BooleanField(default=True)
    send_at = models.TimeField(null=True, blank=True, help_text="on the farm's clock; empty: the farm's hour")
    on_empty_day = models.CharField(max_length=6, choices=OnEmptyDay.choices, default=OnEmptyDay.NONE)
    changed_at = models.DateTimeField()
    changed_by = changed_by()

    class Meta:
        ordering = ["farm", "hand", "user", "kind"]
        constraints = [
            *one_per_person("one_mail_choice", within=("farm", "kind")),
            names_one_person("mail_choice_names_one_person"),
            models.CheckConstraint(
                condition=models.Q(send_at__isnull=True) | models.Q(send_at__gte=EARLIEST),
                name="mail_choice_exists_every_day",
            ),
        ]


class MailReader(OfPerson):
    """What one person is used to, whatever the kind of mail. The language stands with the hand or the user."""

    farm = farm_of()
    units = models.CharField(max_length=10, choices=Units.choices, default=Units.CUSTOMARY)
    wants_calendar_file = models.BooleanField(default=True, help_text="the day as a file beside the sheet")
    changed_at = models.DateTimeField()
    changed_by = changed_by()

    class Meta:
        ordering = ["farm", "hand", "user"]
        constraints = [
            *one_per_person("one_mail_reader", within=("farm",)),
            names_one_person("mail_reader_names_one_person"),
        ]
