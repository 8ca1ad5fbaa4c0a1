"""The windows of a pass as one strip of time."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from farmops.pages.plots.scales import DayScale
from farmops.pages.plots.time_strip import Stretch, odds, place, time_strip

ZONE = ZoneInfo("America/New_York")
MONDAY = dt.datetime(2026, 4, 20, tzinfo=ZONE)
DAYS = tuple(MONDAY.date() + dt.timedelta(days=count) for count in range(10))
WET = "sticks to the boot: topsoil 0.21, workable below 0.18; opens Tuesday about 12 pm"
STRETCHES = (
    Stretch(0, 1440, False, WET, word="sticks to the boot"),
    Stretch(1440, 2160, False, "only 4 in 10 that it holds", word="sticks to the boot"),
    Stretch(2160, 2880, True, "", 0.7),
    Stretch(2880, 14400, False, "rain: 0.10 in an hour", word="rain"),
)


def test_a_strip_says_when_it_is_open_and_joins_what_is_shut_for_one_reason() -> None:
    strip = time_strip(STRETCHES, start=MONDAY, days=DAYS, today=0, key="s", title="Disk")
    assert strip.desc == "Open Tue Apr 21 12:00 pm to Wed Apr 22 12:00 am, 7 in 10."
    assert [(piece.x, piece.width, piece.word) for piece in strip.pieces] == [
        ("0.00%", "15.00%", "sticks to the boot"),
        ("15.00%", "5.00%", "7 in 10"),
        ("20.00%", "80.00%", "rain"),
    ]
    assert [tick.is_strong for tick in strip.days] == [True] + [False] * 9


def test_an_open_piece_is_filled_to_its_chance() -> None:
    shut, likely, _rest = time_strip(
        STRETCHES, start=MONDAY, days=DAYS, today=0, key="s", title="Disk"
    ).pieces
    assert float(likely.fill_height) == 0.7 * 40
    assert float(likely.fill_y) + float(likely.fill_height) == 44
    assert float(shut.fill_height) == 0


def test_what_a_drawn_piece_says_is_escaped_and_an_open_one_is_drawn_filled_and_outlined() -> None:
    stretches = (
        Stretch(0, 1440, False, '<b>"wet" & cold</b>', word="wet"),
        Stretch(1440, 14400, True, "", 0.7),
    )
    drawn = time_strip(stretches, start=MONDAY, days=DAYS, today=0, key="s", title="Disk").drawn
    assert "<title>&lt;b&gt;&quot;wet&quot; &amp; cold&lt;/b&gt;</title>" in drawn
    assert [drawn.count(f'class="{kind}"') for kind in ("shut", "chance", "open")] == [1, 1, 1]


def test_neighbors_open_as_surely_to_the_tenth_are_one_piece() -> None:
    stretches = (
        Stretch(0, 600, True, "", 0.71),
        Stretch(600, 1440, True, "", 0.76),
        Stretch(1440, 14400, True, "", 0.8),
    )
    strip = time_strip(stretches, start=MONDAY, days=DAYS, today=0, key="s", title="Disk")
    assert [(piece.width, piece.word) for piece in strip.pieces] == [
        ("10.00%", "7 in 10"),
        ("90.00%", "8 in 10"),
    ]
    assert float(strip.pieces[0].fill_height) == pytest.approx(
        40 * (0.71 * 600 + 0.76 * 840) / 1440, abs=0.05
    )


def test_words_stand_only_where_they_fit() -> None:
    pieces = time_strip(STRETCHES, start=MONDAY, days=DAYS, today=None, key="s", title="Disk").pieces
    assert [piece.room for piece in pieces] == ["wide", "", "always"]


def test_a_pass_that_is_never_open_says_so() -> None:
    strip = time_strip([Stretch(0, 14400, False, WET)], start=MONDAY, days=DAYS, today=0, key="s", title="x")
    assert strip.desc == "Shut in all these days."


def test_a_day_that_loses_an_hour_is_as_wide_as_the_others() -> None:
    """In 2026 the clocks of New York go forward on March 8 (Energy Policy Act of 2005: second Sunday of March)."""
    days = DayScale(tuple(dt.date(2026, 3, 8) + dt.timedelta(days=count) for count in range(2)))
    after = dt.datetime(2026, 3, 8, 3, tzinfo=ZONE)
    assert place(after, days) == 50 * 2 / 23
    assert place(dt.datetime(2026, 3, 9, tzinfo=ZONE), days) == 50
    assert place(dt.datetime(2026, 3, 9, 12, tzinfo=ZONE), days) == 75


def test_chances_are_rounded_down() -> None:
    assert [odds(chance) for chance in (0.99, 0.5, 0.0999)] == ["9 in 10", "5 in 10", "less than 1 in 10"]
