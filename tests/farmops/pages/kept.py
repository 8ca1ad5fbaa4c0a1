"""What is kept of a page: whether each change of what it says is seen at once, as one made anew would show it."""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.pages.kept_parts import KeptParts

TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')


def unseen_changes(
    of: Any, changes: Mapping[str, Callable[[Any], object]], seen: Callable[[], str]
) -> list[str]:
    """Make one change after the other, and return those that the page does not show; each must be as made anew."""
    before, unseen = seen(), []
    for name, change in changes.items():
        change(of)
        now = seen()
        cache.clear()
        assert now == seen(), name
        if now == before:
            unseen.append(name)
        before = now
    return unseen


def stale_later(now: dt.datetime, seen: Callable[[], str]) -> list[dt.timedelta]:
    """Look now and ever later, and return after how long the page is not as made anew; no row is written meanwhile.

    Each look but the last two comes while what was kept at the one before is still kept.
    """
    seen()
    stale = []
    for hours in (12, 30, 48, 24 * 20, 24 * 400):
        later = dt.timedelta(hours=hours)
        with time_machine.travel(now + later, tick=False):
            then = seen()
            cache.clear()
            if then != seen():
                stale.append(later)
    return stale


def unmarked_reads(monkeypatch: pytest.MonkeyPatch, look: Callable[[], object]) -> dict[str, set[str]]:
    """Look with nothing kept, and return by kept part the tables that are read for it and are not in its mark.

    Entries with their lines are in the head of the books.
    """
    unmarked: dict[str, set[str]] = {}
    seen: set[str] = set()
    kept = KeptParts._kept

    def watched(self: KeptParts, what: str, *, asked: object, make: Callable[[], Any], **more: Any) -> Any:
        with CaptureQueriesContext(connection) as marking:
            self._mark()
        marked = tables(marking)
        marked |= {"ledger_line"} if "ledger_entry" in marked else set()

        def made() -> Any:
            with CaptureQueriesContext(connection) as reading:
                found = make()
            seen.update(tables(reading))
            unmarked[what] = tables(reading) - marked
            return found

        return kept(self, what, asked=asked, make=made, **more)

    monkeypatch.setattr(KeptParts, "_kept", watched)
    cache.clear()
    look()
    monkeypatch.setattr(KeptParts, "_kept", kept)
    assert seen
    return unmarked


def tables(asked: CaptureQueriesContext) -> set[str]:
    """Return the tables that some queries read."""
    return {table for one in asked for table in TABLE.findall(one["sql"])}
