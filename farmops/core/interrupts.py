"""Ctrl-C as a wish to end with the best so far, and a second one as the wish to break off."""

import _thread
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

LOOK_S = 0.2


@contextmanager
def until_ctrl_c(said: Callable[[], None]) -> Iterator[Callable[[], bool]]:
    """Yield what tells whether somebody pressed Ctrl-C; `said` is called at the first, KeyboardInterrupt comes of the second.

    A thread of its own takes the presses where the system can hand them to one, so that they are heard while the main
    thread is deep in a library that does not come back to Python, or that takes them for itself. Outside the main
    thread nobody ever presses.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    pressed, over = threading.Event(), threading.Event()

    def heard(number: int, frame: FrameType | None) -> None:
        if pressed.is_set():
            raise KeyboardInterrupt
        pressed.set()
        said()

    def listen() -> None:
        while not over.is_set():
            if signal.sigtimedwait({signal.SIGINT}, LOOK_S) is None:
                continue
            if pressed.is_set():
                _thread.interrupt_main(signal.SIGINT)
            else:
                pressed.set()
                said()

    can_listen = hasattr(signal, "sigtimedwait")
    before = signal.signal(signal.SIGINT, heard)
    listener = threading.Thread(target=listen, name="ctrl-c", daemon=True)
    blocked: set[int] = set()
    if can_listen:
        blocked = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        listener.start()
    try:
        yield pressed.is_set
    finally:
        if can_listen:
            over.set()
            listener.join()
            signal.pthread_sigmask(signal.SIG_SETMASK, blocked)
        signal.signal(signal.SIGINT, before)
