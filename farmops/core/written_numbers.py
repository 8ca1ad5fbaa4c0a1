"""Numbers as people write them, in a box of a page or a cell of a table."""

import re
from decimal import Decimal

NUMBER = re.compile(r"[+-]?(\d{1,9}([.,]\d{0,9})?|[.,]\d{1,9})")
GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3}){1,2}(\.[0-9]{0,9})?")
"""Thousands set off by commas, as on a bill or a ticket."""


def read_number(text: str) -> Decimal | None:
    """Return a number as people write it, with a point or a comma; None for what is none, or has ten digits and more.

    A comma before three digits sets off thousands, as in 1,240 and 1,240.50; any other is a decimal comma, as in 2,5.
    """
    if GROUPED.fullmatch(text):
        return Decimal(text.replace(",", "")) + 0
    return Decimal(text.replace(",", ".")) + 0 if NUMBER.fullmatch(text) else None  # + 0 turns -0 into 0
