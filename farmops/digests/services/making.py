"""Make the rows that are owed: asked again and again, it makes each row once and sends nothing."""

import datetime as dt
import logging
from collections.abc import Iterable, Mapping, Sequence

from farmops.core.models import User
from farmops.digests.models import Heartbeat, OnEmptyDay, OutboxRow, Reason, RowState, SheetKind
from farmops.digests.selectors.clocks import FarmClock, farm_clocks
from farmops.digests.selectors.day import Busy, busy_of_farms, hands_with_tasks
from farmops.digests.selectors.owed import (
    by_day,
    farms_with_empty_rows,
    hands_without_row,
    users_without_row,
)
from farmops.digests.selectors.people import ROLE_OF
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.digests.services.heartbeat import SHEETS
from farmops.digests.services.making_changes import make_changes
from farmops.digests.services.making_troubles import make_troubles
from farmops.digests.services.rows import first_state, give_up_at, latest, new_row
from farmops.farms.models import Farm, Hand
from scheduling.selectors.plans import plan_number_of_day, plan_numbers_of_day

__all__ = ["give_up_at", "make_due", "make_for"]

FARMS_AT_ONCE = 10
"""So many farms' plans are read together, to see who has something to do."""
AT_AN_HOUR = (SheetKind.DIGEST, SheetKind.COSTS)
"""Kinds of mail that users in a role get at an hour."""

logger = logging.getLogger(__name__)


def make_due(*, now: dt.datetime) -> int:
    """Make a row of each kind for each person whose hour has come on the farm's clock.

    It is number 1 and no other, but for changes for tomorrow, which come as they happen.

    Level-triggered: the question is what is due and not made, so it may be asked twice, late, or by hand. A hand with
    nothing to do gets the state `empty`, which becomes `due` when work is sent for the day before the hour to give up.
    Where nothing ran from before somebody's hour until now, the row is made whatever the hour: one that is too late is
    skipped by the next step, and somebody hears of it. Returns the number of rows that are new or newly due.
    """
    clocks = {one.farm.pk: one for one in farm_clocks(now=now)}
    silent_since = Heartbeat.objects.filter(job=SHEETS).values_list("last_at", flat=True).first()
    made = _make_hands(clocks, silent_since=silent_since, now=now) + _wake_hands(clocks, now=now)
    for kind in AT_AN_HOUR:
        made += _make_users(clocks, kind, silent_since=silent_since, now=now)
    made += _store(make_changes(clocks.values(), now=now))
    return made + _store(make_troubles(clocks, now=now))


def make_for(*, farm: Farm, day: dt.date, now: dt.datetime, kind: str = SheetKind.HAND) -> int:
    """Make the rows of a farm and day at once, whatever the hour: somebody asks for it by hand.

    A row that was skipped for being late is due again; one that was sent stays sent.
    """
    [clock] = [FarmClock(farm, day, one.times, one.choices) for one in farm_clocks(now=now, farm=farm)]
    until = now + dt.timedelta(minutes=clock.times.catch_up_min)
    again = OutboxRow.objects.filter(farm=farm, local_day=day, kind=kind, number=1)
    again.filter(state__in=[RowState.SKIPPED, RowState.DEAD]).update(
        state=RowState.DUE, reason="", attempt=0, not_before_at=now, give_up_at=until
    )
    if kind == SheetKind.HAND:
        hands = hands_without_row(farms={day: [farm]}).get(farm.pk, [])
        rows = _rows_of_hands(clock, hands, _Busy([clock]).of(clock), now=now) if hands else []
    else:
        users = users_without_row(farms={day: [farm]}, kind=kind, role=ROLE_OF[SheetKind(kind)])
        rows = _rows_of_users(clock, users.get(farm.pk, []), kind, now=now)
    for row in rows:
        row.give_up_at = until
    woken = _wake(clock, now=now, until=until) if kind == SheetKind.HAND else 0
    return _store(rows) + woken


def _make_hands(
    clocks: Mapping[int, FarmClock], *, silent_since: dt.datetime | None, now: dt.datetime
) -> int:
    """Make what is missing of the morning sheets."""
    open_now = [one for one in clocks.values() if _first_hour(one, SheetKind.HAND) <= now]
    missing = hands_without_row(farms=by_day((one.day, one.farm) for one in open_now))
    busy = _Busy([clocks[farm_id] for farm_id in missing])
    made = 0
    for farm_id, hands in missing.items():
        clock = clocks[farm_id]
        owed = [
            hand
            for hand in hands
            if _is_owed(clock, SheetKind.HAND, hand.pk, silent_since=silent_since, now=now)
        ]
        try:
            made += _store(_rows_of_hands(clock, owed, busy.of(clock), now=now) if owed else [])
        except COMPOSING_TROUBLE:
            logger.exception("The sheets of %s for %s cannot be made.", clock.farm.code, clock.day)
    return made


class _Busy:
    """Who has something to do today, read for some farms at a time in the order in which they are asked for."""

    def __init__(self, clocks: Sequence[FarmClock]) -> None:
        self._clocks = list(clocks)
        self._read: dict[int, Busy] = {}

    def of(self, clock: FarmClock) -> Busy:
        """Return it of one farm; where those beside it cannot be read, of that one by itself."""
        if clock.farm.pk not in self._read:
            after = self._clocks[self._clocks.index(clock) :]
            together = [one.farm for one in after if one.day == clock.day][:FARMS_AT_ONCE]
            try:
                self._read = busy_of_farms(farms=together, day=clock.day)
            except COMPOSING_TROUBLE:
                return busy_of_farms(farms=[clock.farm], day=clock.day)[clock.farm.pk]
        return self._read[clock.farm.pk]


