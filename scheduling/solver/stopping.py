"""Stopping a library that searches by itself for a while: a thread looks now and then whether somebody said stop."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread

LOOK_S = 0.1


@contextmanager
def stopping(end: Callable[[], object], stop: Callable[[], bool] | None) -> Iterator[None]:
    """Call `end` from another thread, again and again, from when `stop` says yes until the block is left."""
    if stop is None:
        yield
        return
    over = Event()

    def look(stop: Callable[[], bool]) -> None:
        while not over.wait(LOOK_S):
            if stop():
                end()

    looker = Thread(target=look, args=(stop,), name="stopping", daemon=True)
    looker.start()
    try:
        yield
    finally:
        over.set()
        looker.join()
