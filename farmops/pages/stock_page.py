"""What the page of stock shows: what is there of each item, what was there at the start, and entering that."""

import datetime as dt
import uuid
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.core import clock
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.bill_form import written
from farmops.pages.bill_page import words_of
from farmops.pages.cost_page import side_of
from farmops.pages.fleet_page import Refused
from ledger.costing.money import divide_half_even
from ledger.models import FuelBy, OpeningStock, StockCost, YearChoice
from ledger.selectors.bills import items_known
from ledger.selectors.categories import category_book
from ledger.selectors.early_uses import differences_at_head
from ledger.selectors.stock import OnHand, stock_at_head, uncounted_cents


def stock_facts(*, farm: Farm, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return what is in stock and what was at the start, with an empty form or the one that was refused."""
    refused = refused or Refused()
    categories = category_book(farm=farm)
    held = stock_at_head(farm=farm)
    opening = OpeningStock.objects.filter(farm=farm, superseded_by__isnull=True).order_by("item", "lot")
    today = written(clock.local_date(now, farm.zone))
    worth = sum(one.stock.held_cents for one in held)
    return {
        "headline": _("{amount} of stock").format(amount=words.dollars(worth))
        if held
        else _("Nothing is in stock yet"),
        "uncounted": ", ".join(
            _("{amount} of {label}").format(
                amount=words.dollars(cents), label=words.named(categories.label(code))
            )
            for code, cents in uncounted_cents(farm=farm).items()
        ),
        "differences": ", ".join(
            f"{one.stocked.item}: {side_of(one.cents)}"
            for one in differences_at_head(farm=farm, through=clock.local_date(now, farm.zone))
        ),
        "held": [_held(one, words.named(categories.label(one.category))) for one in held],
        "opening": [
            {
                "pk": row.pk,
                "item": row.item,
                "lot": row.lot,
                "category": words.named(categories.label(row.category)),
                "quantity": words_of(row.quantity_e4, row.unit),
                "amount": words.dollars(row.cents),
                "on": words.table_date(row.on),
            }
            for row in opening
        ],
        "categories": [(code, words.named(row.label)) for code, row in categories.items() if row.is_stocked],
        "items": items_known(farm=farm),
        "years": [
            {
                "year": row.calendar_year,
                "stock_cost": words.named(row.get_stock_cost_display()),
                "fuel_by": words.named(row.get_fuel_by_display()),
            }
            for row in YearChoice.objects.filter(farm=farm).order_by("-calendar_year")
        ],
        "costs": [(one.value, words.named(one.label)) for one in StockCost],
        "fuels": [(one.value, words.named(one.label)) for one in FuelBy],
        "id": refused.typed.get("client_id") or str(uuid.uuid4()),
        "typed": {"on": today, "year": str(clock.local_date(now, farm.zone).year), **refused.typed},
        "wrong": refused.wrong,
    }


def _held(one: OnHand, category: str) -> dict[str, Any]:
    stock = one.stock
    lots = {layer.lot: 0 for layer in stock.layers if layer.lot and layer.held_e4}
    for layer in stock.layers:
        if layer.lot in lots:
            lots[layer.lot] += layer.held_e4
    price = (
        words.dollars(divide_half_even(stock.held_cents * 10_000, stock.held_e4)) if stock.held_e4 > 0 else ""
    )
    return {
        "item": one.item,
        "category": category,
        "quantity": words_of(stock.held_e4, one.unit),
        "amount": words.dollars(stock.held_cents),
        "price": _("{price} a {unit}").format(price=price, unit=_unit_said(one.unit)) if price else "",
        "lots": [(lot, words_of(held_e4, one.unit)) for lot, held_e4 in lots.items()],
        "unmet": words_of(stock.unmet_e4, one.unit) if stock.unmet_e4 else "",
    }


def _unit_said(unit: str) -> str:
    """Return a unit that is a word in the reader's word; the others are signs, or the farm's own."""
    return pgettext("a unit of a price", "thousand") if unit == "thousand" else unit
