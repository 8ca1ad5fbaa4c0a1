"""Numbers, clocks and dates as the pages say them."""

import datetime as dt

import pytest

from farmops.pages import words


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (0, "no"),
        (1, "one"),
        (19, "nineteen"),
        (20, "twenty"),
        (22, "twenty-two"),
        (99, "ninety-nine"),
        (1200, "1,200"),
    ],
)
def test_counts_are_words_below_a_hundred(count: int, said: str) -> None:
    """Hyphens as in the Government Publishing Office Style Manual, 6.26 (from memory)."""
    assert words.count_word(count) == said


def test_the_clock_is_that_of_the_sheet_in_both_languages() -> None:
    for hour, en, es in (
        (0, "12:05 am", "12:05 a.m."),
        (12, "12:05 pm", "12:05 p.m."),
        (19, "7:05 pm", "7:05 p.m."),
    ):
        instant = dt.datetime(2026, 4, 20, hour, 5, tzinfo=dt.UTC)
        assert (words.clock(instant), words.clock(instant, "es")) == (en, es)


def test_dates_in_a_sentence_are_said_and_what_is_none_stays() -> None:
    assert (
        words.dates_said("wage from 2026-01-05, no. 2026-13-01")
        == "wage from January 5, 2026, no. 2026-13-01"
    )
    assert words.dates_said("desde 2026-01-05", "es") == "desde 5 de enero de 2026"
