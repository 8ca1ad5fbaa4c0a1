"""What the bench of the pages is asked with; nothing here is timed."""

from farmops.bench.pages import FULL, MOST_KB, MOST_P95_MS, USERS, web_command
from farmops.bench.pages_measures import _times
from tests.flows.compose_file import filled_in, services


def test_the_sizes_are_those_that_were_promised_and_the_server_is_that_of_compose() -> None:
    assert (FULL.fields, FULL.hands, USERS, MOST_P95_MS, MOST_KB) == (1_000, 100, 8, 300, 150)
    assert web_command() == [filled_in(word, {}) for word in services()["web"]["command"]]


def test_ninety_five_of_a_hundred_answers_are_within_the_time_that_is_told() -> None:
    told = _times([number / 1000 for number in range(100, 0, -1)])
    assert (told["median_ms"], told["p95_ms"], told["count"]) == (50.5, 96.0, 100)
