"""What the page of Schedule F shows: what was paid in a year by the lines of the form, bill by bill. Not tax advice."""

import datetime as dt
from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.chain import chain_head
from ledger.selectors.form_lines import FormRow, form_rows
from ledger.selectors.form_maps import FormMap, form_map, map_codes


def schedule_f_facts(*, farm: Farm, year: int, code: str, today: dt.date) -> dict[str, Any]:
    """Return what was paid in a calendar year by the lines of a form. Raises NoSuchMap."""
    rows = form_rows(farm=farm, tax_year=year, map_code=code)
    mapped = form_map(farm=farm, code=code, form_year=year)
    book = category_book(farm=farm)
    return {
        "year": year,
        "code": code,
        "before": year - 1,
        "after": year + 1 if year < today.year else None,
        "form": words.named(mapped.name),
        "maps": [(code, words.named(name)) for code, name in map_codes(farm=farm)],
        "headline": _headline(rows, mapped, year),
        "lines": [
            _line(list(of_line), book)
            for _key, of_line in groupby(rows, key=lambda row: (row.line, row.label))
        ],
        "total": words.dollars(sum(row.cents for row in rows)),
        "head": chain_head(farm=farm),
    }


def _headline(rows: list[FormRow], mapped: FormMap, year: int) -> str:
    if not rows:
        return _("No bill was paid in {year}.").format(year=year)
    total = words.whole_dollars(sum(row.cents for row in rows))
    lost = sum(row.cents for row in rows if not row.line)
    if not any(not row.line for row in rows):
        says = _("{total} was paid in {year}, all of it on lines of the form.")
    else:
        says = _("{total} was paid in {year}; {lost} of it is on no line of the form.")
    return says.format(total=total, year=year, lost=words.whole_dollars(lost))


def _line(rows: list[FormRow], book: CategoryBook) -> dict[str, Any]:
    return {
        "line": rows[0].line,
        "label": words.named(rows[0].label),
        "total": words.dollars(sum(row.cents for row in rows)),
        "entities": _entities(rows),
        "rows": [_row(row, book) for row in rows],
    }


def _entities(rows: Iterable[FormRow]) -> list[tuple[str, str]]:
    """Return what each entity paid, where there are several."""
    sums: dict[str, int] = {}
    for row in rows:
        sums[row.entity] = sums.get(row.entity, 0) + row.cents
    if len(sums) == 1 and "" in sums:
        return []
    return [(name or _("the farm"), words.dollars(cents)) for name, cents in sums.items()]


def _row(row: FormRow, book: CategoryBook) -> dict[str, Any]:
    paid = dt.date.fromisoformat(row.paid_on)
    return {
        "paid": words.table_date(paid),
        "payee": row.payee,
        "bill_id": row.bill_id,
        "number": row.bill_number,
        "check_no": row.check_no,
        "category": words.capital(words.named(book.label(row.category))),
        "entity": row.entity,
        "amount": words.dollars(row.cents),
        "remark": words.capital(row.remark),
    }
