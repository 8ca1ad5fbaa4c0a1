"""What a service costs that was done on the farm: the hand's time, and parts that no bill will name."""

import datetime as dt
from dataclasses import replace

from farmops.core.clock import local_date
from farmops.farms.models import Implement, Machine
from ledger.models import Account, Category
from ledger.selectors.bill_lines import field_shares
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.labor_lines import labor_costs
from ledger.selectors.posting_facts import PostingFacts
from scheduling.models import CareDone


def care_day(*, care: CareDone) -> dt.date:
    """Return the day of a service on the farm's clock."""
    return local_date(care.done_at, care.farm.zone)


def care_lines(*, care: CareDone, facts: PostingFacts) -> list[DraftLine]:
    """Return the lines of a service; raise NoRateOnDate where the wage is missing. One taken back has none.

    The pool of the machine or implement bears it, beside its bills; that of a pivot the seasons of its field by acres,
    or the farm as a whole where it has none. Labor goes against the wages owed, the owner's own time against an
    account that nobody is paid from; parts come from what the farm as a whole has bought.
    """
    if care.is_taken_back:
        return []
    return [*_labor(care, facts), *_parts(care)]


def _labor(care: CareDone, facts: PostingFacts) -> list[DraftLine]:
    if care.hand is None:
        return []
    costs = labor_costs(
        hand=care.hand,
        day=care_day(care=care),
        hand_min=care.hand_min,
        says=f"{care.hand.name}: {care.rule}",
        book=facts.book,
    )
    lines = []
    for one in costs:
        if one.cents != 0:
            lines += _borne(care, one.line(DraftLine(Account.OVERHEAD, 0)), one.owed)
    return lines


def _parts(care: CareDone) -> list[DraftLine]:
    if not care.parts_cents:
        return []
    says = f"{care.parts or 'parts'}: {care.rule}"
    cost = DraftLine(Account.OVERHEAD, care.parts_cents, Category.REPAIRS, says=says)
    return _borne(care, cost, Account.OVERHEAD)


def _borne(care: CareDone, cost: DraftLine, against: Account) -> list[DraftLine]:
    """Return a cost where it ends, and its other side; nothing where both are the farm as a whole."""
    owed = other_side(cost, against)
    places = _places(care, cost)
    if all(line.account == owed.account for line in places):
        return []
    return both_sides(places[0], against=[*places[1:], owed])


def _places(care: CareDone, cost: DraftLine) -> list[DraftLine]:
    rule = care.rule
    thing: Machine | Implement | None = rule.machine or rule.implement
    if thing is not None:
        return [replace(cost, account=Account.MACHINE_POOL, machine=rule.machine, implement=rule.implement)]
    assert rule.pivot is not None  # a check in the database says so
    shares = field_shares(whole=cost, field=rule.pivot.field, year=care_day(care=care).year)
    return shares or [cost]
