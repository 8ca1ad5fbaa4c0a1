"""Marks of all that the bookkeeper's lists are made from: bills and the form of one, payees, months, share-outs.

Whoever makes one of these pages read another kind of row adds it here; a test holds the tables that they read against
these. What only the books point to, and what an entry undoes, is in their head.
"""

from collections.abc import Callable, Sequence
from typing import Any

from django.db.models import QuerySet

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Implement, Machine, Pump, Season
from ledger.models import (
    Bill,
    BillItem,
    BillPayment,
    BillPhoto,
    Entity,
    FarmCategory,
    MachineCostFacts,
    MachineYear,
    OpeningStock,
    Payee,
    PeriodMark,
    PostingWait,
    Rate,
    ShareOut,
)
from ledger.selectors.chain import chain_head
from scheduling.models import Incident, InputUse, ParkedReport
from scheduling.selectors.row_marks import Marked, every_row, mark_of

OF_PAYEES = (Bill, BillItem, BillPayment, Payee, Entity, FarmCategory)
OF_BILLS = (*OF_PAYEES, BillPhoto, Season, Field, Machine, Implement, Pump, Incident, OpeningStock, Rate)
OF_SHARE_OUTS = (FarmCategory, Season, Machine, Implement, Pump, Payee, PeriodMark, PostingWait, ShareOut)
OF_PERIODS = (*OF_BILLS, PeriodMark, PostingWait, ParkedReport, MachineYear, MachineCostFacts)


def payees_mark(*, farm: Farm) -> str:
    """Return words that change with all that the list of payees says."""
    return _mark(farm, _of_payees)


def bills_mark(*, farm: Farm) -> str:
    """Return words that change with all that bills say, and with what the form of a bill offers."""
    return _mark(farm, _of_bills)


def share_outs_mark(*, farm: Farm) -> str:
    """Return words that change with what the pools hold and with all that was shared out."""
    return _mark(farm, _of_share_outs)


def periods_mark(*, farm: Farm) -> str:
    """Return words that change with the months of the books and what is to be settled before one is closed."""
    return _mark(farm, _of_periods)


def _mark(farm: Farm, kinds: Callable[[int], Sequence[Marked]]) -> str:
    return f"{chain_head(farm=farm)}{mark_of(farm, kinds)}"


def _of_payees(farm_id: int) -> list[Marked]:
    return every_row(farm_id, OF_PAYEES)


def _of_bills(farm_id: int) -> list[Marked]:
    inputs = Marked("inputs", InputUse.objects.filter(farm=farm_id))  # never changed, nor taken away
    return [*every_row(farm_id, OF_BILLS), inputs]


def _of_share_outs(farm_id: int) -> list[Marked]:
    return [*every_row(farm_id, OF_SHARE_OUTS), _makers(ShareOut.objects.all(), farm_id)]


def _of_periods(farm_id: int) -> list[Marked]:
    return [*every_row(farm_id, OF_PERIODS), _makers(PeriodMark.objects.all(), farm_id)]


def _makers(rows: QuerySet[Any], farm_id: int) -> Marked:
    """Return who made the rows of a kind."""
    made_by = rows.filter(farm=farm_id).order_by().values("made_by")
    return Marked("makers", User.objects.filter(pk__in=made_by), columns=("pk",))
