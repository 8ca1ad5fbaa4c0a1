"""What the bookkeeper of the demo did before the week: counted the stock, entered bills and a budget, closed a month."""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from farmops.farms.models import Farm
from farmops.tryout.scenario import Scenario
from ledger.services.bill_files import import_bills
from ledger.services.budget_files import load_budgets
from ledger.services.opening import enter_opening_stock
from ledger.services.periods import close_period
from ledger.services.posting import PostingReport, post_pending


@dataclass(frozen=True)
class BooksBefore:
    """What stood in the books before the week, and the head under which the month was closed."""

    bills: int
    budget_lines: int
    counted: int
    posted: PostingReport
    closed_month: dt.date
    head: str


def bring_in_books(*, farm: Farm, scenario: Scenario, made_by: Any, now: dt.datetime) -> BooksBefore:
    """Enter what the demo's files say, post it, and close the month."""
    for one in scenario.counted:
        enter_opening_stock(
            farm=farm,
            client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"{farm.code}/opening/{one.item}"),
            item=one.item,
            category=one.category,
            quantity=one.quantity,
            unit=one.unit,
            amount_usd=one.amount_usd,
            on=one.on,
            entered_by=made_by,
            now=now,
        )
    bills = import_bills(farm=farm, path=scenario.folder / "bills.csv", entered_by=made_by, now=now)
    budget_lines, _known = load_budgets(
        farm=farm, path=scenario.folder / "budgets.csv", entered_by=made_by, now=now
    )
    posted = post_pending(farm=farm, now=now)
    closed = close_period(farm=farm, month=scenario.close_month, made_by=made_by, now=now)
    return BooksBefore(
        bills.new, budget_lines, len(scenario.counted), posted, scenario.close_month, closed.head.digest
    )
