"""Make the evening's notices: a hand hears of it when tomorrow is not what it was when the hand was last told."""

import datetime as dt
import logging
from collections.abc import Iterable
from zoneinfo import ZoneInfo

from farmops.digests.change_facts import hash_of
from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.digests.selectors.changes import (
    DayOfHands,
    day_of_hands,
    farms_with_changes,
    first_told_at,
)
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.selectors.told import OPEN, notices_of_day, told_count
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.digests.services.rows import first_state, new_row
from farmops.farms.models import Hand

logger = logging.getLogger(__name__)


def make_changes(clocks: Iterable[FarmClock], *, now: dt.datetime) -> list[OutboxRow]:
    """Return the rows that are owed, not stored yet: of the farms whose evening it is, and of which something may differ.

    Level-triggered: a number is made when what stands differs from what was last told, and none is on its way.
    """
    evening = [one for one in clocks if _is_evening(one, now)]
    changed = farms_with_changes(clocks=evening)
    rows: list[OutboxRow] = []
    for clock in evening:
        if clock.farm.pk not in changed:
            continue
        try:
            rows += _rows(clock, now=now)
        except COMPOSING_TROUBLE:
            logger.exception("The changes of %s for %s cannot be told.", clock.farm.code, clock.day)
    return rows


def _is_evening(clock: FarmClock, now: dt.datetime) -> bool:
    local = now.astimezone(ZoneInfo(clock.farm.zone)).time()
    return clock.times.notice_at <= local < clock.times.notice_until


def _rows(clock: FarmClock, *, now: dt.datetime) -> Iterable[OutboxRow]:
    tomorrow = clock.day + dt.timedelta(days=1)
    stands = day_of_hands(farm=clock.farm, day=tomorrow)
    since = first_told_at(farm=clock.farm, day=tomorrow, began=clock.instant(dt.time()))
    morning = day_of_hands(farm=clock.farm, day=tomorrow, at=since)
    told = notices_of_day(farm=clock.farm, day=clock.day)
    touched = {*stands.stops, *morning.stops}
    hands = Hand.objects.filter(farm=clock.farm, works=True, pk__in=touched).exclude(email="")
    for hand in hands:
        row = _row(clock, hand, stands, morning, told.get(hand.pk, []), now=now)
        if row is not None:
            yield row


def _row(
    clock: FarmClock,
    hand: Hand,
    stands: DayOfHands,
    morning: DayOfHands,
    told: list[OutboxRow],
    *,
    now: dt.datetime,
) -> OutboxRow | None:
    told_hash = hash_of(stands.of(hand.pk))
    last_hash = told[-1].told_hash if told else hash_of(morning.of(hand.pk))
    on_its_way = any(row.state in OPEN for row in told)
    wants_none = bool(told) and told[-1].state == RowState.SUPPRESSED
    is_enough = told_count(told) >= clock.times.most_notices_per_day
    if told_hash == last_hash or on_its_way or wants_none or is_enough:
        return None
    return new_row(
        clock=clock,
        person=hand,
        kind=SheetKind.CHANGE,
        due_at=now,
        now=now,
        state=first_state(clock, hand, SheetKind.CHANGE),
        plan_no=stands.plan_no,
        number=told[-1].number + 1 if told else 1,
        told_hash=told_hash,
    )
