"""Pages and periodic jobs of the embedded mode in one process."""

import logging
import threading
from collections.abc import Callable
from pathlib import Path

import waitress
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.db import DatabaseError, connections

from farmops.core import clock, jobs
from farmops.core.problems import DomainError

logger = logging.getLogger(__name__)
HOST = "127.0.0.1"
EVERY_S = 60.0
THREADS = 6


class Clockwork(threading.Thread):
    """Runs the jobs that are due, each minute, until it is told to stop."""

    def __init__(self, *, every_s: float = EVERY_S) -> None:
        super().__init__(name="clockwork", daemon=True)
        self.every_s = every_s
        self._stop_now = threading.Event()

    def run(self) -> None:
        while not self._stop_now.is_set():
            try:
                jobs.run_due(now=clock.now())
            except (DomainError, DatabaseError, OSError):
                logger.exception("A periodic job failed; it is tried again in its next slot.")
            finally:
                connections.close_all()
            self._stop_now.wait(self.every_s)

    def stop(self) -> None:
        """Stop after the job that is running."""
        self._stop_now.set()


def serve(*, port: int, on_ready: Callable[[], None]) -> None:
    """Serve the pages on this machine only until interrupted; `on_ready` is called once the port answers."""
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    server = waitress.create_server(get_wsgi_application(), host=HOST, port=port, threads=THREADS, ident=None)
    clockwork = Clockwork()
    try:
        on_ready()
        clockwork.start()
        server.run()
    finally:
        clockwork.stop()
        server.close()
