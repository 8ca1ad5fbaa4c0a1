"""Make the rows that are owed: asked again and again, it makes each row once and sends nothing."""

import datetime as dt
import logging
from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings

from farmops.core.clock import local_date
from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.digests.selectors.day import hands_with_tasks, sheet_instant
from farmops.digests.services.mailing import message_id_of
from farmops.farms.models import Farm, Hand
from scheduling.selectors.plans import plan_of_day

logger = logging.getLogger(__name__)

# A sheet that was held up still goes out for this long after its hour, never after the day itself.
CATCH_UP = dt.timedelta(hours=6)


@dataclass(frozen=True)
class Owed:
    """The sheets of one farm and day: when they are due and when it is too late."""

    farm: Farm
    day: dt.date
    due_at: dt.datetime
    give_up_at: dt.datetime


def make_due(*, now: dt.datetime) -> int:
    """Make a row for each working hand with an address, of each farm whose clock has reached its sheet hour today.

    Level-triggered: the question is what is due and not made, so it may be asked twice, late, or by hand. A hand with
    nothing to do gets the state `empty`, which becomes `due` when work is sent for the day before the hour to give up.
    Returns the number of rows that are new or newly due.
    """
    return sum(_make(owed, now=now) for owed in _owed_now(now))


def make_for(*, farm: Farm, day: dt.date, now: dt.datetime) -> int:
    """Make the rows of a farm and day at once, whatever the hour: somebody asks for it by hand.

    A row that was skipped for being late is due again; one that was sent stays sent.
    """
    owed = Owed(farm, day, sheet_instant(farm=farm, day=day), now + CATCH_UP)
    OutboxRow.objects.filter(
        farm=farm, local_day=day, kind=SheetKind.HAND, state__in=[RowState.SKIPPED, RowState.DEAD]
    ).update(state=RowState.DUE, attempt=0, not_before_at=now, give_up_at=owed.give_up_at)
    return _make(owed, now=now)


def give_up_at(*, farm: Farm, day: dt.date) -> dt.datetime:
    """Return the instant after which a sheet of that day helps nobody."""
    midnight = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=ZoneInfo(farm.zone))
    return min(sheet_instant(farm=farm, day=day) + CATCH_UP, midnight.astimezone(dt.UTC))


def _owed_now(now: dt.datetime) -> Iterable[Owed]:
    for farm in Farm.objects.order_by("pk"):
        try:
            day = local_date(now, farm.zone)
        except (ZoneInfoNotFoundError, ValueError):
            logger.error("The farm %s has no clock: %r is not a zone.", farm.code, farm.zone)
            continue
        owed = Owed(farm, day, sheet_instant(farm=farm, day=day), give_up_at(farm=farm, day=day))
        if owed.due_at <= now < owed.give_up_at:
            yield owed


def _make(owed: Owed, *, now: dt.datetime) -> int:
    """Make what is missing, and look again at rows that were empty by an older plan."""
    plan = plan_of_day(farm=owed.farm, day=owed.day)
    plan_no = plan.number if plan else None
    of_day = OutboxRow.objects.filter(farm=owed.farm, local_day=owed.day, kind=SheetKind.HAND)
    made = set(of_day.values_list("hand_id", flat=True))
    hands = list(Hand.objects.filter(farm=owed.farm, works=True).exclude(email="").exclude(pk__in=made))
    outdated = of_day.filter(state=RowState.EMPTY).exclude(plan_no=plan_no)
    if not hands and not outdated.exists():
        return 0
    busy = hands_with_tasks(farm=owed.farm, day=owed.day)
    rows = [_row(owed, hand, plan_no=plan_no, is_busy=hand.pk in busy, now=now) for hand in hands]
    OutboxRow.objects.bulk_create(rows, ignore_conflicts=True)
    woken = outdated.filter(hand_id__in=busy).update(
        state=RowState.DUE, plan_no=plan_no, not_before_at=now, give_up_at=owed.give_up_at
    )
    outdated.update(plan_no=plan_no)
    return sum(row.state == RowState.DUE for row in rows) + woken


def _row(owed: Owed, hand: Hand, *, plan_no: int | None, is_busy: bool, now: dt.datetime) -> OutboxRow:
    return OutboxRow(
        farm=owed.farm,
        hand=hand,
        kind=SheetKind.HAND,
        local_day=owed.day,
        state=RowState.DUE if is_busy else RowState.EMPTY,
        due_at=owed.due_at,
        not_before_at=min(owed.due_at, now),
        give_up_at=owed.give_up_at,
        plan_no=plan_no,
        message_id=message_id_of(
            farm_code=owed.farm.code,
            hand_code=hand.code,
            kind=SheetKind.HAND,
            day=owed.day,
            sender=settings.DEFAULT_FROM_EMAIL,
        ),
        created_at=now,
    )
