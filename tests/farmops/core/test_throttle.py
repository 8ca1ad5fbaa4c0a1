"""Wrong tries are counted by maker and forgotten after a while, in a memory that does not grow."""

import datetime as dt
from typing import Any

from farmops.core.throttle import Throttle

NOW = dt.datetime(2026, 4, 20, 9, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)


def test_who_tries_wrongly_too_often_waits_and_nobody_else_does() -> None:
    throttle = Throttle(most=3, within=10 * MINUTE)
    for number in range(3):
        assert throttle.wait_s("a", now=NOW + number * MINUTE) == 0
        throttle.missed("a", now=NOW + number * MINUTE)
    assert throttle.wait_s("a", now=NOW + 2 * MINUTE) == 8 * 60
    assert throttle.wait_s("b", now=NOW + 2 * MINUTE) == 0


def test_the_wait_ends_and_counting_begins_anew() -> None:
    throttle = Throttle(most=2, within=10 * MINUTE)
    throttle.missed("a", now=NOW)
    throttle.missed("a", now=NOW)
    assert throttle.wait_s("a", now=NOW + 10 * MINUTE) == 0
    throttle.missed("a", now=NOW + 10 * MINUTE)
    assert throttle.wait_s("a", now=NOW + 10 * MINUTE) == 0
    throttle.missed("a", now=NOW + 11 * MINUTE)
    assert throttle.wait_s("a", now=NOW + 11 * MINUTE) == 9 * 60


def test_tries_spread_over_a_long_time_are_let_through() -> None:
    throttle = Throttle(most=2, within=10 * MINUTE)
    for number in range(20):
        throttle.missed("a", now=NOW + number * 10 * MINUTE)
        assert throttle.wait_s("a", now=NOW + number * 10 * MINUTE) == 0


def test_a_flood_of_makers_pushes_out_the_oldest_and_keeps_the_memory_small() -> None:
    throttle = Throttle(most=1, within=10 * MINUTE, makers=100)
    for number in range(500):
        throttle.missed(str(number), now=NOW)
    assert len(throttle._tries) == 100
    assert throttle.wait_s("0", now=NOW) == 0
    assert throttle.wait_s("499", now=NOW) > 0


def test_processes_that_count_for_themselves_let_through_no_more_together(settings: Any) -> None:
    settings.WEB_PROCESSES = 2
    each = [Throttle(most=20, within=MINUTE), Throttle(most=20, within=MINUTE)]
    let_through = 0
    for number in range(60):
        one = each[number % 2]
        if one.wait_s("a", now=NOW) == 0:
            let_through += 1
            one.missed("a", now=NOW)
    assert let_through == 20
    settings.WEB_PROCESSES = 50
    few = Throttle(most=20, within=MINUTE)
    assert few.wait_s("b", now=NOW) == 0, "who has not tried yet may try"
    few.missed("b", now=NOW)
    assert few.wait_s("b", now=NOW) > 0


def test_what_was_counted_can_be_forgotten() -> None:
    throttle = Throttle(most=1, within=MINUTE)
    throttle.missed("a", now=NOW)
    throttle.forget()
    assert throttle.wait_s("a", now=NOW) == 0
