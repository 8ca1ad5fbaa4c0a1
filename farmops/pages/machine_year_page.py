"""What the page of owning machines shows: worth, capital recovery and the hour, for management and not for taxes."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Implement
from farmops.pages import words
from farmops.pages.trade_words import tool
from ledger.costing.money import cents_of
from ledger.selectors.fixed_costs import FixedCost, Owned, fixed_costs
from ledger.selectors.periods import closed_through

FIRST_YEAR, LAST_YEAR = 1990, 2100


def machine_year_facts(*, farm: Farm, year: int, today: dt.date) -> dict[str, Any]:
    """Return each machine and implement in a calendar year, with the sums, and whether the year can be booked."""
    rows = fixed_costs(farm=farm, year=year)
    owned = [one.owned for one in rows if one.owned is not None]
    shut = closed_through(farm=farm)
    is_over = today > dt.date(year, 12, 31)
    return {
        "year": year,
        "before": year - 1 if year > FIRST_YEAR else None,
        "after": year + 1 if year < min(LAST_YEAR, today.year) else None,
        "headline": _headline(owned, year, is_over=is_over),
        "rows": [_row(one) for one in rows],
        "lacks": [words.dates_said(one.lacks) for one in rows if one.owned is None],
        "sums": _sums(owned) if owned else None,
        "is_over": is_over,
        "is_shut": shut is not None and shut >= dt.date(year, 12, 1),
        "to_book": sum(one.is_to_book for one in rows),
    }


def _headline(owned: list[Owned], year: int, *, is_over: bool) -> str:
    if not owned:
        return _(
            "What owning machines takes in {year} cannot be told: "
            "no prices, lives and yearly hours are known."
        ).format(year=year)
    lost = words.whole_dollars(cents_of(sum((one.depreciation_usd for one in owned), Decimal(0))))
    recovery = words.whole_dollars(cents_of(sum((one.recovery_usd for one in owned), Decimal(0))))
    said = (
        _("Machines lost {lost} in worth in {year}; owning them took {recovery} with interest.")
        if is_over
        else _("Machines lose {lost} in worth in {year}; owning them takes {recovery} with interest.")
    )
    return said.format(lost=lost, year=year, recovery=recovery)


def _row(one: FixedCost) -> dict[str, Any]:
    kind = "implement" if isinstance(one.thing, Implement) else "machine"
    row: dict[str, Any] = {
        "name": words.capital(tool(one.thing)),
        "kind": kind,
        "known": one.owned is not None,
    }
    if one.owned is None:
        return row
    owned = one.owned
    row |= {
        "start": _usd(owned.value_start_usd),
        "end": _usd(owned.value_end_usd),
        "lost": _usd(owned.depreciation_usd),
        "factor": f"{owned.recovery_factor:.5f}",
        "recovery": _usd(owned.recovery_usd),
        "insurance": _usd(owned.insurance_housing_usd),
        "per_h": _usd(owned.per_h_usd),
        "part": _part(owned),
        "booked": words.dollars(one.booked.recovery_cents) if one.booked is not None else "",
    }
    return row


def _part(owned: Owned) -> str:
    if owned.year_share == 1:
        return ""
    if owned.year_share == 0:
        return _("planned life over on {day}").format(day=words.table_date(owned.until_on))
    return _("{share} % of the year").format(share=f"{owned.year_share * 100:.0f}")


def _sums(owned: list[Owned]) -> dict[str, str]:
    names = ("value_start_usd", "value_end_usd", "depreciation_usd", "recovery_usd", "insurance_housing_usd")
    return {
        name.removesuffix("_usd"): words.dollars(sum(cents_of(getattr(one, name)) for one in owned))
        for name in names
    }


def _usd(value: Decimal) -> str:
    return words.dollars(cents_of(value))
