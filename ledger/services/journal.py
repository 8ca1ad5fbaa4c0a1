"""Writing one entry: numbered, chained, complete. Everything that books goes through here or through held books."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from ledger.models import Entry
from ledger.selectors.drafts import DraftLine
from ledger.selectors.sources import Source
from ledger.services.held_books import HeldBooks, ReversalRefused

__all__ = ["ReversalRefused", "hold_books", "open_books", "reverse_entry", "write_entry", "write_reversal"]


def hold_books(*, farm: Farm) -> None:
    """Hold a farm's books until the end of the transaction, so that numbers follow each other.

    Where the engine has no row locks, its single writer does the same.
    """
    Farm.objects.select_for_update(no_key=True).get(pk=farm.pk)


def open_books(*, farm: Farm) -> HeldBooks:
    """Hold a farm's books and return them, read after they are held."""
    hold_books(farm=farm)
    return HeldBooks(farm=farm)


def write_entry(
    *,
    farm: Farm,
    source: Source,
    lines: Sequence[DraftLine],
    happened_on: dt.date,
    now: dt.datetime,
    purpose: str = "cost",
    why: str = "",
    made_by: Any = None,
) -> Entry:
    """Write the entry of a source; the caller has a transaction open and holds the books.

    It is booked on its own day, or on the first day of the month that is open where its own is closed.
    """
    books = HeldBooks(farm=farm)
    entry = books.add(
        source=source,
        lines=lines,
        happened_on=happened_on,
        now=now,
        purpose=purpose,
        why=why,
        made_by=made_by,
    )
    books.flush()
    return entry


def write_reversal(*, entry: Entry, why: str, now: dt.datetime, made_by: Any = None) -> Entry:
    """Write the entry that undoes another to the cent, on the same business date; the caller holds the books.

    It is booked into an open month, whatever month the other stands in.
    """
    books = HeldBooks(farm=entry.farm)
    reversal = books.add_reversal(entry=entry, why=why, now=now, made_by=made_by)
    books.flush()
    return reversal


def reverse_entry(*, entry: Entry, why: str, now: dt.datetime, made_by: Any = None) -> Entry:
    """Undo an entry with a reason; both stay visible. Raise ReversalRefused for a second time or a reversal."""
    if not why.strip():
        raise ReversalRefused(_("A reversal needs a reason in words."), fields={"why": "Say why."})
    with transaction.atomic():
        hold_books(farm=entry.farm)
        return write_reversal(entry=entry, why=why.strip(), now=now, made_by=made_by)
