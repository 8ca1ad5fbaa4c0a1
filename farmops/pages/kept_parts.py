"""Parts of pages that are kept as they were made, for as long as nothing has changed of what they say."""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from django.core.cache import cache
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from farmops.core.release import release_mark

KEPT_S = 24 * 3600
Made = TypeVar("Made")


class KeptParts:
    """The parts of one answer that depend on the same rows; `mark` tells how these stand now."""

    def __init__(self, mark: Callable[[], str], *, before: str = "") -> None:
        self._mark, self._before = mark, before or mark()

    def with_mark(self, mark: Callable[[], str]) -> "KeptParts":
        """Return the parts of the same answer that depend on other rows too."""
        return KeptParts(lambda: self._mark() + mark(), before=self._before + mark())

    def part(self, template: str, *, asked: object, facts: Callable[[], Mapping[str, Any]]) -> SafeString:
        """Return what a template makes of its facts, or made of them before, in the language that is on.

        `asked` is what was asked for, of which nothing is in the mark. What changed while the facts were read is not
        kept. Such a template posts nothing, and has no message and nothing else that is of one reader.
        """
        return mark_safe(
            self.values(template, asked=asked, make=lambda: str(render_to_string(template, dict(facts()))))
        )

    def values(self, what: str, *, asked: object, make: Callable[[], Made]) -> Made:
        """Return what `make` gives, or gave before under the same name, in the language that is on; see `part`.

        It is plain data, and not None.
        """
        told = repr((what, get_language(), asked, self._before, release_mark())).encode()
        key = f"part-{hashlib.sha256(told).hexdigest()}"
        kept: Made | None = cache.get(key)
        if kept is None:
            kept = make()
            if self._mark() == self._before:
                cache.set(key, kept, KEPT_S)
        return kept
