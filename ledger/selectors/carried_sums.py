"""Sums of lines that are carried on: what was booked before is summed once, and what was booked since is added.

A line never changes and is never taken away, so a sum holds for ever up to the entry that was the head of the chain when
it was made. It is kept with that head; as long as this entry still stands in the books with the same digest, only the
lines of later entries have to be read.
"""

import hashlib
from collections.abc import Callable, Iterable, Mapping
from operator import add
from typing import Any, NamedTuple, TypeVar

from django.core.cache import cache
from django.core.exceptions import EmptyResultSet
from django.db.models import QuerySet
from django.db.models.aggregates import Aggregate

from farmops.core.release import release_mark
from farmops.farms.models import Farm
from ledger.models import Entry, Line
from ledger.selectors.chain import ChainHead, chain_head

KEPT_S = 24 * 3600
Made = TypeVar("Made")
LineSums = dict[tuple[Any, ...], tuple[int, ...]]
"""Whole sums by the values of some columns, in the order in which both were asked for."""


class _Kept(NamedTuple):
    head: ChainHead
    sums: LineSums


def line_sums(
    *,
    farm: Farm,
    lines: QuerySet[Line],
    by: tuple[str, ...],
    sums: Mapping[str, Aggregate],
    carry: bool = False,
    beside: object = None,
) -> LineSums:
    """Return counts and sums of some lines of one farm by at least one column; what has no lines has no sums.

    A sum of nothing is 0. Where they are to be carried on, what says which lines they are must never change of a line;
    and where a column is of a row that can change, `beside` says how these rows stand now, since what was summed under
    other values does not hold.
    """
    if not carry:
        return _together({}, _grouped(lines, by, sums), len(by))
    head = chain_head(farm=farm)
    try:
        asked = _grouped(lines, by, sums).query.sql_with_params()
    except EmptyResultSet:
        return {}
    told = repr((farm.pk, asked, beside, release_mark())).encode()
    key = f"line-sums-{hashlib.sha256(told).hexdigest()}"
    found_there = cache.get(key)
    kept = found_there if isinstance(found_there, _Kept) else None
    if kept is not None and kept.head == head:
        return kept.sums
    if kept is not None and kept.head.number < head.number and _stands(farm, kept.head):
        later = lines.filter(
            entry__farm=farm, entry__number__gt=kept.head.number, entry__number__lte=head.number
        )
        found = _together(kept.sums, _grouped(later, by, sums), len(by))
    else:
        found = _together({}, _grouped(lines, by, sums), len(by))
        if chain_head(farm=farm) != head:  # something was booked while they were summed
            return found
    if found:  # of what nothing is booked on, nothing is kept: such words can be typed
        cache.set(key, _Kept(head, found), KEPT_S)
    return found


def at_head(*, farm: Farm, what: str, asked: object, make: Callable[[], Made]) -> Made:
    """Return what is made of the lines of a farm alone, or was made of them before with the books as they are.

    `asked` is all else that it depends on; another release makes it anew.
    """
    head = chain_head(farm=farm)
    told = repr((farm.pk, head, asked, release_mark())).encode()
    key = f"at-head-{what}-{hashlib.sha256(told).hexdigest()}"
    kept = cache.get(key)
    if isinstance(kept, tuple) and kept:
        found: Made = kept[0]
        return found
    made = make()
    if chain_head(farm=farm) == head:
        cache.set(key, (made,), KEPT_S)
    return made


def _stands(farm: Farm, head: ChainHead) -> bool:
    return Entry.objects.filter(farm=farm, number=head.number, hash=head.digest).exists()


def _grouped(lines: QuerySet[Line], by: tuple[str, ...], sums: Mapping[str, Aggregate]) -> QuerySet[Any, Any]:
    return lines.order_by().values(*by).annotate(**sums).values_list(*by, *sums)


def _together(before: LineSums, rows: Iterable[tuple[Any, ...]], columns: int) -> LineSums:
    found = dict(before)
    for row in rows:
        key, more = row[:columns], [one or 0 for one in row[columns:]]
        known = found.get(key)
        found[key] = tuple(more) if known is None else tuple(map(add, known, more))
    return found
