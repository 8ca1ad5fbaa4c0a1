"""The lines behind a number of costs, as plain data: of a cell, of a field, of a pool."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from functools import cache
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.farms.models import Farm, Field
from farmops.pages import words
from farmops.pages.cost_page import CUTS, narrowed_words, query_of
from farmops.pages.kept_parts import PASSING
from ledger.selectors.cost_cells import CostWhere
from ledger.selectors.cost_tables import CostTables
from ledger.selectors.lines import CellSum, LineDetail, lines_of_field, page_of_cell
from ledger.selectors.pool_lines import Side, lines_of_pool
from ledger.selectors.stored_words import is_average, line_said

PAGE_LINES = 200
CENT = Decimal("0.01")
SIDES = {
    Side.BILLS: gettext_noop("bills and service put in"),
    Side.CHARGED: gettext_noop("hours charged to fields"),
    Side.SHARED: gettext_noop("shared out"),
    Side.LEFT: gettext_noop("everything in and out"),
}

OF_DOLLARS = (gettext_noop("of wages"), gettext_noop("of fuel"))
"""Of which dollars a share is, as units of lines say it."""


def cell_facts(*, farm: Farm, crop_year: int, where: CostWhere, page: int) -> dict[str, Any]:
    """Return a page of the lines behind one number of the table of costs."""
    tables = CostTables(farm=farm, crop_year=crop_year, where=where, carry=True)
    counted, lines = page_of_cell(
        farm=farm,
        crop_year=crop_year,
        where=where,
        season_ids=tables.seasons,
        skip=(page - 1) * PAGE_LINES,
        most=PAGE_LINES,
    )
    about = narrowed_words(tables) or _("All fields")
    return {
        "crop_year": crop_year,
        "headline": _("{about}: {amount} in {year}, {lines}.").format(
            about=words.capital(about),
            amount=words.dollars(counted.cents),
            year=crop_year,
            lines=_count(counted.line_count),
        ),
        "cuts": [
            (name, _(says).lower()) for name, (says, _dimensions) in CUTS.items() if name not in where.given()
        ],
        **_page(farm, counted, lines, page, query_of(crop_year, where)),
    }


def pool_facts(*, farm: Farm, code: str, side: Side, page: int) -> dict[str, Any]:
    """Return a page of the lines behind one number of a pool."""
    counted, lines = lines_of_pool(
        farm=farm, code=code, side=side, skip=(page - 1) * PAGE_LINES, most=PAGE_LINES
    )
    return {
        "headline": _("Pool of {code}, {side}: {amount}, {lines}.").format(
            code=code,
            side=_(SIDES[side]),
            amount=words.dollars(counted.cents),
            lines=_count(counted.line_count),
        ),
        **_page(farm, counted, lines, page, urlencode({"pool": code, "side": side.value})),
    }


def is_pool(*, farm: Farm, code: str) -> bool:
    """Return whether anything was ever booked on a pool of this code."""
    counted, _lines = lines_of_pool(farm=farm, code=code, side=Side.LEFT)
    return counted.line_count > 0


def field_facts(*, farm: Farm, field: Field, crop_year: int) -> dict[str, Any]:
    """Return every line of a field, with where it came from and the rate behind it."""
    lines = lines_of_field(farm=farm, field=field, crop_year=crop_year)
    total = words.dollars(sum(line.cents for line in lines))
    return {
        "field": field,
        "crop_year": crop_year,
        "headline": _("{ground} cost {total} in {year} so far, in {lines}.").format(
            ground=field.name, total=total, year=crop_year, lines=_count(len(lines))
        ),
        "lines": _linked(farm, lines),
    }


def line_words(line: LineDetail, said: Callable[[str], str] = words.dates_said) -> dict[str, Any]:
    """Return a line as it is shown; `said` says the days of a sentence as people say them."""
    return {
        "on": words.table_date(line.happened_on),
        "booked": words.table_date(line.booked_on) if line.is_late else "",
        "entry": line.entry_number,
        "ground": " ".join(one for one in (line.ground, words.named(line.crop)) if one),
        "category": words.named(line.category_label),
        "operation": line.operation,
        "thing": line.thing,
        "says": said(line_said(line.says, unit=line.unit)),
        "quantity": _quantity(line),
        "lot": line.lot,
        "rate": _rate(line),
        "rate_from": said(line.price_from),
        "amount": words.dollars(line.cents),
        "kind": line.source_kind,
        "source": said(line.source_says),
        "reversed_by": line.reversed_by,
    }


def _linked(farm: Farm, lines: Iterable[LineDetail]) -> list[dict[str, Any]]:
    """Return lines as they are shown, with the addresses of their entries; many lines are of the same entry."""
    said = cache(words.dates_said)

    @cache
    def addresses(number: int) -> dict[str, str]:
        return {
            "entry_at": reverse("pages:entry", args=[farm.code, number]),
            "source_at": reverse("pages:cost_source", args=[farm.code, number]),
        }

    return [{**line_words(line, said), **addresses(line.entry_number)} for line in lines]


def _page(farm: Farm, counted: CellSum, lines: Iterable[LineDetail], page: int, query: str) -> dict[str, Any]:
    pages = max(1, -(-counted.line_count // PAGE_LINES))
    return {
        PASSING: page > pages or not counted.line_count,
        "lines": _linked(farm, lines),
        "total": words.dollars(counted.cents),
        "late_count": counted.late_count,
        "page": page,
        "pages": pages,
        "before": f"{query}&page={page - 1}" if page > 1 else "",
        "after": f"{query}&page={page + 1}" if page < pages else "",
    }


def _count(line_count: int) -> str:
    return ngettext("{count} line", "{count} lines", line_count).format(count=words.count_word(line_count))


def _quantity(line: LineDetail) -> str:
    if line.quantity is None:
        return ""
    if line.unit.startswith("$ "):
        return f"{words.exact_dollars(line.quantity.quantize(CENT))} {words.named(line.unit[2:])}"
    sign = "−" if line.quantity < 0 else ""
    return f"{sign}{abs(line.quantity).normalize():,f} {line.unit}"


def _rate(line: LineDetail) -> str:
    """Return the price of one unit; a share of other dollars is a share, not a price."""
    price = line.price_usd
    if price is None and line.quantity and is_average(line.says):
        price = abs(Decimal(line.cents).scaleb(-2) / line.quantity)
    if price is None:
        return ""
    if line.unit.startswith("$ "):
        return f"{(price * 100).normalize():f} %"
    return f"${price:,.4f}" + (f"/{line.unit}" if line.unit else "")
