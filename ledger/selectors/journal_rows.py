"""The journal: every entry of a farm with its lines, as it was hashed, in the order of the chain.

Text, numbers and days only, no row id: the digest of each entry can be worked out from its rows and the digest before it
(`ledger.costing.chain`), by anybody and in any database.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from farmops.farms.models import Farm
from ledger.models import Entry, Line

AT_ONCE = 500
ENTRY_COLUMNS = (
    "entry",
    "form",
    "source_kind",
    "source_key",
    "purpose",
    "happened_on",
    "booked_on",
    "posted_at",
    "why",
    "reverses",
)
LINE_COLUMNS = (
    "line_no",
    "account",
    "subject",
    "outfit",
    "operation",
    "category",
    "item",
    "lot",
    "drawn_from",
    "quantity",
    "unit",
    "usd_per_unit",
    "amount_usd",
    "says",
)
DIGEST_COLUMNS = ("hash_before", "hash", "currency")
COLUMNS = (*ENTRY_COLUMNS, *LINE_COLUMNS, *DIGEST_COLUMNS)
TEXT_COLUMNS = frozenset(
    ("source_key", "why", "subject", "outfit", "operation", "category", "item", "lot", "unit", "says")
)
"""Columns of free text: only in these may a cell have an apostrophe before what would be a formula."""
INSTANT = "%Y-%m-%dT%H:%M:%S.%fZ"
LINE_FIELDS = (
    "entry_id",
    "line_no",
    "account",
    "subject",
    "outfit",
    "operation",
    "category",
    "item",
    "lot",
    "layer__entry__number",
    "layer__line_no",
    "quantity_e4",
    "unit",
    "price_e4",
    "cents",
    "says",
)


@dataclass(frozen=True)
class JournalRow:
    """One row of the journal by its columns, and its cents: an entry without lines is one row without them."""

    cells: dict[str, str]
    cents: int


def journal_rows(*, farm: Farm, through: int, currency: str) -> Iterator[JournalRow]:
    """Yield the rows of a farm's entries up to and with a number, by entry and line; memory stays flat."""
    for first in range(1, through + 1, AT_ONCE):
        last = min(first + AT_ONCE - 1, through)
        lines: dict[int, list[tuple[dict[str, str], int]]] = {}
        of_farm = Line.objects.filter(farm=farm, entry__number__gte=first, entry__number__lte=last)
        for line in of_farm.order_by("entry__number", "line_no").values_list(*LINE_FIELDS):
            lines.setdefault(line[0], []).append(_line_cells(line[1:]))
        entries = Entry.objects.filter(farm=farm, number__gte=first, number__lte=last)
        for entry in entries.select_related("reverses").order_by("number"):
            before, after = _entry_cells(entry), _digests(entry, currency)
            for cells, cents in lines.get(entry.pk) or [(dict.fromkeys(LINE_COLUMNS, ""), 0)]:
                yield JournalRow({**before, **cells, **after}, cents)


def fixed_point(value: int | None, decimals: int) -> str:
    """Return a whole number of the last decimal as plain text, exactly: -5 with two decimals is `-0.05`."""
    if value is None:
        return ""
    whole, rest = divmod(abs(value), 10**decimals)
    return f"{'-' if value < 0 else ''}{whole}.{rest:0{decimals}d}"


def _entry_cells(entry: Entry) -> dict[str, str]:
    return {
        "entry": str(entry.number),
        "form": str(entry.form_no),
        "source_kind": entry.source_kind,
        "source_key": entry.source_key,
        "purpose": entry.purpose,
        "happened_on": entry.happened_on.isoformat(),
        "booked_on": entry.booked_on.isoformat(),
        "posted_at": entry.posted_at.astimezone(dt.UTC).strftime(INSTANT),
        "why": entry.why,
        "reverses": str(entry.reverses.number) if entry.reverses is not None else "",
    }


def _digests(entry: Entry, currency: str) -> dict[str, str]:
    return {"hash_before": entry.hash_before, "hash": entry.hash, "currency": currency}


def _line_cells(line: tuple) -> tuple[dict[str, str], int]:
    (
        line_no,
        account,
        subject,
        outfit,
        operation,
        category,
        item,
        lot,
        layer_entry,
        layer_line,
        quantity_e4,
        unit,
        price_e4,
        cents,
        says,
    ) = line
    cells = {
        "line_no": str(line_no),
        "account": account,
        "subject": subject,
        "outfit": outfit,
        "operation": operation,
        "category": category,
        "item": item,
        "lot": lot,
        "drawn_from": "" if layer_entry is None else f"{layer_entry}/{layer_line}",
        "quantity": fixed_point(quantity_e4, 4),
        "unit": unit,
        "usd_per_unit": fixed_point(price_e4, 4),
        "amount_usd": fixed_point(cents, 2),
        "says": says,
    }
    return cells, cents
