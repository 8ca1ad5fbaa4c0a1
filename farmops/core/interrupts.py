"""Ctrl-C as a wish to end with the best so far, and a second one as the wish to break off."""

import select
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

LOOK_S = 0.2


@contextmanager
def until_ctrl_c(said: Callable[[], None]) -> Iterator[Callable[[], bool]]:
    """Yield what tells whether somebody pressed Ctrl-C; `said` is called at the first, KeyboardInterrupt comes of the second.

    The first is heard by a thread of its own, so also while the main thread is deep in a library that does not come
    back to Python for a while, unless that library takes the signal for itself. Outside the main thread nobody presses.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    pressed, over = threading.Event(), threading.Event()
    counts = {"handled": 0, "heard": 0}
    ear, bell = socket.socketpair()
    ear.setblocking(False)
    bell.setblocking(False)

    def handle(number: int, frame: FrameType | None) -> None:
        counts["handled"] += 1
        if max(counts.values()) > 1:
            raise KeyboardInterrupt

    def listen() -> None:
        while not over.is_set():
            if not select.select([ear], [], [], LOOK_S)[0]:
                continue
            counts["heard"] += ear.recv(64).count(signal.SIGINT)
            if counts["heard"] and not pressed.is_set():
                pressed.set()
                said()

    listener = threading.Thread(target=listen, name="ctrl-c", daemon=True)
    before = signal.signal(signal.SIGINT, handle)
    bell_before = signal.set_wakeup_fd(bell.fileno(), warn_on_full_buffer=False)
    listener.start()
    try:
        yield pressed.is_set
    finally:
        over.set()
        listener.join()
        signal.set_wakeup_fd(bell_before)
        signal.signal(signal.SIGINT, before)
        ear.close()
        bell.close()
