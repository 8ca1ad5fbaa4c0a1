"""What collides with another transaction is tried again, and nothing else is."""

import sqlite3
from pathlib import Path

import psycopg
import pytest
from django.db import DatabaseError, IntegrityError, OperationalError, connection

from farmops.core.again import TRIES, again, is_collision


def refused_by(cause: Exception) -> OperationalError:
    """Return an error as the framework hands it on: raised from that of the driver."""
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


def busy(folder: Path) -> sqlite3.Error:
    """Return what SQLite really says when another connection is writing."""
    path = folder / "busy.sqlite3"
    with sqlite3.connect(path) as first, sqlite3.connect(path, timeout=0) as second:
        first.execute("CREATE TABLE t (v)")
        first.execute("BEGIN IMMEDIATE")
        with pytest.raises(sqlite3.OperationalError, match="locked") as caught:
            second.execute("BEGIN IMMEDIATE")
    return caught.value


class Work:
    """Something that fails with some errors first."""

    def __init__(self, *errors: DatabaseError) -> None:
        self.errors = list(errors)
        self.tries = 0

    def __call__(self) -> str:
        self.tries += 1
        if self.errors:
            raise self.errors.pop(0)
        return "done"


def deadlock() -> OperationalError:
    return refused_by(psycopg.errors.lookup("40P01")("deadlock detected"))


@pytest.mark.parametrize("code", ["40001", "40P01"])
def test_a_deadlock_and_a_serialization_failure_are_collisions(code: str) -> None:
    """The names that the driver has for both codes, against those of the manual's appendix A."""
    cause = psycopg.errors.lookup(code)
    assert cause.__name__ in ("SerializationFailure", "DeadlockDetected")
    assert is_collision(refused_by(cause("refused")))


def test_other_errors_are_none() -> None:
    assert not is_collision(refused_by(psycopg.errors.lookup("53100")("disk full")))
    assert not is_collision(OperationalError("no cause at all"))
    with pytest.raises(sqlite3.OperationalError) as caught, sqlite3.connect(":memory:") as memory:
        memory.execute("SELECT * FROM nothing_of_the_kind")
    assert not is_collision(refused_by(caught.value))


def test_a_busy_sqlite_file_is_a_collision(tmp_path: Path) -> None:
    assert is_collision(refused_by(busy(tmp_path)))


def test_a_collision_is_tried_again_with_growing_random_pauses() -> None:
    pauses: list[float] = []
    work = Work(*(deadlock() for _ in range(TRIES - 1)))
    assert again(work, pause_s=pauses.append) == "done"
    assert work.tries == TRIES
    assert len(pauses) == TRIES - 1
    assert all(0 <= pause <= 0.05 * 2**tried for tried, pause in enumerate(pauses, start=1))


def test_after_five_tries_it_is_raised() -> None:
    work = Work(*(deadlock() for _ in range(TRIES)))
    with pytest.raises(OperationalError, match="deadlock"):
        again(work, pause_s=lambda _pause: None)
    assert work.tries == 5


def test_what_is_no_collision_is_raised_at_once() -> None:
    work = Work(OperationalError("no such column"))
    with pytest.raises(OperationalError):
        again(work)
    assert work.tries == 1


def test_a_lost_number_is_tried_again_only_where_that_is_asked_for() -> None:
    work = Work(IntegrityError("one_entry_per_number"))
    with pytest.raises(IntegrityError):
        again(work)
    work = Work(IntegrityError("one_entry_per_number"))
    assert again(work, also=(IntegrityError,), pause_s=lambda _pause: None) == "done"
    assert work.tries == 2


def test_within_a_transaction_nothing_is_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connection, "in_atomic_block", True)
    work = Work(deadlock())
    with pytest.raises(OperationalError):
        again(work)
    assert work.tries == 1
