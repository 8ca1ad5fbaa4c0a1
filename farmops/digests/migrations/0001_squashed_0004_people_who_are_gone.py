import datetime
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("digests", "0001_initial"),
        ("digests", "0002_mail_for_everybody"),
        ("digests", "0003_calendars_of_users"),
        ("digests", "0004_people_who_are_gone"),
    ]

    initial = True

    dependencies = [
        ("core", "__first__"),
        ("farms", "0001_squashed_0007_soybeans"),
    ]

    operations = [
        migrations.CreateModel(
            name="OutboxRow",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="outbox_rows",
                        to="farms.hand",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hand", "morning sheet"),
                            ("change", "change for tomorrow"),
                            ("digest", "the farm today"),
                            ("costs", "costs of the week"),
                            ("trouble", "trouble with the mail"),
                        ],
                        default="hand",
                        max_length=12,
                    ),
                ),
                ("local_day", models.DateField(help_text="on the farm's clock, the day it is owed on")),
                ("number", models.PositiveSmallIntegerField(default=1)),
                (
                    "asked_at",
                    models.DateTimeField(blank=True, help_text="somebody asked for it once more", null=True),
                ),
                (
                    "asked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("due", "due"),
                            ("claimed", "claimed"),
                            ("sending", "sending"),
                            ("sent", "sent"),
                            ("retry", "retry"),
                            ("unknown", "unknown"),
                            ("dead", "dead"),
                            ("skipped", "skipped"),
                            ("empty", "empty"),
                            ("suppressed", "suppressed"),
                        ],
                        default="due",
                        max_length=12,
                    ),
                ),
                (
                    "reason",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("nothing_to_do", "nothing to do that day"),
                            ("too_late", "the hour to give up passed"),
                            ("refused", "refused for good"),
                            ("tries", "tried too often"),
                            ("unusable", "the address cannot be used"),
                            ("bounced", "mail to the address came back"),
                            ("not_wanted", "the person wants none"),
                            ("not_here", "the person is not on this farm any more"),
                        ],
                        max_length=20,
                    ),
                ),
                ("due_at", models.DateTimeField(help_text="the person's hour of that day")),
                ("not_before_at", models.DateTimeField(help_text="the next try is not earlier")),
                ("give_up_at", models.DateTimeField(help_text="a sheet that comes later helps nobody")),
                ("attempt", models.PositiveSmallIntegerField(default=0)),
                (
                    "may_have_arrived",
                    models.BooleanField(default=False, help_text="a try ended without an answer"),
                ),
                ("claim_token", models.UUIDField(blank=True, null=True)),
                ("claim_until", models.DateTimeField(blank=True, null=True)),
                (
                    "plan_no",
                    models.PositiveIntegerField(
                        blank=True, help_text="of the plan it was read from", null=True
                    ),
                ),
                (
                    "told_hash",
                    models.CharField(
                        blank=True,
                        help_text="of what it tells, to see whether that has changed since",
                        max_length=64,
                    ),
                ),
                (
                    "language",
                    models.CharField(
                        blank=True, choices=[("en", "English"), ("es", "Español")], max_length=2
                    ),
                ),
                (
                    "address",
                    models.CharField(blank=True, help_text="where the last try went", max_length=254),
                ),
                ("message_id", models.CharField(max_length=200)),
                (
                    "bounce_token",
                    models.CharField(
                        blank=True,
                        help_text="names the row in the address for bounces",
                        max_length=32,
                        null=True,
                        unique=True,
                    ),
                ),
                (
                    "content",
                    models.BinaryField(
                        default=bytes, help_text="the bytes of the last try, as they went out"
                    ),
                ),
                ("content_hash", models.CharField(blank=True, max_length=64)),
                ("smtp_reply", models.CharField(blank=True, max_length=300)),
                ("error_class", models.CharField(blank=True, max_length=60)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("created_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "local_day", "hand", "user", "kind", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False)),
                        fields=("farm", "kind", "local_day", "number", "hand"),
                        name="one_sheet_per_day_hand",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("user__isnull", False)),
                        fields=("farm", "kind", "local_day", "number", "user"),
                        name="one_sheet_per_day_user",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("user__isnull", True)),
                            models.Q(("hand__isnull", True), ("user__isnull", False)),
                            _connector="OR",
                        ),
                        name="outbox_row_names_one_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("kind__in", ("hand", "change"))),
                            models.Q(
                                models.Q(("kind__in", ("hand", "change")), _negated=True),
                                ("user__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="kind_fits_the_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("number", 1),
                            models.Q(
                                ("number__gt", 1),
                                models.Q(
                                    ("kind__in", ("change", "trouble")),
                                    ("asked_at__isnull", False),
                                    _connector="OR",
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="the_tick_makes_one",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("sent_at__isnull", False), ("state", "sent")),
                            models.Q(models.Q(("state", "sent"), _negated=True), ("sent_at__isnull", True)),
                            _connector="OR",
                        ),
                        name="sent_says_when",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state__in", ["claimed", "sending"]), _negated=True),
                            models.Q(("claim_token__isnull", False), ("claim_until__isnull", False)),
                            _connector="OR",
                        ),
                        name="a_claim_has_a_lease",
                    ),
                ],
                "indexes": [
                    models.Index(fields=["state", "not_before_at"], name="outbox_ready"),
                    models.Index(fields=["message_id"], name="outbox_message"),
                ],
            },
        ),
        migrations.CreateModel(
            name="CalendarEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "key",
                    models.CharField(help_text="names the work across plans, with its day", max_length=160),
                ),
                ("uid", models.CharField(max_length=200, unique=True)),
                ("local_day", models.DateField(help_text="on the farm's clock")),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("is_all_day", models.BooleanField(default=False)),
                ("summary", models.CharField(max_length=200)),
                ("place", models.CharField(blank=True, max_length=300)),
                ("says", models.TextField(blank=True)),
                (
                    "told_hash",
                    models.CharField(help_text="of all that a calendar shows of it", max_length=64),
                ),
                ("sequence_no", models.PositiveIntegerField(default=0)),
                ("is_cancelled", models.BooleanField(default=False)),
                ("made_at", models.DateTimeField()),
                ("changed_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "hand", "user", "starts_at", "key"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False)),
                        fields=("farm", "key", "hand"),
                        name="one_calendar_event_hand",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("user__isnull", False)),
                        fields=("farm", "key", "user"),
                        name="one_calendar_event_user",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("user__isnull", True)),
                            models.Q(("hand__isnull", True), ("user__isnull", False)),
                            _connector="OR",
                        ),
                        name="calendar_event_names_one_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))),
                        name="calendar_event_ends_later",
                    ),
                ],
                "indexes": [models.Index(fields=["farm", "local_day"], name="calendar_days")],
            },
        ),
        migrations.CreateModel(
            name="CalendarMark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("mark", models.CharField(max_length=64)),
                ("marked_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm"],
            },
        ),
        migrations.CreateModel(
            name="MailTimes",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mail_times",
                        to="farms.farm",
                    ),
                ),
                (
                    "digest_at",
                    models.TimeField(default=datetime.time(5, 0), help_text="the manager's digest"),
                ),
                (
                    "notice_at",
                    models.TimeField(
                        default=datetime.time(18, 0), help_text="from when on changes for tomorrow are told"
                    ),
                ),
                (
                    "notice_until",
                    models.TimeField(
                        default=datetime.time(21, 0), help_text="what changes later waits for the morning"
                    ),
                ),
                (
                    "most_notices_per_day",
                    models.PositiveSmallIntegerField(default=2, help_text="to one hand"),
                ),
                ("cost_weekday", models.PositiveSmallIntegerField(default=0, help_text="0 is Monday")),
                (
                    "cost_at",
                    models.TimeField(
                        default=datetime.time(7, 0), help_text="the cost note of the week before"
                    ),
                ),
                (
                    "catch_up_min",
                    models.PositiveSmallIntegerField(
                        default=360,
                        help_text="how long after its hour a held up mail still goes out, never after its day",
                    ),
                ),
                (
                    "has_door_codes",
                    models.BooleanField(default=True, help_text="sheets for the shop door hold a short code"),
                ),
                ("changed_at", models.DateTimeField()),
                (
                    "changed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "mail times",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cost_at__gte", datetime.time(3, 30)),
                            ("digest_at__gte", datetime.time(3, 30)),
                            ("notice_at__gte", datetime.time(3, 30)),
                        ),
                        name="mail_times_exist_every_day",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("notice_until__gt", models.F("notice_at"))),
                        name="notices_end_later",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cost_weekday__lte", 6),
                            ("most_notices_per_day__gte", 1),
                            ("most_notices_per_day__lte", 6),
                            ("catch_up_min__gte", 30),
                            ("catch_up_min__lte", 1080),
                        ),
                        name="mail_times_make_sense",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MailChoice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hand", "morning sheet"),
                            ("change", "change for tomorrow"),
                            ("digest", "the farm today"),
                            ("costs", "costs of the week"),
                            ("trouble", "trouble with the mail"),
                        ],
                        max_length=12,
                    ),
                ),
                ("is_wanted", models.BooleanField(default=True)),
                (
                    "send_at",
                    models.TimeField(
                        blank=True, help_text="on the farm's clock; empty: the farm's hour", null=True
                    ),
                ),
                (
                    "on_empty_day",
                    models.CharField(
                        choices=[("none", "no mail"), ("short", "a short one")], default="none", max_length=6
                    ),
                ),
                ("changed_at", models.DateTimeField()),
                (
                    "changed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "hand", "user", "kind"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False)),
                        fields=("farm", "kind", "hand"),
                        name="one_mail_choice_hand",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("user__isnull", False)),
                        fields=("farm", "kind", "user"),
                        name="one_mail_choice_user",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("user__isnull", True)),
                            models.Q(("hand__isnull", True), ("user__isnull", False)),
                            _connector="OR",
                        ),
                        name="mail_choice_names_one_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("send_at__isnull", True), ("send_at__gte", datetime.time(3, 30)), _connector="OR"
                        ),
                        name="mail_choice_exists_every_day",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MailReader",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "units",
                    models.CharField(
                        choices=[("customary", "°F, inches"), ("metric", "°C, millimeters")],
                        default="customary",
                        max_length=10,
                    ),
                ),
                (
                    "wants_calendar_file",
                    models.BooleanField(default=True, help_text="the day as a file beside the sheet"),
                ),
                ("changed_at", models.DateTimeField()),
                (
                    "changed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "hand", "user"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False)),
                        fields=("farm", "hand"),
                        name="one_mail_reader_hand",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("user__isnull", False)),
                        fields=("farm", "user"),
                        name="one_mail_reader_user",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("user__isnull", True)),
                            models.Q(("hand__isnull", True), ("user__isnull", False)),
                            _connector="OR",
                        ),
                        name="mail_reader_names_one_person",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PersonLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.hand",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "purpose",
                    models.CharField(
                        choices=[("calendar", "reads the calendar"), ("stop", "stops a kind of mail")],
                        max_length=10,
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("hand", "morning sheet"),
                            ("change", "change for tomorrow"),
                            ("digest", "the farm today"),
                            ("costs", "costs of the week"),
                            ("trouble", "trouble with the mail"),
                        ],
                        max_length=12,
                    ),
                ),
                ("nonce", models.CharField(max_length=32, unique=True)),
                ("made_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "revoked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("last_used_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["farm", "hand", "user", "made_at"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("hand__isnull", False), ("revoked_at__isnull", True)),
                        fields=("farm", "purpose", "kind", "hand"),
                        name="one_open_link_hand",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("user__isnull", False), ("revoked_at__isnull", True)),
                        fields=("farm", "purpose", "kind", "user"),
                        name="one_open_link_user",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("hand__isnull", False), ("user__isnull", True)),
                            models.Q(("hand__isnull", True), ("user__isnull", False)),
                            _connector="OR",
                        ),
                        name="person_link_names_one_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", ""), ("purpose", "calendar")),
                            models.Q(("purpose", "stop"), models.Q(("kind", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="a_stop_link_names_its_kind",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="DoorCode",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "hand",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.hand"
                    ),
                ),
                ("local_day", models.DateField(help_text="on the farm's clock, the day of the sheet")),
                (
                    "link",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="door_code",
                        to="farms.signinlink",
                    ),
                ),
                ("nonce", models.CharField(max_length=32)),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "local_day", "hand", "made_at"],
            },
        ),
        migrations.CreateModel(
            name="Heartbeat",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("job", models.CharField(max_length=60, unique=True)),
                ("last_at", models.DateTimeField()),
                (
                    "boot_id",
                    models.CharField(blank=True, help_text="of the machine that ran it", max_length=40),
                ),
                ("up_s", models.FloatField(blank=True, help_text="how long that machine was up", null=True)),
                (
                    "clock_apart_s",
                    models.FloatField(
                        blank=True, help_text="the program's clock less that of the database", null=True
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="MailTrouble",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="farms.farm",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("skipped", "sheets that came too late"),
                            ("bounced", "an address whose mail comes back"),
                            ("dead", "a sheet that cannot be handed over"),
                            ("halted", "the mail server refuses this service"),
                            ("clock", "the clock cannot be trusted"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "key",
                    models.CharField(
                        help_text="what makes it one trouble: a day, an address, a row", max_length=260
                    ),
                ),
                ("says", models.CharField(max_length=300)),
                ("row_count", models.PositiveIntegerField(default=1, help_text="sheets that it is about")),
                ("raised_at", models.DateTimeField()),
                ("not_before_at", models.DateTimeField(blank=True, null=True)),
                ("attempt", models.PositiveSmallIntegerField(default=0)),
                (
                    "told_at",
                    models.DateTimeField(
                        blank=True, help_text="when it was mailed to the manager", null=True
                    ),
                ),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "ended_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["farm", "raised_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("farm__isnull", False)),
                        fields=("farm", "kind", "key"),
                        name="one_mail_trouble_per_key",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True), ("farm__isnull", True)),
                        fields=("kind", "key"),
                        name="one_standing_trouble_of_all",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SendTry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "row",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tries",
                        to="digests.outboxrow",
                    ),
                ),
                ("tried_at", models.DateTimeField()),
                ("attempt", models.PositiveSmallIntegerField(help_text="of the row, when this was written")),
                (
                    "outcome",
                    models.CharField(
                        help_text="a verdict of the mail server's answer, or `again`", max_length=12
                    ),
                ),
                ("address", models.CharField(blank=True, max_length=254)),
                ("smtp_reply", models.CharField(blank=True, max_length=300)),
                ("error_class", models.CharField(blank=True, max_length=60)),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "send tries",
                "ordering": ["row", "tried_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="BounceReport",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                (
                    "row",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bounces",
                        to="digests.outboxrow",
                    ),
                ),
                (
                    "address",
                    models.CharField(help_text="in small letters, where the message went", max_length=254),
                ),
                ("status", models.CharField(help_text="class.subject.detail: 5.1.1", max_length=12)),
                ("action", models.CharField(blank=True, help_text="failed, delayed, …", max_length=12)),
                ("says", models.CharField(blank=True, max_length=300)),
                ("received_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["farm", "received_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("row", "status"), name="one_bounce_per_row_and_status")
                ],
                "indexes": [models.Index(fields=["farm", "address"], name="bounces_of_address")],
            },
        ),
        migrations.CreateModel(
            name="SuppressedAddress",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "farm",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="farms.farm"
                    ),
                ),
                ("address", models.CharField(help_text="in small letters", max_length=254)),
                (
                    "report",
                    models.ForeignKey(
                        blank=True,
                        help_text="the last one",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="digests.bouncereport",
                    ),
                ),
                ("since_at", models.DateTimeField()),
                ("lifted_at", models.DateTimeField(blank=True, null=True)),
                (
                    "lifted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "suppressed addresses",
                "ordering": ["farm", "address", "since_at"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("lifted_at__isnull", True)),
                        fields=("farm", "address"),
                        name="one_suppression_per_address",
                    )
                ],
            },
        ),
    ]
