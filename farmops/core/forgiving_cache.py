"""The cache of the service, which may be away: what cannot be read is made anew, what cannot be kept is not kept.

Pages keep in it only what they can make themselves. Without this none of them came while Redis was stopped, full or cut
off. What must not be forgotten (the count of tries to sign in) asks whether it was kept.
"""

import logging
from collections.abc import Callable
from time import monotonic
from typing import Any, ClassVar, ParamSpec, TypeVar

from django.core.cache.backends.base import DEFAULT_TIMEOUT
from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

REST_S = 5.0
"""After a failure the server is left alone for so long: each page would wait for it several times."""
Given = TypeVar("Given")
Told = ParamSpec("Told")
logger = logging.getLogger(__name__)


class ForgivingRedisCache(RedisCache):
    """Django's Redis cache whose `get` gives the default and whose `set` keeps nothing while the server fails."""

    _rests_until: ClassVar[float] = 0.0

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        """Return what is kept under a key, or the default."""
        return self._tried(default, super().get, key, default, version=version)

    def set(self, key: Any, value: Any, timeout: Any = DEFAULT_TIMEOUT, version: int | None = None) -> None:
        """Keep a value under a key."""
        self._tried(None, super().set, key, value, timeout=timeout, version=version)

    def _tried(
        self, otherwise: Given, do: Callable[Told, Given], *args: Told.args, **named: Told.kwargs
    ) -> Given:
        cls = type(self)
        if monotonic() < cls._rests_until:
            return otherwise
        try:
            return do(*args, **named)
        except (RedisError, OSError) as error:
            cls._rests_until = monotonic() + REST_S
            logger.warning("The cache is left alone for %s s: %s", REST_S, type(error).__name__)
            return otherwise
