"""The mark of all that the lines of a tax form are worked out from and said with.

Whoever makes them of another kind of row adds it here; a test holds the tables that are read against these.
"""

from farmops.farms.models import Farm, Season
from ledger.models import (
    Bill,
    BillItem,
    BillPayment,
    CategoryMap,
    CategoryMapLine,
    Entity,
    FarmCategory,
    Payee,
)
from ledger.selectors.chain import chain_head
from scheduling.selectors.row_marks import Marked, every_row, mark_of

READ = (Bill, BillItem, BillPayment, Payee, Entity, Season, FarmCategory, CategoryMap, CategoryMapLine)


def form_mark(*, farm: Farm) -> str:
    """Return words that change with the farm itself, with each of these rows, and with the books, which say what was undone."""
    return f"{chain_head(farm=farm)}{mark_of(farm, _marked)}"


def _marked(farm_id: int) -> list[Marked]:
    return every_row(farm_id, READ)
