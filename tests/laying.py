"""Rows that all tests of a file begin with, laid once: each test's own are rolled back to them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Protocol, TypeVar

import pytest
from django.db import connection, transaction
from pytest_django import DjangoDbBlocker

T = TypeVar("T")


class Lay(Protocol):
    """Lays rows by the function, and gives what that gives: give each test a copy of it (`copy.deepcopy`)."""

    def __call__(self, make: Callable[[], T]) -> T: ...


def commits(item: pytest.Item) -> bool:
    """Whether a test leaves what it writes in the database, for the tables to be emptied after it."""
    marker = item.get_closest_marker("django_db")
    return marker is not None and bool(marker.kwargs.get("transaction") or marker.args[:1] == (True,))


@contextmanager
def in_common(blocker: DjangoDbBlocker) -> Iterator[Lay]:
    """Give what lays rows for as long as the block lasts; the tests within begin and end in savepoints."""
    rows = transaction.atomic()
    rows._from_testcase = True  # type: ignore[attr-defined]  # as Django's own test cases say: who insists on being outermost is let in
    with blocker.unblock():
        rows.__enter__()

    def lay(make: Callable[[], T]) -> T:
        if connection.savepoint_ids:
            raise RuntimeError("a test has begun already, and what it lays is rolled back with it")
        with blocker.unblock():
            return make()

    try:
        yield lay
    finally:
        with blocker.unblock():
            transaction.set_rollback(True)
            rows.__exit__(None, None, None)
