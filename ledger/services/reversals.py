"""Undoing an entry by hand: by its number, with a reason, to the cent."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.again import again
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import Entry
from ledger.services.journal import ReversalRefused, reverse_entry

LONGEST_WHY = 200


class NoSuchEntry(DomainError):
    """An entry is asked for that the books do not have."""

    code = "no_such_entry"
    kind = Kind.MISSING


def reverse_by_number(*, farm: Farm, number: int, why: str, made_by: Any = None, now: dt.datetime) -> Entry:
    """Undo an entry of a farm with a reason and return the reversal; both stay in the books.

    It is booked on the day of the entry, or on the first day of the open month where that one's month is closed. What
    caused the entry is not booked anew. Raise NoSuchEntry, and ReversalRefused for a reversal, the close of a month, an
    entry that was reversed before, and a reason that is none.
    """
    why = " ".join(why.split())
    if len(why) > LONGEST_WHY or not why.isprintable():
        raise ReversalRefused(
            _("The reason has {count} characters; at most {most}.").format(count=len(why), most=LONGEST_WHY)
            if len(why) > LONGEST_WHY
            else _("The reason holds a sign that cannot be printed."),
            fields={"why": "Say it otherwise."},
        )
    entry = Entry.objects.filter(farm=farm, number=number).select_related("farm").first()
    if entry is None:
        raise NoSuchEntry(_("{farm} has no entry {number}.").format(farm=farm.name, number=number))
    return again(lambda: reverse_entry(entry=entry, why=why, now=now, made_by=made_by))
