"""Numbers as people type them: points, commas of thousands and decimal commas."""

from decimal import Decimal

import pytest

from farmops.pages.boxes import read_number


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
