"""What a machine's hour cost so far, against what ASABE expects at its age: as plain data for its page."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Implement, Machine, Pivot
from farmops.pages import care_words, words
from ledger.selectors.categories import category_book
from ledger.selectors.machine_costs import KEPT, MachineCost, machine_cost, pivot_service_cents
from ledger.selectors.stored_words import said_again

LITTLE_H = Decimal(50)
"""Farm judgement: over fewer hours, one bill says more than the hours do."""


def cost_rows(
    *,
    farm: Farm,
    thing: Machine | Implement | Pivot,
    run_h: Decimal,
    on: dt.date,
    reported_h: Decimal | None = None,
) -> dict[str, Any]:
    """Return the table of what was spent and what is expected, each in dollars and by the hour; hours as `machine_cost`
    takes them. Parts stand right below the sum of repairs and service; what was spent on other things comes after them.
    """
    if isinstance(thing, Pivot):
        cents = pivot_service_cents(farm=farm, pivot=thing)
        return {"cost": None, "pivot_spent": words.dollars(cents) if cents else ""}
    cost = machine_cost(farm=farm, thing=thing, run_h=run_h, on=on, reported_h=reported_h)
    expected, labels = cost.expected, category_book(farm=farm)
    rows: list[dict[str, Any]] = [
        {
            "what": _("Repairs and service"),
            "spent": words.dollars(cost.kept_cents),
            "spent_per_h": _per_h(cost.per_h_usd(cost.kept_cents)),
            "expected": "" if expected is None else words.dollars(expected.repairs_cents),
            "expected_per_h": "" if expected is None else _per_h(cost.per_h_usd(expected.repairs_cents)),
        }
    ]
    rows += [
        {
            "what": words.capital(words.named(labels.label(category))),
            "spent": words.dollars(cents),
            "spent_per_h": _per_h(cost.per_h_usd(cents)),
            "expected": "",
            "expected_per_h": "",
            "is_part": category in KEPT,
        }
        for category, cents in sorted(cost.spent.items(), key=lambda one: one[0] not in KEPT)
    ]
    return {
        "cost": {
            "rows": rows,
            "hours": care_words.tenths(cost.hours),
            "span": _("{first} to {last} h").format(
                first=care_words.tenths(cost.from_h), last=care_words.tenths(cost.to_h)
            ),
            "headline": _headline(cost),
            "owned": "" if expected is None else _per_h(expected.hour.ownership_usd_per_h),
            "life": "" if expected is None else _per_h(expected.hour.repairs_usd_per_h),
            "rate": "" if cost.rate_usd_per_h is None else _per_h(cost.rate_usd_per_h),
            "charged": words.dollars(cost.fields_cents),
            "lacks": words.dates_said(said_again(cost.lacks)),
            "is_guessed": isinstance(thing, Implement),
        }
    }


def _headline(cost: MachineCost) -> str:
    """Return in a sentence how what was spent stands to what is expected."""
    if cost.hours <= 0:
        return _("It has not run yet, so nothing can be said by the hour.")
    spent, hours = _per_h(cost.per_h_usd(cost.kept_cents)), care_words.tenths(cost.hours)
    if cost.expected is None:
        return _("Repairs and service cost {spent} over {hours} h so far.").format(spent=spent, hours=hours)
    told = _(
        "Repairs and service cost {spent} over {hours} h so far; at its age {expected} is expected."
    ).format(spent=spent, hours=hours, expected=_per_h(cost.per_h_usd(cost.expected.repairs_cents)))
    if cost.hours >= LITTLE_H:
        return told
    little = _("Over so few hours one bill says more than the hours do.")
    return f"{told} {little}"


def _per_h(usd: Decimal | None) -> str:
    return "" if usd is None else _("{dollars} an hour").format(dollars=f"${usd:,.2f}")
