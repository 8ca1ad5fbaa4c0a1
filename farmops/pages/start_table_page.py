"""Machines, implements, hands, pumps or pivots as rows of a table: what was read of it, each bad cell named.

What it is for: to enter a dozen machines or hands at once. Its user decides there whether what was read is what was
meant, and keeps it.
"""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Hand, Implement, Machine, Pivot, Pump, StartKind
from farmops.farms.services.fact_tables import TableRead, read_facts, template_text
from farmops.farms.services.outfit_files import HAND_WORK, IMPLEMENT_WORK
from farmops.farms.services.table_columns import KINDS, CellIs
from farmops.pages import trade_words, words

NEXT = {
    StartKind.MACHINES: StartKind.IMPLEMENTS,
    StartKind.IMPLEMENTS: StartKind.HANDS,
    StartKind.PUMPS: StartKind.PIVOTS,
}
"""What is entered after it."""
KNOWN = {
    StartKind.MACHINES: Machine,
    StartKind.IMPLEMENTS: Implement,
    StartKind.HANDS: Hand,
    StartKind.PUMPS: Pump,
    StartKind.PIVOTS: Pivot,
}


def table_facts(*, farm: Farm, kind: StartKind, text: str | None, typed: str | None) -> dict[str, Any]:
    """Return the page of one kind of table: its columns in words, and what was read of the rows that wait."""
    read: TableRead | None = None
    refused = ""
    if text is not None:
        try:
            read = read_facts(farm=farm, kind=kind, text=text)
        except DomainError as error:
            refused = error.says
    table = KINDS[kind]
    works = [column for column in table.columns if column.cells == CellIs.WORK]
    known = HAND_WORK if kind == StartKind.HANDS else IMPLEMENT_WORK
    return {
        "kind": kind.value,
        "headline": _headline(kind, read, refused),
        "refused": refused,
        "columns": [(one.name, _(one.says), one.is_needed) for one in table.columns],
        "works": [(code, trade_words.work(code)) for code in known] if works else [],
        "read": _read_rows(read) if read is not None else None,
        "wrong_list": _wrong_list(read) if read is not None else [],
        "can_keep": read is not None and not read.wrong_count,
        "rows_text": typed if typed is not None else text if text is not None else template_text(kind),
        "is_template": text is None and typed is None,
        "has_waiting": text is not None,
        "known": list(KNOWN[kind]._default_manager.filter(farm=farm).values_list("name", flat=True)[:200]),
        "next_kind": NEXT[kind].value if kind in NEXT else "",
    }


def _headline(kind: StartKind, read: TableRead | None, refused: str) -> str:
    if refused:
        return _("The rows cannot be read yet.")
    if read is None:
        return {
            StartKind.MACHINES: _("Which machines are there?"),
            StartKind.IMPLEMENTS: _("Which implements are there?"),
            StartKind.HANDS: _("Who works here, when, and at what?"),
            StartKind.PUMPS: _("Which wells and pumps are there?"),
            StartKind.PIVOTS: _("Which fields have a pivot?"),
        }[kind]
    if read.wrong_count:
        return words.capital(
            ngettext(
                "{count} cell is not right yet.", "{count} cells are not right yet.", read.wrong_count
            ).format(count=words.count_word(read.wrong_count))
        )
    return words.capital(
        ngettext(
            "{count} row is right. Keep it?", "{count} rows are right. Keep them?", len(read.rows)
        ).format(count=words.count_word(len(read.rows)))
    )


def _read_rows(read: TableRead) -> dict[str, Any]:
    return {
        "columns": read.columns,
        "rows": [
            {
                "line": row.line,
                "is_known": row.is_known,
                "cells": [
                    (
                        name,
                        row.cells.get(name, ""),
                        words.ended(words.capital(row.wrong[name])) if name in row.wrong else "",
                    )
                    for name in read.columns
                ],
            }
            for row in read.rows
        ],
    }


def _wrong_list(read: TableRead) -> list[str]:
    """Return a sentence for each bad cell with its row and its column."""
    return [
        words.ended(_("Row {row}, column {column}: {says}").format(row=row.line, column=column, says=says))
        for row in read.rows
        for column, says in row.wrong.items()
    ]
