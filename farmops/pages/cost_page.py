"""What the pages of costs show, as plain data."""

from collections.abc import Sequence
from typing import Any

from farmops.farms.models import Farm, Field
from farmops.pages import words
from ledger.costing.money import per_acre_usd
from ledger.selectors.categories import category_book
from ledger.selectors.costs import FieldCost, costs_by_field, crop_years
from ledger.selectors.lines import LineDetail, lines_of_field
from ledger.selectors.pending import waiting_postings
from ledger.selectors.pools import pool_costs


def cost_facts(*, farm: Farm, crop_year: int) -> dict[str, Any]:
    """Return what each season cost, by category, with the totals and what still waits."""
    seasons = costs_by_field(farm=farm, crop_year=crop_year)
    book = category_book(farm=farm)
    used = {category for one in seasons for category, _cents in one.by_category}
    categories = [category for category in book if category in used]
    total_cents = sum(one.total_cents for one in seasons)
    return {
        "crop_year": crop_year,
        "years": crop_years(farm=farm),
        "headline": _headline(seasons, total_cents),
        "categories": [book.label(category) for category in categories],
        "rows": [_row(one, categories) for one in seasons],
        "total": _total(seasons, categories, total_cents),
        "owner_cents": words.dollars(sum(one.owner_time_cents for one in seasons)),
        "pools": [
            {
                "name": pool.name,
                "bills": words.dollars(pool.bills_cents),
                "charged": words.dollars(pool.charged_cents),
                "left": _side(pool.left_cents),
            }
            for pool in pool_costs(farm=farm)
        ],
        "waiting": [words.dates_said(wait.says) for wait in waiting_postings(farm)],
        "has_costs": any(one.by_category for one in seasons),
    }


def line_facts(*, farm: Farm, field: Field, crop_year: int) -> dict[str, Any]:
    """Return every line of a field, with where it came from and the rate behind it."""
    lines = lines_of_field(farm=farm, field=field, crop_year=crop_year)
    total = words.dollars(sum(line.cents for line in lines))
    return {
        "field": field,
        "crop_year": crop_year,
        "headline": f"{field.name} cost {total} in {crop_year} so far, in {words.count_word(len(lines))} line{'' if len(lines) == 1 else 's'}.",
        "lines": [
            {
                "on": f"{line.happened_on:%b} {line.happened_on.day}, {line.happened_on.year}",
                "entry": line.entry_number,
                "category": line.category_label,
                "says": words.dates_said(line.says),
                "quantity": _quantity(line),
                "rate": _rate(line),
                "rate_from": words.dates_said(line.price_from),
                "amount": words.dollars(line.cents),
                "source": words.dates_said(line.source_says),
                "reversed_by": line.reversed_by,
            }
            for line in lines
        ],
    }


def _side(left_cents: int) -> str:
    """Return a pool's rest with the side it stands on: more charged than billed, or more billed than charged."""
    if not left_cents:
        return words.dollars(0)
    return f"{words.dollars(abs(left_cents))} {'charged ahead' if left_cents < 0 else 'to share out'}"


def _quantity(line: LineDetail) -> str:
    if line.quantity is None:
        return ""
    if line.unit.startswith("$ "):
        return f"${line.quantity:,.2f} {line.unit[2:]}"
    return f"{line.quantity.normalize():,f} {line.unit}"


def _rate(line: LineDetail) -> str:
    """Return the price of one unit; a share of other dollars is a share, not a price."""
    if line.price_usd is None:
        return ""
    if line.unit.startswith("$ "):
        return f"{(line.price_usd * 100).normalize():f} %"
    return f"${line.price_usd:,.4f}" + (f"/{line.unit}" if line.unit else "")


def _row(one: FieldCost, categories: Sequence[str]) -> dict[str, Any]:
    cents = dict(one.by_category)
    return {
        "field": one.field_name,
        "code": one.season.field.code,
        "crop": one.crop,
        "area_ac": f"{one.area_ac:,.1f}",
        "amounts": [words.dollars(cents[category]) if category in cents else "" for category in categories],
        "total": words.dollars(one.total_cents),
        "per_ac": f"${one.usd_per_ac:,.2f}",
    }


def _total(seasons: Sequence[FieldCost], categories: Sequence[str], total_cents: int) -> dict[str, Any]:
    area_ac = sum(one.area_ac for one in seasons)
    sums = {
        category: sum(cents for one in seasons for found, cents in one.by_category if found == category)
        for category in categories
    }
    return {
        "area_ac": f"{area_ac:,.1f}",
        "amounts": [words.dollars(sums[category]) for category in categories],
        "total": words.dollars(total_cents),
        "per_ac": f"${per_acre_usd(cents=total_cents, area_ac=area_ac):,.2f}" if area_ac else "–",
    }


def _headline(seasons: Sequence[FieldCost], total_cents: int) -> str:
    if not any(one.by_category for one in seasons):
        return "No field has cost anything yet."
    dearest = max(seasons, key=lambda one: one.usd_per_ac)
    total = words.whole_dollars(total_cents)
    if len(seasons) == 1:
        return f"{dearest.field_name} cost {total} so far, ${dearest.usd_per_ac:,.2f} an acre."
    things = "fields" if len({one.season.field_id for one in seasons}) == len(seasons) else "seasons"
    return (
        f"{words.count_word(len(seasons)).capitalize()} {things} cost {total} so far; "
        f"{dearest.field_name} is the dearest at ${dearest.usd_per_ac:,.2f} an acre."
    )
