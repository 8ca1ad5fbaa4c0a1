"""Parts of pages that are kept as they were made, for as long as nothing has changed of what they say."""

import hashlib
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.core.cache import cache
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

import farmops
import ledger
import scheduling
from ledger.selectors.categories import SHIPPED

KEPT_S = 24 * 3600
SAYING = ("*.py", "*.html", "*.mo")
"""The files that say how a part comes to be."""


class KeptParts:
    """The parts of one answer that depend on the same rows; `mark` tells how these stand now."""

    def __init__(self, mark: Callable[[], str]) -> None:
        self._mark, self._before = mark, mark()

    def part(self, template: str, *, asked: object, facts: Callable[[], Mapping[str, Any]]) -> SafeString:
        """Return what a template makes of its facts, or made of them before, in the language that is on.

        `asked` is what was asked for, of which nothing is in the mark. What changed while the facts were read is not
        kept. Such a template has no form, no message and nothing else that is of one reader.
        """
        told = repr((template, get_language(), asked, self._before, _release())).encode()
        key = f"part-{hashlib.sha256(told).hexdigest()}"
        kept: str | None = cache.get(key)
        if kept is None:
            kept = str(render_to_string(template, dict(facts())))
            if self._mark() == self._before:
                cache.set(key, kept, KEPT_S)
        return mark_safe(kept)


@lru_cache(maxsize=1)
def _release() -> str:
    """Return the mark of the code and the words: another release makes its parts anew."""
    found = hashlib.sha256(SHIPPED.read_bytes())
    for package in (farmops, ledger, scheduling):
        folder = Path(package.__path__[0])
        for file in sorted(one for kind in SAYING for one in folder.rglob(kind)):
            found.update(file.read_bytes())
    return found.hexdigest()
