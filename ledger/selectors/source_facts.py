"""What is known of the source of an entry: the work as reported, the bill as entered, the share-out with its parts."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import get_language, pgettext
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Implement, Machine, Pump
from ledger.costing.money import usd_from
from ledger.models import SOURCES, Bill, Entry, SourceKind
from ledger.selectors.bill_ends import ends_of, has_rest, stays_in_stock
from ledger.selectors.bills import is_undone, payment_of, reversed_in_books
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.drafts import ground_code
from ledger.selectors.source_words import (
    RELATED,
    operation_says,
    price_says,
    season_says,
    source_says,
    thing_says,
)
from ledger.selectors.stored_words import said_again
from scheduling.selectors.care import what_is_done
from scheduling.slips.words import clock_words

Facts = list[tuple[str, str]]
Rows = list[tuple[str, ...]]


@dataclass(frozen=True)
class SourceFacts:
    """A source in words: its facts in their order, and a table where it has parts. Of an imported entry only its key.

    `bill` is the one that it is of, or that it pays.
    """

    entry: Entry
    kind: str
    says: str
    facts: Facts
    heads: tuple[str, ...]
    rows: Rows
    bill: Bill | None = None


def source_facts(*, farm: Farm, number: int) -> SourceFacts | None:
    """Return what an entry came from; of a reversal, what the reversed entry came from. None where no such entry is."""
    entry = Entry.objects.filter(farm=farm, number=number).prefetch_related(*RELATED).first()
    if entry is None:
        return None
    cause = entry
    if entry.reverses is not None:
        cause = Entry.objects.prefetch_related(*RELATED).get(pk=entry.reverses.pk)
    kind = SourceKind(cause.source_kind)
    source = getattr(cause, SOURCES[kind])
    facts: Facts = [(_("date"), cause.happened_on.isoformat())]
    heads: tuple[str, ...] = ()
    rows: Rows = []
    if source is None:
        facts.append((_("read from a journal, where it is"), cause.source_key))
    else:
        facts += _FACTS[kind](farm, source) if kind in _FACTS else []
        if kind in _PARTS:
            heads, rows = _PARTS[kind](farm, source)
    if entry.reverses is not None:
        facts += [(_("reversed by entry"), str(entry.number)), (_("why"), said_again(entry.why))]
    return SourceFacts(
        entry=entry,
        kind=_(kind.label),
        says=source_says(cause),
        facts=[(name, value) for name, value in facts if value],
        heads=heads,
        rows=rows,
        bill=cause.bill or (cause.payment.bill if cause.payment else None),
    )


def _work(farm: Farm, record: Any) -> Facts:
    corrected = getattr(record, "superseded_by", None)
    return [
        (_("work"), operation_says(record.field_pass.operation)),
        (_("ground"), season_says(record.field_pass.season)),
        (_("hand"), record.hand.name),
        (_("hours of the hand"), _hours(record.hand_min)),
        (_("of them overtime"), _hours(record.overtime_min)),
        (_("machine"), _name(record.machine)),
        (_("hours of the engine"), _hours(record.machine_min)),
        (_("implement"), _name(record.implement)),
        (_("acres"), f"{record.done_ac:f}"),
        (_("note"), record.note),
        (pgettext("a fact", "reported"), _at(farm, record.recorded_at)),
        (_("corrects the record"), _at(farm, record.supersedes.recorded_at) if record.supersedes else ""),
        (_("corrected by the record"), _at(farm, corrected.recorded_at) if corrected else ""),
    ]


def _inputs(farm: Farm, record: Any) -> tuple[tuple[str, ...], Rows]:
    rows: Rows = [
        (use.input_code, f"{use.quantity.normalize():f} {use.unit}", use.lot) for use in record.inputs.all()
    ]
    return (_("input"), _("quantity"), _("lot")), rows


def _bill(farm: Farm, bill: Any, payment: Any = None) -> Facts:
    """Return the facts of a bill, paid as it is now, or by the payment that is told."""
    ends, goes_along = ends_of(bill=bill), has_rest(bill=bill)
    book = category_book(farm=farm)
    only = _along(bill, bill.category, book) if ends[0] is None else _end(ends[0])
    return [
        (_("payee"), bill.payee.name),
        (pgettext("a fact", "number"), bill.number),
        (_("bill date"), bill.bill_on.isoformat()),
        (_("amount"), _usd(bill.cents)),
        (_("of it sales tax"), _usd(bill.sales_tax_cents) if bill.sales_tax_cents else ""),
        (_("category"), _(book.label(bill.category))),
        (_("in the name of"), str(bill.entity or "")),
        (_("goes to"), only if len(ends) == 1 else _("its lines")),
        *(_whole_place(bill) if goes_along else []),
        *_paid(bill, payment),
        (_("note"), bill.note),
    ]


def _whole_place(bill: Any) -> Facts:
    return [
        (_("season"), season_says(bill.season) if bill.season else ""),
        (_("machine"), _name(bill.machine)),
        (_("implement"), _name(bill.implement)),
        (_("pump"), _name(bill.pump)),
        (_("incident"), _("incident {number}").format(number=bill.incident_id) if bill.incident_id else ""),
        (_("shared by"), _(bill.get_shared_by_display()) if bill.shared_by else ""),
    ]


def _paid(bill: Any, payment: Any) -> Facts:
    """Return when a bill was paid: of a corrected one, before it was corrected."""
    is_corrected = hasattr(bill, "superseded_by")
    if payment is None:
        payment = getattr(bill, "payment", None) if is_corrected else payment_of(bill=bill)
    if payment is None:
        says = _("not before it was corrected") if is_corrected else _("not paid yet")
        is_undone_bill = bill.pk in reversed_in_books(bills=[bill])[0]
        return [(_("paid on"), _("reversed in the books") if is_undone_bill and not is_corrected else says)]
    says = payment.paid_on.isoformat()
    if is_corrected:
        says = _("{day}, before it was corrected").format(day=says)
    elif is_undone(payment=payment):
        says = _("{day}, reversed in the books since").format(day=says)
    return [(_("paid on"), says), (pgettext("a fact", "check"), payment.check_no)]


def _end(item: Any) -> str:
    """Return where a line of a bill goes by itself; empty where it goes where the bill goes."""
    if item.item:
        return _("stock")
    return season_says(item.season) if item.season else _name(item.machine)


def _along(bill: Any, category: str, book: CategoryBook) -> str:
    """Return the stock where what a bill asks for a category stays in it; empty where the bill tells its place."""
    return _("stock") if stays_in_stock(bill=bill, category=category, categories=book) else ""


def _items(farm: Farm, bill: Any) -> tuple[tuple[str, ...], Rows]:
    book = category_book(farm=farm)
    rows: Rows = [
        (
            _(book.label(one.category)),
            one.item or one.says,
            one.lot,
            f"{_quantity(one.quantity_e4)} {one.unit}".strip(),
            _end(one) or _along(bill, one.category, book) or _("as the bill"),
            _usd(one.cents),
        )
        for one in bill.items.select_related("season__field", "machine")
    ]
    heads = (_("category"), pgettext("a fact", "what"), _("lot"), _("quantity"), _("goes to"), _("amount"))
    return heads, rows


def _care(farm: Farm, done: Any) -> Facts:
    return [
        (_("service"), what_is_done(done.rule, (get_language() or "en")[:2])),
        (pgettext("a fact", "done"), _at(farm, done.done_at)),
        (_("hour meter"), f"{done.meter_h:f} h" if done.meter_h is not None else ""),
        (_("hand"), _name(done.hand)),
        (_("hours of the hand"), _hours(done.hand_min)),
        (_("parts"), done.parts),
        (_("parts cost"), _usd(done.parts_cents) if done.parts_cents else ""),
    ]


def _incident(farm: Farm, incident: Any) -> Facts:
    return [
        (pgettext("a fact", "what"), _(incident.get_kind_display())),
        (pgettext("a fact", "at"), _at(farm, incident.happened_at)),
        (_("field"), _name(incident.field)),
        (_("machine"), _name(incident.machine)),
        (_("hand"), _name(incident.hand)),
        (_("hours lost"), _hours(incident.lost_min)),
        (_("it met"), incident.met),
        (_("note"), incident.note),
    ]


def _fill(farm: Farm, fill: Any) -> Facts:
    return [
        (_("machine"), _name(fill.machine)),
        (_("gallons"), f"{fill.gallons:f}"),
        (_("fuel"), _(fill.get_fuel_display())),
        (pgettext("a fact", "filled"), _at(farm, fill.filled_at)),
        (pgettext("a tank", "from"), _name(fill.tank) or _("elsewhere")),
        (_("hour meter"), f"{fill.meter_h:f} h" if fill.meter_h is not None else ""),
    ]


def _share_out(farm: Farm, share_out: Any) -> Facts:
    pool = share_out.machine or share_out.implement or share_out.pump or share_out.landlord
    return [
        (
            _("pool"),
            _name(pool) if pool is not None else share_out.item or pgettext("a pool", "the farm as a whole"),
        ),
        (_("shared by"), _(share_out.get_shared_by_display())),
        (_("crop year"), str(share_out.crop_year)),
        (_("days"), _("{first} to {last}").format(first=share_out.first_on, last=share_out.last_on)),
        (_("amount"), _usd(share_out.total_cents)),
        (_("why"), share_out.why),
        (pgettext("a fact", "made"), _at(farm, share_out.made_at)),
    ]


def _parts(farm: Farm, share_out: Any) -> tuple[tuple[str, ...], Rows]:
    book = category_book(farm=farm)
    rows: Rows = [
        (
            f"{ground_code(part.season)} {_(part.season.get_crop_display())}",
            _(book.label(part.category)),
            f"{_quantity(part.weight_e4)} {part.unit}",
            _usd(part.cents),
        )
        for part in share_out.parts.select_related("season__field")
    ]
    return (_("season"), _("category"), _("weight"), _("amount")), rows


def _opening(farm: Farm, opening: Any) -> Facts:
    return [
        (_("item"), opening.item),
        (_("lot"), opening.lot),
        (_("quantity"), f"{_quantity(opening.quantity_e4)} {opening.unit}"),
        (_("it had cost"), _usd(opening.cents)),
    ]


def _machine_year(farm: Farm, year: Any) -> Facts:
    return [
        (_("machine"), _name(year.machine or year.implement)),
        (_("year"), str(year.calendar_year)),
        (_("capital recovery, for management"), _usd(year.recovery_cents)),
        (pgettext("a reckoning", "from"), price_says(rate=None, cost_facts=year.cost_facts)),
    ]


_FACTS: dict[SourceKind, Callable[[Farm, Any], Facts]] = {
    SourceKind.WORK_RECORD: _work,
    SourceKind.BILL: _bill,
    SourceKind.PAYMENT: lambda farm, payment: _bill(farm, payment.bill, payment),
    SourceKind.CARE_DONE: _care,
    SourceKind.INCIDENT: _incident,
    SourceKind.FUEL_FILL: _fill,
    SourceKind.HOUR_READING: lambda farm, reading: [
        (_("machine"), _name(reading.machine)),
        (_("hour meter"), f"{reading.reading_h:f} h"),
        (pgettext("a fact", "read"), _at(farm, reading.read_at)),
    ],
    SourceKind.OPENING: _opening,
    SourceKind.SHARE_OUT: _share_out,
    SourceKind.MACHINE_YEAR: _machine_year,
    SourceKind.PERIOD: lambda farm, mark: [(_("month"), f"{mark.month:%Y-%m}"), (_("why"), mark.why)],
}
_PARTS: dict[SourceKind, Callable[[Farm, Any], tuple[tuple[str, ...], Rows]]] = {
    SourceKind.WORK_RECORD: _inputs,
    SourceKind.BILL: _items,
    SourceKind.SHARE_OUT: _parts,
}


def _name(thing: Any) -> str:
    if isinstance(thing, Machine | Implement | Pump):
        return thing_says(thing)
    return "" if thing is None else thing.name


def _usd(cents: int) -> str:
    return f"{'−' if cents < 0 else ''}${abs(usd_from(cents)):,.2f}"


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60} min" if minutes else ""


def _quantity(quantity_e4: int | None) -> str:
    return "" if quantity_e4 is None else f"{Decimal(quantity_e4).scaleb(-4).normalize():f}"


def _at(farm: Farm, instant: dt.datetime) -> str:
    here = instant.astimezone(ZoneInfo(farm.zone))
    return f"{here.date()} {clock_words(here.time(), (get_language() or 'en')[:2])}"
