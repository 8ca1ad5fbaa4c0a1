"""Parts of pages that are kept as they were made, for as long as nothing has changed of what they say."""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from django.core.cache import cache
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from farmops.core.release import release_mark

KEPT_S = 24 * 3600


class KeptParts:
    """The parts of one answer that depend on the same rows; `mark` tells how these stand now."""

    def __init__(self, mark: Callable[[], str]) -> None:
        self._mark, self._before = mark, mark()

    def part(self, template: str, *, asked: object, facts: Callable[[], Mapping[str, Any]]) -> SafeString:
        """Return what a template makes of its facts, or made of them before, in the language that is on.

        `asked` is what was asked for, of which nothing is in the mark. What changed while the facts were read is not
        kept. Such a template has no form, no message and nothing else that is of one reader.
        """
        told = repr((template, get_language(), asked, self._before, release_mark())).encode()
        key = f"part-{hashlib.sha256(told).hexdigest()}"
        kept: str | None = cache.get(key)
        if kept is None:
            kept = str(render_to_string(template, dict(facts())))
            if self._mark() == self._before:
                cache.set(key, kept, KEPT_S)
        return mark_safe(kept)
