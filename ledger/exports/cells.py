"""Cells of a table that a spreadsheet may open."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
MARK = "'"
"""Before a text that would start a formula, and before one that begins with this mark itself, so that it can be undone."""


def text_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: an apostrophe before what would start one.

    For text only; a number is written as a number, also below zero. Source: OWASP, CSV injection.
    """
    return f"{MARK}{text}" if text.startswith((*FORMULA_STARTS, MARK)) else text


def text_from_cell(cell: str) -> str:
    """Return the text that `text_cell` made a cell of."""
    return cell.removeprefix(MARK)
