"""Pages and periodic jobs of the embedded mode in one process."""

import logging
import threading
import time
from collections.abc import Callable
from pathlib import Path

import waitress
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.db import DatabaseError, connections

from farmops.core import clock, jobs, stopping
from farmops.core.problems import DomainError

logger = logging.getLogger(__name__)
HOST = "127.0.0.1"
EVERY_S = 60.0
LETS_GO_S = 5.0
"""Who ends the service waits no longer than this for a job between two steps."""
THREADS = 6


class Clockwork:
    """Starts the jobs that are due, each minute and each in a thread of its own, until it is told to stop.

    A job that takes long keeps no other from running, and is not started again meanwhile. One that fails ends its own
    thread and nothing else: what it fails of goes to the log, and it is tried again in its next slot.
    """

    def __init__(self, *, every_s: float = EVERY_S) -> None:
        self.every_s = every_s
        self._stop_now = threading.Event()
        self._thread = threading.Thread(target=self._run, name="clockwork", daemon=True)
        self._at_work: dict[str, threading.Thread] = {}

    def start(self) -> None:
        """Begin with a first look at once."""
        self._thread.start()

    def stop(self) -> None:
        """Start no other job."""
        self._stop_now.set()

    def wait(self, *, most_s: float) -> None:
        """Give the jobs at work a moment to let go of what they hold."""
        until = time.monotonic() + most_s
        if self._thread.is_alive():
            self._thread.join(most_s)  # it may be about to start one
        for thread in self._at_work.values():
            thread.join(max(0.0, until - time.monotonic()))

    def look(self) -> None:
        """Start each job that is not at work."""
        for job in jobs.listed():
            before = self._at_work.get(job.name)
            if before is None or not before.is_alive():
                thread = threading.Thread(target=_run_job, args=[job], name=f"job {job.name}", daemon=True)
                self._at_work[job.name] = thread
                thread.start()

    def _run(self) -> None:
        while not self._stop_now.is_set():
            self.look()
            self._stop_now.wait(self.every_s)


def _run_job(job: jobs.Job) -> None:
    try:
        jobs.run_job(job=job, now=clock.now())
    except (DomainError, DatabaseError, OSError):
        logger.exception("The periodic job %s failed; it is tried again in its next slot.", job.name)
    finally:
        connections.close_all()


def _log_what_ended(ended: threading.ExceptHookArgs) -> None:
    name = ended.thread.name if ended.thread else "a thread"
    kind, error, trace = ended.exc_type, ended.exc_value, ended.exc_traceback
    if error is not None:
        logger.error("The %s ended by an error of the program.", name, exc_info=(kind, error, trace))


def serve(*, port: int, on_ready: Callable[[], None]) -> None:
    """Serve the pages on this machine only until interrupted; `on_ready` is called once the port answers."""
    with stopping.ends_softly(leaves_main=True):
        _serve(port=port, on_ready=on_ready)


def _serve(*, port: int, on_ready: Callable[[], None]) -> None:
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    server = waitress.create_server(get_wsgi_application(), host=HOST, port=port, threads=THREADS, ident=None)
    clockwork = Clockwork()
    threading.excepthook = _log_what_ended
    try:
        on_ready()
        clockwork.start()
        server.run()
    finally:
        clockwork.stop()
        stopping.ask()
        clockwork.wait(most_s=LETS_GO_S)
        server.close()
