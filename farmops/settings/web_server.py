"""The web server of service mode, as gunicorn reads it (`--config=python:farmops.settings.web_server`).

More than one process, since one interpreter computes on one core. A proxy stands in front of it; each request has a
connection of its own, and a process takes no more of them than it has threads, so an idle one takes the next.
"""

import gc

from farmops.core.garbage import FEWER_LOOKS
from farmops.settings import env
from farmops.settings.base import LOGGING

worker_class = "gthread"
workers = env.integer("FARMOPS_WEB_PROCESSES", 2)
preload_app = True  # loaded once and shared; what cannot be loaded ends the server at once
threads = 2  # while one waits for the database the other computes; more would only take turns
worker_connections = threads
keepalive = 0
timeout = 120  # for a process that hangs; a long answer has a thread of its own and is not cut off
graceful_timeout = 30  # for answers that are under way when it is told to stop
limit_request_line = 8190
control_socket_disable = True  # it would lie in a home folder that cannot be written to
logconfig_dict = {
    **LOGGING,
    "loggers": {"gunicorn.error": {"handlers": ["stderr"], "level": "INFO", "propagate": False}},
}


def when_ready(server: object) -> None:
    """Leave what was loaded before the processes part out of every later look for garbage: all of it stays.

    And look less often than after each 700 new objects: a page makes tens of thousands, nearly all of which go when it
    is done, and the looks were a tenth of what it computed.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(*FEWER_LOOKS)
