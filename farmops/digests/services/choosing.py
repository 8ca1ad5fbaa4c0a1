"""Keep when a farm's mail goes out, and what each person wants of it."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.digests.models import MailChoice, MailReader, MailTimes, OnEmptyDay, Units
from farmops.digests.models.choices import EARLIEST
from farmops.farms.models import Farm, Hand


class MailTimeRefused(DomainError):
    """An hour or a count of the mail cannot be; `fields` says which."""

    code = "mail_time_refused"


LEAST_NOTICES, MOST_NOTICES = 1, 6
SHORTEST_CATCH_UP_MIN, LONGEST_CATCH_UP_MIN = 30, 18 * 60


def set_mail_times(
    *,
    farm: Farm,
    by: User,
    now: dt.datetime,
    sheet_at: dt.time,
    digest_at: dt.time,
    notice_at: dt.time,
    notice_until: dt.time,
    cost_at: dt.time,
    cost_weekday: int,
    most_notices_per_day: int,
    catch_up_min: int,
    has_door_codes: bool,
) -> MailTimes:
    """Keep when the mail of a farm goes out, on its own clock. Raises MailTimeRefused with all that cannot be."""
    hours = {"sheet_at": sheet_at, "digest_at": digest_at, "notice_at": notice_at, "cost_at": cost_at}
    wrong = {name: said for name, at in hours.items() if (said := hour_refused(at))}
    if notice_until <= notice_at:
        wrong["notice_until"] = _("The evening has to end later than it begins.")
    if not LEAST_NOTICES <= most_notices_per_day <= MOST_NOTICES:
        wrong["most_notices_per_day"] = _("From {least} to {most} notes an evening can go out.").format(
            least=LEAST_NOTICES, most=MOST_NOTICES
        )
    if not SHORTEST_CATCH_UP_MIN <= catch_up_min <= LONGEST_CATCH_UP_MIN:
        wrong["catch_up_min"] = _("Late mail can go out for half an hour at least, and 18 hours at most.")
    if cost_weekday not in range(7):
        wrong["cost_weekday"] = _("That is no day of the week.")
    _refuse(wrong)
    facts = {
        "digest_at": digest_at,
        "notice_at": notice_at,
        "notice_until": notice_until,
        "cost_at": cost_at,
        "cost_weekday": cost_weekday,
        "most_notices_per_day": most_notices_per_day,
        "catch_up_min": catch_up_min,
        "has_door_codes": has_door_codes,
        "changed_at": now,
        "changed_by": by,
    }
    with transaction.atomic():
        Farm.objects.filter(pk=farm.pk).update(sheet_at=sheet_at)
        times, _made = MailTimes.objects.update_or_create(farm=farm, defaults=facts)
    return times


def choose(
    *,
    farm: Farm,
    person: Hand | User,
    kind: str,
    by: User | None,
    now: dt.datetime,
    is_wanted: bool = True,
    send_at: dt.time | None = None,
    on_empty_day: str = OnEmptyDay.NONE,
) -> MailChoice:
    """Keep what a person wants of one kind of mail. Raises MailTimeRefused for an hour that some days do not have."""
    said = hour_refused(send_at) if send_at is not None else ""
    _refuse({"send_at": said} if said else {})
    if on_empty_day not in OnEmptyDay.values:
        _refuse({"on_empty_day": _("Choose one of the two.")})
    facts = {
        "is_wanted": is_wanted,
        "send_at": send_at,
        "on_empty_day": on_empty_day,
        "changed_at": now,
        "changed_by": by,
    }
    row, _made = MailChoice.objects.update_or_create(farm=farm, kind=kind, **_whose(person), defaults=facts)
    return row


def set_reader(
    *,
    farm: Farm,
    person: Hand | User,
    by: User | None,
    now: dt.datetime,
    units: str,
    wants_calendar_file: bool,
) -> MailReader:
    """Keep what a person is used to, whatever the kind of mail."""
    if units not in Units.values:
        _refuse({"units": _("Choose one of the two.")})
    facts = {
        "units": units,
        "wants_calendar_file": wants_calendar_file,
        "changed_at": now,
        "changed_by": by,
    }
    row, _made = MailReader.objects.update_or_create(farm=farm, **_whose(person), defaults=facts)
    return row


def hour_refused(at: dt.time) -> str:
    """Return why nothing can be sent at an hour; empty where it can."""
    if at >= EARLIEST:
        return ""
    return _(
        "On days when the clocks change, hours between midnight and 3:30 am are missing or come twice. "
        "Choose 3:30 am or later."
    )


def _refuse(wrong: Mapping[str, str]) -> None:
    if wrong:
        raise MailTimeRefused(next(iter(wrong.values())), fields=dict(wrong))


def _whose(person: Hand | User) -> dict[str, Any]:
    return {"hand" if isinstance(person, Hand) else "user": person}
