"""Ctrl-C: the first ends a search with the best so far, the second breaks off."""

import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from farmops.core.interrupts import until_ctrl_c

DEEP_IN_A_LIBRARY = """
import hashlib, os, signal, threading, time
from farmops.core.interrupts import until_ctrl_c

with until_ctrl_c(lambda: print("ending", flush=True)) as stop:
    heard = []

    def watch():
        while not stop():
            time.sleep(0.01)
        heard.append(time.monotonic())

    threading.Thread(target=watch, daemon=True).start()
    threading.Timer(0.1, os.kill, (os.getpid(), signal.SIGINT)).start()
    hashlib.pbkdf2_hmac("sha256", b"word", b"salt", 8_000_000)  # the main thread does not come back to Python
    back = time.monotonic()
    print("heard" if heard and heard[0] < back else "not heard", flush=True)
"""


def press() -> None:
    os.kill(os.getpid(), signal.SIGINT)


def wait_for(stop: object) -> bool:
    assert callable(stop)
    for _ in range(500):
        if stop():
            return True
        time.sleep(0.01)
    return False


def test_the_first_press_is_a_wish_to_stop_and_the_second_breaks_off() -> None:
    said: list[str] = []
    before = signal.getsignal(signal.SIGINT)
    with until_ctrl_c(lambda: said.append("ending")) as stop:
        assert not stop()
        press()
        assert wait_for(stop)
        assert said == ["ending"]
        with pytest.raises(KeyboardInterrupt):  # noqa: PT012  (it comes a moment later)
            press()
            time.sleep(5)
        assert said == ["ending"]
    assert signal.getsignal(signal.SIGINT) is before
    assert signal.set_wakeup_fd(-1) == -1


def test_nothing_is_left_behind_where_nobody_pressed() -> None:
    threads = threading.active_count()
    with until_ctrl_c(lambda: None) as stop:
        assert not stop()
    assert threading.active_count() == threads
    assert signal.set_wakeup_fd(-1) == -1


def test_outside_the_main_thread_nobody_presses() -> None:
    told: list[bool] = []

    def work() -> None:
        with until_ctrl_c(lambda: told.append(True)) as stop:
            told.append(stop())

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert told == [False]


@pytest.mark.long
def test_a_press_is_heard_while_a_library_holds_the_main_thread() -> None:
    done = subprocess.run(
        [sys.executable, "-c", DEEP_IN_A_LIBRARY], capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.stdout.split(), done.returncode) == (["ending", "heard"], 0), done.stderr
