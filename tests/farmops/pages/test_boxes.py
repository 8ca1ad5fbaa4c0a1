"""What people type into boxes: numbers with points and commas, and signs that no text holds."""

from decimal import Decimal

import pytest
from django.http import QueryDict

from farmops.pages.boxes import Boxes, read_number


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("1240", "1240"),
        ("1240.5", "1240.5"),
        ("2,5", "2.5"),
        ("0,125", "0.125"),
        (",5", "0.5"),
        ("12,50", "12.50"),
        ("1,240", "1240"),
        ("1,240.50", "1240.50"),
        ("-1,240", "-1240"),
        ("12,345,678.9", "12345678.9"),
    ],
)
def test_a_comma_before_three_digits_sets_off_thousands_and_another_decimals(typed: str, read: str) -> None:
    """As bills and fuel tickets of the United States are written (common practice, no source)."""
    assert read_number(typed) == Decimal(read)


@pytest.mark.parametrize("typed", ["1,24.5", "1,2400.5", "1.240,50", "12,34,567", "1,240,", "abc", "1 240"])
def test_what_is_neither_is_no_number(typed: str) -> None:
    assert read_number(typed) is None


def test_a_nul_never_comes_to_the_database_and_is_no_sign_of_a_text() -> None:
    """Outside: PostgreSQL keeps no NUL in a text (manual, character types)."""
    boxes = Boxes(QueryDict("pool=machine:%00x&why=so%00"))
    assert "\0" not in boxes.text("pool")
    assert not boxes.text("pool").isprintable()
    boxes.note("why")
    assert "why" in boxes.wrong
