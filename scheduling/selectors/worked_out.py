"""What is worked out from a stored plan, kept for a day under a hash of all that it was worked out from."""

import hashlib
import json
from collections.abc import Callable
from typing import Any

from django.core.cache import cache

KEPT_S = 24 * 3600


def worked_out(what: str, made_from: Any, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Return what `make` gives, or what it gave before for the same `made_from`; both are plain JSON values."""
    text = json.dumps(made_from, sort_keys=True, ensure_ascii=True)
    key = f"{what}-{hashlib.sha256(text.encode('ascii')).hexdigest()}"
    kept: dict[str, Any] | None = cache.get(key)
    if kept is None:
        kept = make()
        cache.set(key, kept, KEPT_S)
    return kept
