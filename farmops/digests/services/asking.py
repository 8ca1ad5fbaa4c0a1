"""Ask for a mail once more: try again what did not go out, or send again what did, as a message of its own."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.digests.models import OutboxRow, RowState, SendTry
from farmops.digests.selectors.choices import choice_of
from farmops.digests.selectors.clocks import FarmClock, farm_clocks
from farmops.digests.services.rows import latest, new_row

AGAIN = "again"
"""What the history of a row calls a person's word."""
ENDED = (RowState.DEAD, RowState.SKIPPED, RowState.SUPPRESSED)


class NotSentAgain(DomainError):
    """A mail cannot be asked for once more; the sentence says why."""

    code = "mail_not_sent_again"
    kind = Kind.CONFLICT


def may_be_asked(*, row: OutboxRow, now: dt.datetime) -> bool:
    """Say whether a mail may go out once more: only on its own day, since a later one tells the wrong day."""
    return row.local_day == local_date(now, row.farm.zone)


def try_again(*, row: OutboxRow, by: User | None, now: dt.datetime) -> bool:
    """Make a row due that was refused, came too late or was held back; False where it is none of these any more.

    What was tried stays written down. Nothing is tried after the day of the mail, nor for somebody who wants none.
    """
    if not may_be_asked(row=row, now=now) or not _is_wanted(row):
        return False
    [clock] = farm_clocks(now=now, farm=row.farm)
    with transaction.atomic():
        changed = OutboxRow.objects.filter(pk=row.pk, state__in=ENDED).update(
            state=RowState.DUE,
            reason="",
            attempt=0,
            not_before_at=now,
            give_up_at=latest(farm=row.farm, times=clock.times, due_at=now, kind=row.kind),
        )
        if changed:
            SendTry.objects.create(
                farm=row.farm,
                row=row,
                tried_at=now,
                attempt=row.attempt,
                outcome=AGAIN,
                address=row.address,
                made_by=by,
            )
    return changed == 1


def send_again(*, row: OutboxRow, by: User, now: dt.datetime, number: int) -> OutboxRow:
    """Return a new row of the same person, kind and day that is due now; asked twice with one number, it is the same row.

    `number` is the next one as the page showed it. Raises NotSentAgain where the day is over, the person has no
    address or wants none, or something else has taken the number meanwhile.
    """
    if not may_be_asked(row=row, now=now):
        raise NotSentAgain(
            _("That day is over: a mail of it would tell the wrong day. Look at it as it was sent.")
        )
    if not row.person.email:
        raise NotSentAgain(_("{name} has no mail address. Print the sheet.").format(name=row.person_name))
    if not _is_wanted(row):
        raise NotSentAgain(_("{name} has asked for no such mail.").format(name=row.person_name))
    taken = _others(row).filter(number=number).first()
    if taken is None and number == next_number(row=row):
        taken = _stored(row, by=by, now=now, number=number)
    if taken is None or taken.asked_at is None:
        raise NotSentAgain(_("Something newer was made meanwhile. Look at the page again."))
    return taken


def next_number(*, row: OutboxRow) -> int:
    """Return the number that the next mail of the same person, kind and day gets."""
    highest = _others(row).order_by("-number").values_list("number", flat=True).first()
    return (highest or 0) + 1


def _stored(row: OutboxRow, *, by: User, now: dt.datetime, number: int) -> OutboxRow | None:
    [today] = farm_clocks(now=now, farm=row.farm)
    clock = FarmClock(row.farm, row.local_day, today.times, today.choices)
    made = new_row(clock=clock, person=row.person, kind=row.kind, due_at=now, now=now, number=number)
    made.asked_at, made.asked_by, made.plan_no = now, by, row.plan_no
    try:
        with transaction.atomic():
            made.save(force_insert=True)
    except IntegrityError:
        return _others(row).filter(number=number).first()
    return made


def _others(row: OutboxRow) -> QuerySet[OutboxRow]:
    of_person = Q(hand=row.hand_id) if row.hand_id is not None else Q(user=row.user_id)
    rows = OutboxRow.objects.filter(of_person, farm=row.farm, kind=row.kind, local_day=row.local_day)
    return rows.defer("content")


def _is_wanted(row: OutboxRow) -> bool:
    return choice_of(farm=row.farm, person=row.person, kind=row.kind).is_wanted
