"""Parts of pages that are kept as they were made, for as long as nothing has changed of what they say."""

import hashlib
import re
import zlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import lru_cache
from typing import Any, TypeVar

from django.core.cache import cache
from django.template.loader import render_to_string
from django.utils.crypto import salted_hmac
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from farmops.core.release import release_mark

KEPT_S = 24 * 3600
FASTEST = 1
"""How hard kept text is squeezed: to a tenth of it, in a millisecond, so that a day's pages are little to keep."""
Made = TypeVar("Made")
Read = TypeVar("Read")
PASSING = "is_passing"
"""Among facts: whether they are of what an address asks for and nothing here has, so that nobody asks for it again."""
UNREADABLE = (zlib.error, TypeError, ValueError)
"""What is raised by text that is not what was kept."""


@lru_cache(maxsize=1)
def _hole_word() -> str:
    """Return the word that is in each hole: no text of a database holds it, even where it holds the character 0."""
    return salted_hmac(__name__, "hole").hexdigest()[:16]


@lru_cache(maxsize=1)
def _holes() -> re.Pattern[str]:
    return re.compile(f"\0{_hole_word()}(\\w+)\0")


def hole(name: str) -> SafeString:
    """Return what stands in a kept part where `own` gives something under a name."""
    return mark_safe(f"\0{_hole_word()}{name}\0")


class KeptParts:
    """The parts of one answer that depend on the same rows; `mark` tells how these stand now.

    `of` is whose parts they are: of it the newest are kept alone. Without, those of each mark are for a day.

    What changes while a part is made is seen by its mark being another afterwards. In SQLite, where marks are of values,
    a change that is taken back before the part is made is not seen; in PostgreSQL each write is.
    """

    def __init__(self, mark: Callable[[], str], *, of: object = None, before: str = "") -> None:
        self._mark, self._of, self._before = mark, of, before or mark()

    def with_mark(self, mark: Callable[[], str]) -> "KeptParts":
        """Return the parts of the same answer that depend on other rows too."""
        return KeptParts(lambda: self._mark() + mark(), of=self._of, before=self._before + mark())

    def part(
        self,
        template: str,
        *,
        asked: object,
        facts: Callable[[], Mapping[str, Any]],
        own: Mapping[str, Callable[[], str]] | None = None,
        keep: bool = True,
    ) -> SafeString:
        """Return what a template makes of its facts, or made of them before, in the language that is on.

        `asked` is what was asked for, of which nothing is in the mark. What changed while the facts were read is not
        kept. `own` gives what is of one answer, by the name under which the template has it: tokens and ids of its forms,
        and what changes without a row being written. All else in such a template is of no one reader. What is not to
        `keep`, or `PASSING` by its facts, is made each time: whatever can be typed would fill the cache.
        """
        own = own or {}

        told: dict[str, Any] = {}

        def make() -> bytes:
            told.update(facts())
            text = render_to_string(template, {**told, **{name: hole(name) for name in own}})
            return zlib.compress(text.encode(), FASTEST)

        kept = self._kept(
            template,
            asked=asked,
            make=make,
            read=_text,
            is_worth=lambda _made: keep and not told.get(PASSING),
        )
        return mark_safe(
            _holes().sub(lambda found: str(own[found[1]]()) if found[1] in own else found[0], kept)
        )

    def values(
        self,
        what: str,
        *,
        asked: object,
        make: Callable[[], Made],
        is_worth: Callable[[Made], bool] = lambda _made: True,
    ) -> Made:
        """Return what `make` gives, or gave before under the same name, in the language that is on; see `part`.

        What is not worth it by what was made is not kept.
        """
        return self._kept(what, asked=asked, make=make, read=_same, is_worth=is_worth)

    def _kept(
        self,
        what: str,
        *,
        asked: object,
        make: Callable[[], Made],
        read: Callable[[Made], Read],
        is_worth: Callable[[Made], bool],
    ) -> Read:
        of = self._before if self._of is None else self._of
        told = repr((what, get_language(), asked, of, release_mark(), _hole_word())).encode()
        key = f"part-{hashlib.sha256(told).hexdigest()}"
        found = cache.get(key)
        if isinstance(found, tuple) and len(found) == 2 and found[0] == self._before:
            with suppress(*UNREADABLE):
                return read(found[1])
        made = make()
        if is_worth(made) and self._mark() == self._before:
            cache.set(key, (self._before, made), KEPT_S)
        return read(made)


def _text(squeezed: bytes) -> str:
    return zlib.decompress(squeezed).decode()


def _same(made: Made) -> Made:
    return made
