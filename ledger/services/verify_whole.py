"""What no single entry shows: sources that stand twice, months that took something after they were closed, stocks that
gave more than they held."""

import datetime as dt
from collections.abc import Iterator

from django.db.models import F, Sum

from farmops.farms.models import Farm
from ledger.models import Entry, Line, PeriodMark, SourceKind
from ledger.selectors.periods import month_of, open_day
from ledger.selectors.sources import key_of
from ledger.services.held_books import STOCKS, is_layer

Told = Iterator[tuple[str, str]]

ANEW = {
    "work_record__superseded_by__entries": "its work record was superseded and posted anew",
    "bill__superseded_by__entries": "its bill was superseded and posted anew",
    "payment__bill__superseded_by__payment__entries": "its bill was superseded and paid anew",
    "care_done__superseded_by__entries": "its service was corrected and posted anew",
    "opening__superseded_by__entries": "its opening stock was superseded and posted anew",
    "fuel_fill__superseded_by__entries": "its fill-up was corrected and posted anew",
}
"""From an entry to the entries of what superseded its source."""


class MonthsMet:
    """The months that were closed at each point of the chain: nothing but closes and reopenings lands in them."""

    def __init__(self) -> None:
        self._closed: set[dt.date] = set()

    def faults(self, entry: Entry) -> Iterator[str]:
        """Name a booking day that was not open when the entry was written. Take the entries in their order."""
        if entry.source_kind == SourceKind.PERIOD:
            yield from self._mark(entry)
            return
        last = max(self._closed, default=None)
        if last is not None and month_of(entry.booked_on) <= last:
            yield f"it is booked on {entry.booked_on}, and {last:%Y-%m} was closed before"
        elif entry.form_no > 1 and entry.booked_on != open_day(day=entry.happened_on, closed=last):
            yield f"it happened on {entry.happened_on} and is booked on {entry.booked_on}, and its month was open"

    def _mark(self, entry: Entry) -> Iterator[str]:
        """Take in a close or a reopening by its key: `2026-04 close 1`."""
        month, what, _turn = entry.source_key.split(" ")
        first = dt.date.fromisoformat(f"{month}-01")
        if what == "reopen":
            if first != max(self._closed, default=None):
                yield f"it opens {month} again, which was not the last closed month"
            self._closed.discard(first)
            return
        if self._closed and first <= max(self._closed):
            yield f"it closes {month}, which was closed before"
        self._closed.add(first)


def twice(farm: Farm) -> Told:
    """Name what stands twice: the entry of a superseded source beside the entry of what superseded it."""
    standing = Entry.objects.filter(farm=farm, reversed_by__isnull=True)
    for path, says in ANEW.items():
        found = standing.filter(**{f"{path}__isnull": False}).distinct().order_by("number")
        for number in found.values_list("number", flat=True):
            yield f"entry {number}", f"{says}, and it still stands"


def overdrawn(farm: Farm) -> Told:
    """Name a layer of stock of which more was drawn than came in with it; one that was taken back may be short."""
    drawn = (
        Line.objects.filter(farm=farm, account__in=STOCKS, layer__isnull=False)
        .values("layer")
        .annotate(out_e4=Sum("quantity_e4"))
        .filter(out_e4__lt=-F("layer__quantity_e4"), layer__entry__reversed_by__isnull=True)
        .values_list("layer", "out_e4")
    )
    layers = Line.objects.select_related("entry").in_bulk([key for key, _out in drawn])
    for key, out_e4 in drawn:
        layer = layers[key]
        if is_layer(layer):
            held = f"{layer.quantity_e4} ten-thousandths of a {layer.unit}"
            yield (
                f"entry {layer.entry.number}",
                f"line {layer.line_no} brought {held} of {layer.item}, and {-out_e4} were drawn from it",
            )


def marks_alone(farm: Farm) -> Told:
    """Name a close or reopening that stands in no entry; an entry that was read from a journal has its key alone."""
    read = Entry.objects.filter(farm=farm, source_kind=SourceKind.PERIOD, is_imported=True)
    keys = set(read.values_list("source_key", flat=True))
    for mark in PeriodMark.objects.filter(farm=farm, entries__isnull=True):
        if key_of(mark) not in keys:
            yield (
                f"month {mark.month:%Y-%m}",
                f"it was {'closed' if mark.is_close else 'opened again'} by no entry",
            )
