"""Wages and prices as rows of a table: a row for each hand, machine and implement, in which the price is put.

What it is for: to say what hours and fuel cost, so that plans and fields are told in the farm's own dollars. Its user
decides there what each costs from which day on.
"""

import csv
import datetime as dt
import io
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.farms.models import Farm, Hand, Implement, Machine
from farmops.pages import words
from ledger.models import Rate, RateKind
from ledger.services.rate_files import RATE_COLUMNS

PRICE = "usd_per_unit"
KINDS = {
    RateKind.WAGE.value: gettext_noop("an hour of a hand"),
    RateKind.OVERTIME_EXTRA.value: gettext_noop("what an hour of overtime costs on top of the wage"),
    RateKind.PAYROLL_BURDEN.value: gettext_noop("payroll taxes and insurance"),
    RateKind.FUEL.value: gettext_noop("a gallon"),
    RateKind.MACHINE.value: gettext_noop("an hour of a machine"),
    RateKind.IMPLEMENT.value: gettext_noop("an hour of an implement"),
    RateKind.INPUT.value: gettext_noop("seed, fertilizer or what is sprayed"),
    RateKind.CUSTOM.value: gettext_noop("work that is hired, an acre"),
}
"""What is put into the column of kinds, and what each price is of."""
COLUMNS = (
    "",
    gettext_noop(
        "the code of the hand, machine, implement or input; of hired work the word for the work; empty: for all of the kind"
    ),
    gettext_noop(
        "h for an hour, gal for a gallon, ac for an acre of hired work, the unit in which an input is bought"
    ),
    gettext_noop("dollars for one unit; of payroll_burden dollars on a dollar of wages, such as 0.0765"),
    gettext_noop("the first day on which it holds, such as 2026-01-01"),
)
"""What each column says; that of kinds is told by the kinds."""


def rates_facts(*, farm: Farm, today: dt.date, typed: str | None) -> dict[str, Any]:
    """Return the page: how many prices stand, and the rows to fill in, or those that were typed."""
    count = Rate.objects.filter(farm=farm).count()
    return {
        "standing": ngettext("{count} price stands already.", "{count} prices stand already.", count).format(
            count=count
        )
        if count
        else "",
        "example_hand": Hand.objects.filter(farm=farm).values_list("code", flat=True).first() or "rosa-lopez",
        "example_on": f"{today.year}-01-01",
        "rows_text": rates_template(farm=farm, today=today) if typed is None else typed,
        "columns": [(name, words.named(says)) for name, says in zip(RATE_COLUMNS, COLUMNS, strict=True)],
        "kinds": [(kind, _(said)) for kind, said in KINDS.items()],
    }


def rates_template(*, farm: Farm, today: dt.date) -> str:
    """Return a row for each hand, the fuel, and each machine and implement, without a price, from January 1 on."""
    on = dt.date(today.year, 1, 1).isoformat()
    rows = [(RateKind.WAGE, code, "h") for code in _codes(Hand, farm, is_owner=False)]
    rows += [(RateKind.FUEL, "", "gal")]
    rows += [(RateKind.MACHINE, code, "h") for code in _codes(Machine, farm)]
    rows += [(RateKind.IMPLEMENT, code, "h") for code in _codes(Implement, farm)]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(RATE_COLUMNS)
    writer.writerows([kind, code, unit, "", on] for kind, code, unit in rows)
    return text.getvalue()


def priced_rows(text: str) -> str:
    """Return rows without those whose price is still empty; a text of no such table stays as it is, for who reads it."""
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or PRICE not in rows[0]:
        return text
    at = rows[0].index(PRICE)
    kept = [row for row in rows[1:] if len(row) <= at or row[at].strip()]
    if len(kept) == len(rows) - 1:
        return text
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([rows[0], *kept])
    return out.getvalue()


def _codes(table: Any, farm: Farm, **more: Any) -> list[str]:
    return list(table.objects.filter(farm=farm, **more).order_by("name").values_list("code", flat=True))
