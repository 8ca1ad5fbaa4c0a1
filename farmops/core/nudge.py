"""Say that something happened, after commit and as best one can: promptness, never correctness, depends on it."""

import logging
from collections.abc import Callable

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string
from kombu.exceptions import OperationalError

logger = logging.getLogger(__name__)


def nudge(topic: str) -> None:
    """Wake the background functions that settings.NUDGES lists for a topic once the transaction has committed."""
    for dotted in settings.NUDGES.get(topic, []):
        transaction.on_commit(_waking(dotted), robust=True)


def _waking(dotted: str) -> Callable[[], None]:
    def wake() -> None:
        try:
            import_string(dotted).delay()
        except OperationalError:
            logger.warning("Nothing could be told to %s; the periodic sweep will do it.", dotted)

    return wake
