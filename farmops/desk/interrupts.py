"""Ctrl-C as a wish to end with the best so far, and a second one as the wish to break off."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def until_ctrl_c(said: Callable[[], None]) -> Iterator[Callable[[], bool]]:
    """Yield what tells whether somebody pressed Ctrl-C; `said` is called at the first, KeyboardInterrupt comes of the second.

    Outside the main thread, where no signal arrives, nobody ever did.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    pressed = threading.Event()

    def note(number: int, frame: FrameType | None) -> None:
        if pressed.is_set():
            raise KeyboardInterrupt
        pressed.set()
        said()

    before = signal.signal(signal.SIGINT, note)
    try:
        yield pressed.is_set
    finally:
        signal.signal(signal.SIGINT, before)
