"""What the page of machines says of noise: minutes as NIOSH counts them, and that they are why muffs go on."""

from decimal import Decimal

import pytest

from farmops.pages.fleet_page import noise_words


@pytest.mark.parametrize(
    ("dba", "span"),
    [
        ("85", "8 h"),
        ("88", "4 h"),
        ("91", "2 h"),
        ("94", "1 h"),
        ("95", "47 min"),
        ("100", "15 min"),
        ("115", "1 min"),
    ],
)
def test_minutes_are_those_that_niosh_prints_for_the_level(dba: str, span: str) -> None:
    """NIOSH publication 98-126, table 1-1; what is below a minute is said as one."""
    assert f"from {span} a day on" in noise_words(Decimal(dba))
    assert "muffs on" in noise_words(Decimal(dba))


@pytest.mark.parametrize("dba", ["45", "76", "84.9"])
def test_a_quiet_cab_says_that_it_is_below_the_level(dba: str) -> None:
    assert noise_words(Decimal(dba)) == f"{dba} dBA at the driver's ear, under NIOSH's 85."


def test_a_machine_that_nobody_measured_says_nothing() -> None:
    assert noise_words(None) == ""
