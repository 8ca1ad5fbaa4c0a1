"""Where a bill and its lines go, in the reader's words."""

from django.utils.translation import gettext as _

from farmops.farms.models import Implement, Machine, Pump, Season
from farmops.pages import words
from farmops.pages.bill_form import incident_words, share_words
from ledger.models import Bill, BillItem, SharedBy
from ledger.selectors.bill_ends import ends_of, stays_in_stock
from ledger.selectors.bill_lines import OWED_BEFORE
from ledger.selectors.categories import CategoryBook
from ledger.selectors.drafts import ground_code


def subject_said(*, season: Season | None, thing: Machine | Implement | Pump | None) -> str:
    """Return the season, machine, implement or pump that a cost goes to, in the reader's words; empty without one."""
    if season is not None:
        return f"{ground_code(season)} {words.named(season.get_crop_display())} {season.crop_year}"
    return "" if thing is None else thing.code


def place_said(bill: Bill, categories: CategoryBook) -> str:
    """Return where a bill goes: the one place of all its lines, else that they go to several."""
    ends = ends_of(bill=bill)
    if len(ends) > 1:
        return _("its lines")
    return _whole(bill, bill.category, categories) if ends[0] is None else _by_itself(ends[0])


def line_place_said(bill: Bill, item: BillItem, categories: CategoryBook) -> str:
    """Return where a line goes: by itself, else where its bill goes."""
    return _by_itself(item) or _whole(bill, item.category, categories)


def _by_itself(item: BillItem) -> str:
    return _("stock") if item.item else subject_said(season=item.season, thing=item.machine)


def _whole(bill: Bill, category: str, categories: CategoryBook) -> str:
    """Return where what a bill asks for a category goes if no line says otherwise; empty for what was owed before."""
    if stays_in_stock(bill=bill, category=category, categories=categories):
        return _("stock")
    if bill.shared_by:
        if bill.items.all() and category in OWED_BEFORE:
            return ""
        all_fields = (
            _("all fields of {year}, by acres")
            if bill.shared_by == SharedBy.ACRES
            else _("all fields of {year}, in equal parts")
        )
        return all_fields.format(year=bill.crop_year or bill.bill_on.year)
    named = subject_said(season=bill.season, thing=bill.machine or bill.implement or bill.pump)
    if bill.incident is not None:
        return incident_words(bill.incident.pk) + (f", {named}" if named else "")
    return named or ("" if category in OWED_BEFORE else share_words()[""])
