"""What a farm paid in a year by the lines of a tax form, for the preparer. Not tax advice.

Nothing but payments of bills gets here, by payee and day of payment: no line of the books is read. Hours of machines, the
owner's own hours, capital recovery, depreciation for management, share-outs and stock that is used are no payments.
"""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.models import Farm
from ledger.models import BillPayment, Entry
from ledger.selectors.bill_lines import owed_by_category
from ledger.selectors.bills import standing_payments
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.form_maps import SCHEDULE_F, FormLine, form_map, line_order

NOT_ADVICE = "not tax advice"
NO_LINE = FormLine("", gettext_noop("on no line of this form: the preparer says where"))


@dataclass(frozen=True)
class FormRow:
    """What was paid of one category of one bill. `remark` names what the preparer should look at; it judges nothing."""

    line: str
    label: str
    payee: str
    paid_on: str
    check_no: str
    category: str
    cents: int
    entity: str
    bill_number: str
    bill_on: str
    bill_id: int
    remark: str


@dataclass(frozen=True)
class FormTotal:
    """What a line of the form comes to, of one entity; the farm's own has no name."""

    line: str
    label: str
    entity: str
    cents: int
    row_count: int


def form_rows(
    *, farm: Farm, tax_year: int, map_code: str = SCHEDULE_F, form_year: int | None = None
) -> list[FormRow]:
    """Return what was paid in a calendar year by the lines of a form, then what is on no line.

    In the order of line, entity, category, day and payee. A payment whose entry was reversed is none. `form_year` is the
    year of the form where it is not that of the payments. Raises NoSuchMap.
    """
    mapped = form_map(farm=farm, code=map_code, form_year=form_year or tax_year)
    book = category_book(farm=farm)
    rows = [
        _row(payment, category, cents, mapped.lines.get(category, NO_LINE), book)
        for payment in payments_of(farm=farm, tax_year=tax_year)
        for category, cents in owed_by_category(payment.bill).items()
    ]
    return sorted(rows, key=_order)


def payments_of(*, farm: Farm, tax_year: int) -> list[BillPayment]:
    """Return what was paid in a calendar year, once each, without what was reversed in the books."""
    bill_undone = Entry.objects.filter(bill=OuterRef("bill"), reversed_by__isnull=False)
    return list(
        standing_payments(farm=farm)
        .filter(paid_on__year=tax_year)
        .select_related("bill__season")
        .annotate(bill_was_reversed=Exists(bill_undone))
        .order_by("paid_on", "id")
    )


def form_totals(rows: list[FormRow]) -> list[FormTotal]:
    """Return what each line comes to by entity, in the order of the rows."""
    sums: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for row in rows:
        sums[row.line, row.label, row.entity].append(row.cents)
    return [FormTotal(*key, cents=sum(cents), row_count=len(cents)) for key, cents in sums.items()]


def _order(row: FormRow) -> tuple[object, ...]:
    what = (row.category, row.paid_on, row.payee, row.bill_on, row.bill_number, row.check_no, row.cents)
    return (not row.line, line_order(row.line), row.entity, *what)


def _row(payment: BillPayment, category: str, cents: int, at: FormLine, book: CategoryBook) -> FormRow:
    bill = payment.bill
    return FormRow(
        line=at.line,
        label=at.label,
        payee=bill.payee.name,
        paid_on=payment.paid_on.isoformat(),
        check_no=payment.check_no,
        category=category,
        cents=cents,
        entity=bill.entity.name if bill.entity is not None else "",
        bill_number=bill.number,
        bill_on=bill.bill_on.isoformat(),
        bill_id=bill.pk,
        remark="; ".join(_remarks(payment, category, cents, book)),
    )


def _remarks(payment: BillPayment, category: str, cents: int, book: CategoryBook) -> list[str]:
    bill, found = payment.bill, []
    if cents < 0:
        found.append(_("credit or refund"))
    crop_year = bill.crop_year or (bill.season.crop_year if bill.season is not None else 0)
    if crop_year > payment.paid_on.year and book.stock(category) is not None:
        says = _("paid ahead, for crop year {year}: the preparer says how much of it counts")
        found.append(says.format(year=crop_year))
    if payment.bill_was_reversed:  # type: ignore[attr-defined]  # annotated by payments_of
        found.append(_("the bill was reversed in the books, its payment was not"))
    return found
