"""The lines behind a number of a pool: what was put in, charged out, shared out, or all of it."""

from collections.abc import Iterator
from enum import StrEnum

from django.db.models import Q

from farmops.farms.models import Farm
from ledger.models import Account, Line
from ledger.selectors.lines import CellSum, LineDetail, details_of, sum_of
from ledger.selectors.pools import OF_CHARGES, OF_SHARES


class Side(StrEnum):
    """Which number of a pool."""

    BILLS = "bills"
    CHARGED = "charged"
    SHARED = "shared"
    LEFT = "left"


_SIDES = {
    Side.BILLS: ~OF_CHARGES & ~OF_SHARES,
    Side.CHARGED: OF_CHARGES,
    Side.SHARED: OF_SHARES,
    Side.LEFT: Q(),
}


def lines_of_pool(
    *, farm: Farm, code: str, side: Side, skip: int = 0, most: int | None = None
) -> tuple[CellSum, Iterator[LineDetail]]:
    """Return what the lines of a machine's or implement's pool come to, and a page of them as they happened.

    What takes out of the pool is below zero here.
    """
    of_pool = Q(machine__code=code) | Q(implement__code=code) | Q(machine=None, implement=None, subject=code)
    lines = Line.objects.filter(of_pool & _SIDES[side], farm=farm, account=Account.MACHINE_POOL)
    return sum_of(lines), details_of(lines, farm=farm, skip=skip, most=most)
