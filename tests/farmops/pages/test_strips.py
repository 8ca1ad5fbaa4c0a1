"""A day's strip on the board: chances fill, one outline goes round what is open without a break."""

import datetime as dt
from zoneinfo import ZoneInfo

from farmops.pages import strips

ZONE = "America/New_York"
MONDAY = dt.datetime(2026, 4, 20, tzinfo=ZoneInfo(ZONE))


def strip_of(*open_: tuple[int, int, float], shut: tuple[int, int] | None = None) -> strips.DayStrip:
    windows = {
        "open": [{"from": begins, "to": ends, "chance": chance} for begins, ends, chance in open_],
        "shut": [{"from": shut[0], "to": shut[1], "says": "wet"}] if shut else [],
    }
    return strips.of_windows(windows, start=MONDAY, zone=ZONE, days=[MONDAY.date()])[MONDAY.date()]


def test_touching_stretches_of_other_chances_have_one_outline_and_a_fill_each() -> None:
    strip = strip_of((420, 480, 0.5), (480, 540, 0.7), (540, 700, 0.9), (800, 900, 1.0))
    outlines = [(piece.x, round(piece.x + piece.width, 1)) for piece in strip.pieces if piece.kind == "open"]
    minute = strips.WIDTH / strips.MINUTES
    first = strips.FIRST_HOUR * 60
    wanted = [
        (round((a - first) * minute, 1), round((b - first) * minute, 1)) for a, b in ((420, 700), (800, 900))
    ]
    assert len(outlines) == 2
    for (x, end), (wanted_x, wanted_end) in zip(outlines, wanted, strict=True):
        assert abs(x - wanted_x) <= 0.2
        assert abs(end - wanted_end) <= 0.3
    fills = [piece.fill_height for piece in strip.pieces if piece.kind == "chance"]
    assert fills == [9.0, 12.6, 16.2, 18.0], "a chance fills its share of 18"


def test_a_strip_tells_each_thing_once_and_the_outline_tells_nothing() -> None:
    strip = strip_of((420, 480, 0.9), (480, 540, 0.9), (540, 600, 0.5), shut=(600, 700))
    strips.with_work(
        strip, ZONE, MONDAY + dt.timedelta(hours=8), MONDAY + dt.timedelta(hours=9), "disk Pond 80"
    )
    assert strip.told == ["open, 90 in 100", "open, 50 in 100", "shut: wet", "disk Pond 80"]
