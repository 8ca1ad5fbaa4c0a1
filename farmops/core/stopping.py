"""That this process is asked to end: long work looks here between its steps, and lets go of what it holds."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_asked = threading.Event()


def ask() -> None:
    """Ask all work of this process to come to an end."""
    _asked.set()


def is_asked() -> bool:
    """Say whether this process is asked to end."""
    return _asked.is_set()


@contextmanager
def ends_softly(*, leaves_main: bool = False) -> Iterator[None]:
    """Take the first SIGTERM as the wish to end soon, for as long as the block lasts; a second one ends at once.

    With `leaves_main` it also raises SystemExit in the main thread, where that waits for something else. Outside of the
    main thread, which alone may take signals, nothing changes.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def taken(_signal: int, _frame: FrameType | None) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        ask()
        if leaves_main:
            raise SystemExit(128 + signal.SIGTERM)

    before = signal.signal(signal.SIGTERM, taken)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
        _asked.clear()
