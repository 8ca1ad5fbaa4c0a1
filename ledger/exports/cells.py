"""Cells of a table that a spreadsheet may open."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def text_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: an apostrophe before what would start one.

    For text only; a number is written as a number, also below zero. Source: OWASP, CSV injection.
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text
