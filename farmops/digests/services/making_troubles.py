"""Make the mail that tells a manager of trouble with the mail, while something stands that was not told: a few a day."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from farmops.core.models import User
from farmops.digests.models import MailTrouble, OutboxRow, RowState, SheetKind
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.selectors.owed import by_day, users_without_row
from farmops.digests.selectors.troubles import farms_with_untold_troubles
from farmops.digests.services.rows import first_state, new_row
from farmops.farms.models import Farm, Membership, Role

MOST_PER_DAY = 3
BETWEEN = dt.timedelta(hours=1)
"""Farm judgement: what goes wrong one after the other is told together, and nobody gets more than three such mails a day."""


def make_troubles(clocks: Mapping[int, FarmClock], *, now: dt.datetime) -> list[OutboxRow]:
    """Return the rows that are owed, not stored yet, after writing down what has been told meanwhile.

    What comes up after the day's mail went out does not wait for the next day: it makes a further one, an hour after the
    one before at the earliest. Where that one did not go out, its address is what is wrong, and another would not either.
    """
    note_what_was_told()
    farms = [clocks[pk] for pk in farms_with_untold_troubles() if pk in clocks]
    if not farms:
        return []
    farms_of_day = by_day((one.day, one.farm) for one in farms)
    missing = users_without_row(farms=farms_of_day, kind=SheetKind.TROUBLE, role=Role.MANAGER)
    rows = [_row(clocks[farm_id], user, 1, now=now) for farm_id, users in missing.items() for user in users]
    return [*rows, *_further(clocks, farms_of_day, now=now)]


def _further(
    clocks: Mapping[int, FarmClock], farms_of_day: Mapping[dt.date, Sequence[Farm]], *, now: dt.datetime
) -> Iterable[OutboxRow]:
    """Yield the next mail of those managers whose last one of the day went out before something else came up."""
    for day, farms in farms_of_day.items():
        told = OutboxRow.objects.filter(farm__in=farms, local_day=day, kind=SheetKind.TROUBLE)
        rows: dict[tuple[int, int | None], list[OutboxRow]] = defaultdict(list)
        for row in told.defer("content").select_related("user").order_by("number"):
            rows[row.farm_id, row.user_id].append(row)
        managers = set(
            Membership.objects.filter(farm__in=farms, role=Role.MANAGER, user__is_active=True)
            .exclude(user__email="")
            .values_list("farm_id", "user_id")
        )
        for (farm_id, user_id), of_user in rows.items():
            last, made = of_user[-1], sum(row.asked_at is None for row in of_user)
            is_told = last.sent_at is not None and last.created_at + BETWEEN <= now
            if is_told and made < MOST_PER_DAY and (farm_id, user_id) in managers and last.user is not None:
                yield _row(clocks[farm_id], last.user, last.number + 1, now=now)


def _row(clock: FarmClock, user: User, number: int, *, now: dt.datetime) -> OutboxRow:
    return new_row(
        clock=clock,
        person=user,
        kind=SheetKind.TROUBLE,
        due_at=now,
        now=now,
        number=number,
        state=first_state(clock, user, SheetKind.TROUBLE),
    )


def note_what_was_told() -> int:
    """Write down of each trouble that it was told, where a manager's mail that was made after it has gone out.

    Who sends such a mail writes down what stands in it; this is for a sender that was killed before it could. What came up
    between the making of that mail and its going out is then told once more.
    """
    noted = 0
    for trouble in MailTrouble.objects.filter(farm__isnull=False, ended_at=None, told_at=None):
        mails = OutboxRow.objects.filter(
            farm=trouble.farm_id,
            kind=SheetKind.TROUBLE,
            state=RowState.SENT,
            created_at__gte=trouble.raised_at,
        )
        sent_at = mails.order_by("sent_at").values_list("sent_at", flat=True).first()
        if sent_at is not None:
            noted += MailTrouble.objects.filter(pk=trouble.pk, told_at=None).update(told_at=sent_at)
    return noted