def _make_users(
    clocks: Mapping[int, FarmClock], kind: str, *, silent_since: dt.datetime | None, now: dt.datetime
) -> int:
    """Make what is missing of a kind of mail to users."""
    open_now = [one for one in clocks.values() if _is_day_of(one, kind) and _first_hour(one, kind) <= now]
    farms = by_day((one.day, one.farm) for one in open_now)
    missing = users_without_row(farms=farms, kind=kind, role=ROLE_OF[SheetKind(kind)])
    made = 0
    for farm_id, users in missing.items():
        clock = clocks[farm_id]
        owed = [one for one in users if _is_owed(clock, kind, one.pk, silent_since=silent_since, now=now)]
        made += _store(_rows_of_users(clock, owed, kind, now=now))
    return made


def _rows_of_users(
    clock: FarmClock, users: Iterable[User], kind: str, *, now: dt.datetime
) -> list[OutboxRow]:
    return [
        new_row(
            clock=clock,
            person=user,
            kind=kind,
            due_at=clock.instant(clock.hour_of(kind, user.pk)),
            now=now,
            state=first_state(clock, user, kind),
        )
        for user in users
    ]


def _is_day_of(clock: FarmClock, kind: str) -> bool:
    """Say whether a kind of mail goes out on the farm's day at all."""
    return kind != SheetKind.COSTS or clock.day.weekday() == clock.times.cost_weekday


def _wake_hands(clocks: Mapping[int, FarmClock], *, now: dt.datetime) -> int:
    """Look again at rows that were empty by an older plan, of the farms where the day is not over for the mail."""
    woken = 0
    for day, farms in by_day((one.day, one.farm) for one in clocks.values()).items():
        empty = farms_with_empty_rows(farms={day: farms}, now=now)
        numbers = plan_numbers_of_day(farms=[one for one in farms if one.pk in empty], day=day)
        for farm_id, plan_nos in empty.items():
            if plan_nos == {numbers[farm_id]}:
                continue
            try:
                woken += _wake(clocks[farm_id], now=now)
            except COMPOSING_TROUBLE:
                logger.exception("The sheets of %s for %s cannot be made.", clocks[farm_id].farm.code, day)
    return woken


def _wake(clock: FarmClock, *, now: dt.datetime, until: dt.datetime | None = None) -> int:
    plan_no = plan_number_of_day(farm=clock.farm, day=clock.day)
    outdated = OutboxRow.objects.filter(
        farm=clock.farm, local_day=clock.day, kind=SheetKind.HAND, number=1, state=RowState.EMPTY
    ).exclude(plan_no=plan_no)
    outdated = outdated if until else outdated.filter(give_up_at__gt=now)
    if not outdated.exists():
        return 0
    busy = hands_with_tasks(farm=clock.farm, day=clock.day)
    again = {"give_up_at": until} if until else {}
    woken = outdated.filter(hand_id__in=busy).update(
        state=RowState.DUE, reason="", plan_no=plan_no, not_before_at=now, **again
    )
    outdated.update(plan_no=plan_no)
    return woken


def _rows_of_hands(
    clock: FarmClock, hands: Sequence[Hand], busy: Busy, *, now: dt.datetime
) -> list[OutboxRow]:
    rows = []
    for hand in hands:
        state = first_state(clock, hand, SheetKind.HAND)
        wants_none = clock.on_empty_day(SheetKind.HAND, hand.pk) == OnEmptyDay.NONE
        if state[0] == RowState.DUE and hand.pk not in busy.hands and wants_none:
            state = RowState.EMPTY, Reason.NOTHING_TO_DO
        rows.append(
            new_row(
                clock=clock,
                person=hand,
                kind=SheetKind.HAND,
                due_at=clock.instant(clock.hour_of(SheetKind.HAND, hand.pk)),
                now=now,
                plan_no=busy.plan_no,
                state=state,
            )
        )
    return rows


def _first_hour(clock: FarmClock, kind: str) -> dt.datetime:
    """Return the earliest instant of the day at which somebody of a farm is owed a kind of mail."""
    own = [
        choice.send_at
        for (of_kind, _), choice in clock.choices.items()
        if of_kind == kind and choice.send_at is not None
    ]
    return clock.instant(min([clock.hour_of(kind), *own]))


def _is_owed(
    clock: FarmClock, kind: str, person_id: int, *, silent_since: dt.datetime | None, now: dt.datetime
) -> bool:
    """Say whether a person's hour has come and is not over, or came and went while nothing ran."""
    due_at = clock.instant(clock.hour_of(kind, person_id))
    if now < due_at:
        return False
    ends_at = latest(farm=clock.farm, times=clock.times, due_at=due_at, kind=kind)
    return now < ends_at or (silent_since is not None and silent_since < due_at)


def _store(rows: Iterable[OutboxRow]) -> int:
    """Store rows, passing over those that somebody else has made meanwhile; return how many of them are due."""
    rows = list(rows)
    if rows:
        OutboxRow.objects.bulk_create(rows, ignore_conflicts=True)
    return sum(row.state == RowState.DUE for row in rows)
