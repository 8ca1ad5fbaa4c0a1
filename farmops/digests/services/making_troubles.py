"""Make the mail that tells a manager of trouble with the mail: one a day while something stands that was not told."""

import datetime as dt
from collections.abc import Mapping

from farmops.digests.models import MailTrouble, OutboxRow, RowState, SheetKind
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.selectors.owed import by_day, users_without_row
from farmops.digests.selectors.troubles import farms_with_untold_troubles
from farmops.digests.services.rows import first_state, new_row
from farmops.farms.models import Role


def make_troubles(clocks: Mapping[int, FarmClock], *, now: dt.datetime) -> list[OutboxRow]:
    """Return the rows that are owed, not stored yet, after writing down what has been told meanwhile."""
    note_told()
    farms = [clocks[pk] for pk in farms_with_untold_troubles() if pk in clocks]
    if not farms:
        return []
    missing = users_without_row(
        farms=by_day((one.day, one.farm) for one in farms), kind=SheetKind.TROUBLE, role=Role.MANAGER
    )
    return [
        new_row(
            clock=clocks[farm_id],
            person=user,
            kind=SheetKind.TROUBLE,
            due_at=now,
            now=now,
            state=first_state(clocks[farm_id], user, SheetKind.TROUBLE),
        )
        for farm_id, users in missing.items()
        for user in users
    ]


def note_told() -> int:
    """Write down of each trouble that it was told, where a manager's mail that was made after it has gone out.

    What came up between the making of that mail and its going out may stand in it, and is told once more all the same.
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
