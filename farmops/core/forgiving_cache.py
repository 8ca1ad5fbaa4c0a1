"""The cache of the service, which may be away: what cannot be read is made anew, what cannot be kept is not kept.

Pages keep in it only what they can make themselves. Without this none of them came while Redis was stopped, full or cut
off; and what was written there by something else is not kept at all. What must not be forgotten (the count of tries to sign in) asks whether it was kept.
"""

import logging
import pickle
from collections.abc import Callable
from time import monotonic
from typing import Any, ClassVar, ParamSpec, TypeVar

from django.core.cache.backends.base import DEFAULT_TIMEOUT
from django.core.cache.backends.redis import RedisCache, RedisSerializer
from redis.exceptions import RedisError

REST_S = 5.0
"""After a failure the server is left alone for so long: each page would wait for it several times."""
Given = TypeVar("Given")
Told = ParamSpec("Told")
logger = logging.getLogger(__name__)


UNREADABLE = (
    pickle.UnpicklingError,
    EOFError,
    AttributeError,
    ImportError,
    LookupError,
    TypeError,
    ValueError,
    ArithmeticError,
    MemoryError,
)
"""What Python raises while it reads bytes that are no object, or one of another release."""


class NotReadable(Exception):
    """Under a key there is something that nobody here wrote."""


class CheckedSerializer(RedisSerializer):
    """Tells bytes that cannot be read from mistakes of who asks for them."""

    def loads(self, data: Any) -> Any:
        """Return the object that some bytes say; NotReadable where they say none."""
        try:
            return super().loads(data)
        except UNREADABLE as error:
            raise NotReadable from error


class ForgivingRedisCache(RedisCache):
    """Django's Redis cache whose `get` gives the default and whose `set` keeps nothing while the server fails."""

    _rests_until: ClassVar[float] = 0.0

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        options = {"serializer": CheckedSerializer, **params.get("OPTIONS", {})}
        super().__init__(server, {**params, "OPTIONS": options})

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        """Return what is kept under a key, or the default, also where what is there cannot be read."""
        try:
            return self._tried(default, super().get, key, default, version=version)
        except NotReadable:
            logger.warning("What the cache has under a key cannot be read, and is made anew.")
            return default

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
