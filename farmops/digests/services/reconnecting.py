"""Try a step again on a new connection, where the database went away for a moment: what was mailed cannot be taken back."""

import logging
import time
from collections.abc import Callable
from typing import TypeVar

from django.db import InterfaceError, OperationalError, connection

logger = logging.getLogger(__name__)

LOST = (OperationalError, InterfaceError)
"""What Django raises where the database is away, restarts, or drops the connection."""

WAITS_S = (0.0, 0.5, 2.0, 5.0, 10.0)

Result = TypeVar("Result")


def until_it_holds(step: Callable[[], Result]) -> Result:
    """Run a step that may be run twice; where the database is lost meanwhile, connect anew and run it again, for a while.

    Inside a transaction nothing can be tried again: there the error goes on at once.
    """
    for wait_s in WAITS_S:
        try:
            return step()
        except LOST as error:
            if connection.in_atomic_block:
                raise
            logger.warning("The database was lost (%s); connecting anew.", str(error).strip())
            connection.close()
            time.sleep(wait_s)
    return step()
