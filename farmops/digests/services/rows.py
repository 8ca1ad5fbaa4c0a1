"""Build the rows of the outbox: what a row says of its person, its hour and its identity. Nothing is stored here."""

import datetime as dt
import secrets
from zoneinfo import ZoneInfo

from django.conf import settings

from farmops.core.models import User
from farmops.digests.models import MailTimes, OutboxRow, Reason, RowState, SheetKind
from farmops.digests.selectors.choices import mail_times
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.services.mailing import message_id_of
from farmops.farms.models import Farm, Hand

SHORTEST_FOR_A_NOTICE = dt.timedelta(minutes=30)
"""A change told in the last minutes of the evening still has this long to get through."""


def give_up_at(*, farm: Farm, due_at: dt.datetime, kind: str) -> dt.datetime:
    """Return the instant after which a mail that was due at another helps nobody: never after its day."""
    return latest(farm=farm, times=mail_times(farm=farm), due_at=due_at, kind=kind)


def latest(*, farm: Farm, times: MailTimes, due_at: dt.datetime, kind: str) -> dt.datetime:
    """Return the same as `give_up_at`, by times that are already read."""
    zone = ZoneInfo(farm.zone)
    day = due_at.astimezone(zone).date()
    ends = [
        due_at + dt.timedelta(minutes=times.catch_up_min),
        dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=zone),
    ]
    if kind == SheetKind.CHANGE:
        evening = dt.datetime.combine(day, times.notice_until, tzinfo=zone)
        ends.append(max(evening, due_at + SHORTEST_FOR_A_NOTICE))
    return min(ends).astimezone(dt.UTC)


def new_row(
    *,
    clock: FarmClock,
    person: Hand | User,
    kind: str,
    due_at: dt.datetime,
    now: dt.datetime,
    state: tuple[str, str] = (RowState.DUE, ""),
    plan_no: int | None = None,
    number: int = 1,
    told_hash: str = "",
) -> OutboxRow:
    """Return a row of the farm's day that is not stored yet, in a state with its reason."""
    return OutboxRow(
        farm=clock.farm,
        hand=person if isinstance(person, Hand) else None,
        user=None if isinstance(person, Hand) else person,
        kind=kind,
        local_day=clock.day,
        number=number,
        state=state[0],
        reason=state[1],
        due_at=due_at,
        not_before_at=min(due_at, now),
        give_up_at=latest(farm=clock.farm, times=clock.times, due_at=due_at, kind=kind),
        plan_no=plan_no,
        told_hash=told_hash,
        message_id=identity(farm=clock.farm, person=person, kind=kind, day=clock.day, number=number),
        bounce_token=secrets.token_hex(10),
        created_at=now,
    )


def first_state(clock: FarmClock, person: Hand | User, kind: str) -> tuple[str, str]:
    """Return the state that a row begins in: due, or suppressed where the person wants none of the kind."""
    if clock.wants(kind, person.pk):
        return RowState.DUE, ""
    return RowState.SUPPRESSED, Reason.NOT_WANTED


def identity(*, farm: Farm, person: Hand | User, kind: str, day: dt.date, number: int) -> str:
    """Return the Message-ID of a row; a row that was made once more is a message of its own."""
    return message_id_of(
        farm_code=farm.code,
        hand_code=person.code if isinstance(person, Hand) else person.username,
        kind=kind,
        day=day,
        sender=settings.DEFAULT_FROM_EMAIL,
        number=number,
    )
