"""Trying a transaction again that met another one: a deadlock, a serialization failure, a database that was busy."""

import random
import sqlite3
import time
from collections.abc import Callable
from typing import TypeVar

from django.db import DatabaseError, connection

T = TypeVar("T")
TRIES = 5
COLLISIONS = ("40001", "40P01")
"""PostgreSQL's serialization_failure and deadlock_detected. Source: PostgreSQL manual, appendix A, error codes."""
BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED")
"""Beginnings of what SQLite says when another connection is writing. Source: SQLite manual, result and error codes."""


def is_collision(error: DatabaseError) -> bool:
    """Return whether the same transaction may well succeed when it is tried again."""
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        return getattr(cause, "sqlite_errorname", "").startswith(BUSY)
    return getattr(cause, "sqlstate", "") in COLLISIONS


def again(
    work: Callable[[], T],
    *,
    also: tuple[type[DatabaseError], ...] = (),
    pause_s: Callable[[float], None] = time.sleep,
) -> T:
    """Return what a whole transaction returns, tried up to five times where it collides with another.

    Within a transaction nothing is tried again: only whoever opened the outermost one can do that. Between two tries it
    waits for a random time, so that two who met do not meet again. `also` are errors that may come of a collision too,
    as when somebody else took the same number.
    """
    for tried in range(1, TRIES + 1):
        try:
            return work()
        except DatabaseError as error:
            if tried == TRIES or connection.in_atomic_block:
                raise
            if not isinstance(error, also) and not is_collision(error):
                raise
            pause_s(random.uniform(0, 0.05 * 2**tried))
    raise AssertionError("the last try returns or raises")
