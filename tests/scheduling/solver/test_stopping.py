"""Stopping a library that searches by itself."""

import threading
import time

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import parse_problem
from scheduling.solver.board import Board
from scheduling.solver.cpsat import Model
from scheduling.solver.stopping import stopping


def test_the_end_is_called_while_the_block_goes_on_and_not_after_it() -> None:
    ended = threading.Event()
    with stopping(ended.set, lambda: True):
        assert ended.wait(10)
    ended.clear()
    time.sleep(0.3)
    assert not ended.is_set()


def test_nothing_ends_where_nobody_says_stop() -> None:
    ended: list[bool] = []
    with stopping(lambda: ended.append(True), lambda: False):
        time.sleep(0.3)
    with stopping(lambda: ended.append(True), None):
        time.sleep(0.2)
    assert ended == []


def test_what_goes_wrong_in_the_block_is_not_held_back() -> None:
    threads = threading.active_count()
    with pytest.raises(ZeroDivisionError), stopping(lambda: None, lambda: False):
        1 / 0  # noqa: B018
    assert threading.active_count() == threads


def test_the_exact_model_ends_soon_after_somebody_says_stop() -> None:
    """Ten fields are not proved within a minute; the search is told to stop at once."""
    board = Board(parse_problem(Farm(10, 1).problem))
    began = time.monotonic()
    outcome = Model(board).solve(None, seconds=120, work=None, seed=1, workers=1, stop=lambda: True)
    assert not outcome.proved
    assert time.monotonic() - began < 60
