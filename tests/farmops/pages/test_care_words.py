"""What is left of a service, in words."""

from decimal import Decimal

import pytest

from farmops.pages.care_words import left_said
from scheduling.care.due import Left


@pytest.mark.parametrize(
    ("left", "says"),
    [
        (Left(Decimal("222.8"), None, None), "222.8 h"),
        (Left(Decimal("27.9"), 12, None), "27.9 h, 12 days"),
        (Left(Decimal("27.94"), -160, None), "160 days over, 27.9 h left"),
        (Left(Decimal("-0.5"), 1, None, -1), "0.5 h over, 1 start over, 1 day left"),
        (Left(None, None, Decimal(-1200), 3), "1,200.0 ac over, 3 starts left"),
    ],
)
def test_what_is_over_is_said_apart_from_what_is_left(left: Left, says: str) -> None:
    assert left_said(left) == says
