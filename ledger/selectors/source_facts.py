"""What is known of the source of an entry: the work as reported, the bill as entered, the share-out with its parts."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm
from ledger.costing.money import usd_text
from ledger.models import SOURCES, Entry, SourceKind
from ledger.selectors.categories import category_book
from ledger.selectors.drafts import ground_code
from ledger.selectors.source_words import RELATED, source_says

Facts = list[tuple[str, str]]
Rows = list[tuple[str, ...]]


@dataclass(frozen=True)
class SourceFacts:
    """A source in words: its facts in their order, and a table where it has parts. Of an imported entry only its key."""

    entry: Entry
    kind: str
    says: str
    facts: Facts
    heads: tuple[str, ...]
    rows: Rows


def source_facts(*, farm: Farm, number: int) -> SourceFacts | None:
    """Return what an entry came from; of a reversal, what the reversed entry came from. None where no such entry is."""
    entry = Entry.objects.filter(farm=farm, number=number).select_related(*RELATED).first()
    if entry is None:
        return None
    cause = entry
    if entry.reverses is not None:
        cause = Entry.objects.select_related(*RELATED).get(pk=entry.reverses.pk)
    kind = SourceKind(cause.source_kind)
    source = getattr(cause, SOURCES[kind])
    facts: Facts = [("date", cause.happened_on.isoformat())]
    heads: tuple[str, ...] = ()
    rows: Rows = []
    if source is None:
        facts.append(("read from a journal, where it is", cause.source_key))
    else:
        facts += _FACTS[kind](farm, source) if kind in _FACTS else []
        if kind in _PARTS:
            heads, rows = _PARTS[kind](farm, source)
    if entry.reverses is not None:
        facts += [("reversed by entry", str(entry.number)), ("why", entry.why)]
    return SourceFacts(
        entry=entry,
        kind=str(kind.label),
        says=source_says(cause),
        facts=[(name, value) for name, value in facts if value],
        heads=heads,
        rows=rows,
    )


def _work(farm: Farm, record: Any) -> Facts:
    corrected = getattr(record, "superseded_by", None)
    return [
        ("work", record.field_pass.get_operation_display()),
        ("ground", ground_code(record.field_pass.season)),
        ("hand", record.hand.name),
        ("hours of the hand", _hours(record.hand_min)),
        ("of them overtime", _hours(record.overtime_min)),
        ("machine", _name(record.machine)),
        ("hours of the engine", _hours(record.machine_min)),
        ("implement", _name(record.implement)),
        ("acres", f"{record.done_ac:f}"),
        ("note", record.note),
        ("reported", _at(farm, record.recorded_at)),
        ("corrects the record", _at(farm, record.supersedes.recorded_at) if record.supersedes else ""),
        ("corrected by the record", _at(farm, corrected.recorded_at) if corrected else ""),
    ]


def _inputs(farm: Farm, record: Any) -> tuple[tuple[str, ...], Rows]:
    rows: Rows = [
        (use.input_code, f"{use.quantity.normalize():f} {use.unit}", use.lot) for use in record.inputs.all()
    ]
    return ("input", "quantity", "lot"), rows


def _bill(farm: Farm, bill: Any) -> Facts:
    payment = getattr(bill, "payment", None)
    return [
        ("payee", bill.payee.name),
        ("number", bill.number),
        ("bill date", bill.bill_on.isoformat()),
        ("amount", usd_text(bill.cents)),
        ("of it sales tax", usd_text(bill.sales_tax_cents) if bill.sales_tax_cents else ""),
        ("category", category_book(farm=farm).label(bill.category)),
        ("in the name of", str(bill.entity or "")),
        ("season", str(bill.season or "")),
        ("machine", _name(bill.machine)),
        ("implement", _name(bill.implement)),
        ("pump", _name(bill.pump)),
        ("incident", f"incident {bill.incident_id}" if bill.incident_id else ""),
        ("shared by", bill.get_shared_by_display() if bill.shared_by else ""),
        ("paid on", payment.paid_on.isoformat() if payment else "not paid yet"),
        ("check", payment.check_no if payment else ""),
        ("note", bill.note),
    ]


def _items(farm: Farm, bill: Any) -> tuple[tuple[str, ...], Rows]:
    book = category_book(farm=farm)
    rows: Rows = [
        (
            book.label(one.category),
            one.item or one.says,
            one.lot,
            f"{_quantity(one.quantity_e4)} {one.unit}".strip(),
            usd_text(one.cents),
        )
        for one in bill.items.all()
    ]
    return ("category", "what", "lot", "quantity", "amount"), rows


def _care(farm: Farm, done: Any) -> Facts:
    return [
        ("service", done.rule.what),
        ("done", _at(farm, done.done_at)),
        ("hour meter", f"{done.meter_h:f} h" if done.meter_h is not None else ""),
        ("hand", _name(done.hand)),
        ("hours of the hand", _hours(done.hand_min)),
        ("parts", done.parts),
        ("parts cost", usd_text(done.parts_cents) if done.parts_cents else ""),
    ]


def _incident(farm: Farm, incident: Any) -> Facts:
    return [
        ("what", incident.get_kind_display()),
        ("at", _at(farm, incident.happened_at)),
        ("field", _name(incident.field)),
        ("machine", _name(incident.machine)),
        ("hand", _name(incident.hand)),
        ("hours lost", _hours(incident.lost_min)),
        ("it met", incident.met),
        ("note", incident.note),
    ]


def _fill(farm: Farm, fill: Any) -> Facts:
    return [
        ("machine", fill.machine.name),
        ("gallons", f"{fill.gallons:f}"),
        ("fuel", fill.get_fuel_display()),
        ("filled", _at(farm, fill.filled_at)),
        ("from", _name(fill.tank) or "elsewhere"),
        ("hour meter", f"{fill.meter_h:f} h" if fill.meter_h is not None else ""),
    ]


def _share_out(farm: Farm, share_out: Any) -> Facts:
    pool = share_out.machine or share_out.implement or share_out.pump or share_out.landlord
    return [
        ("pool", pool.name if pool is not None else "the farm as a whole"),
        ("shared by", share_out.get_shared_by_display()),
        ("crop year", str(share_out.crop_year)),
        ("days", f"{share_out.first_on} to {share_out.last_on}"),
        ("amount", usd_text(share_out.total_cents)),
        ("why", share_out.why),
        ("made", _at(farm, share_out.made_at)),
    ]


def _parts(farm: Farm, share_out: Any) -> tuple[tuple[str, ...], Rows]:
    book = category_book(farm=farm)
    rows: Rows = [
        (
            f"{ground_code(part.season)} {part.season.crop}",
            book.label(part.category),
            f"{_quantity(part.weight_e4)} {part.unit}",
            usd_text(part.cents),
        )
        for part in share_out.parts.select_related("season__field")
    ]
    return ("season", "category", "weight", "amount"), rows


def _opening(farm: Farm, opening: Any) -> Facts:
    return [
        ("item", opening.item),
        ("lot", opening.lot),
        ("quantity", f"{_quantity(opening.quantity_e4)} {opening.unit}"),
        ("it had cost", usd_text(opening.cents)),
    ]


def _machine_year(farm: Farm, year: Any) -> Facts:
    return [
        ("machine", _name(year.machine or year.implement)),
        ("year", str(year.calendar_year)),
        ("capital recovery, for management", usd_text(year.recovery_cents)),
        ("from", str(year.cost_facts)),
    ]


_FACTS: dict[SourceKind, Callable[[Farm, Any], Facts]] = {
    SourceKind.WORK_RECORD: _work,
    SourceKind.BILL: _bill,
    SourceKind.PAYMENT: lambda farm, payment: _bill(farm, payment.bill),
    SourceKind.CARE_DONE: _care,
    SourceKind.INCIDENT: _incident,
    SourceKind.FUEL_FILL: _fill,
    SourceKind.HOUR_READING: lambda farm, reading: [
        ("machine", reading.machine.name),
        ("hour meter", f"{reading.reading_h:f} h"),
        ("read", _at(farm, reading.read_at)),
    ],
    SourceKind.OPENING: _opening,
    SourceKind.SHARE_OUT: _share_out,
    SourceKind.MACHINE_YEAR: _machine_year,
    SourceKind.PERIOD: lambda farm, mark: [("month", f"{mark.month:%Y-%m}"), ("why", mark.why)],
}
_PARTS: dict[SourceKind, Callable[[Farm, Any], tuple[tuple[str, ...], Rows]]] = {
    SourceKind.WORK_RECORD: _inputs,
    SourceKind.BILL: _items,
    SourceKind.SHARE_OUT: _parts,
}


def _name(thing: Any) -> str:
    return "" if thing is None else thing.name


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60} min" if minutes else ""


def _quantity(quantity_e4: int | None) -> str:
    return "" if quantity_e4 is None else f"{Decimal(quantity_e4).scaleb(-4).normalize():f}"


def _at(farm: Farm, instant: dt.datetime) -> str:
    here = instant.astimezone(ZoneInfo(farm.zone))
    return f"{here.date()} {here.hour % 12 or 12}:{here:%M} {'am' if here.hour < 12 else 'pm'}"
