"""What is kept of a page: whether each change of what it says is seen at once, as one made anew would show it."""

from collections.abc import Callable, Mapping
from typing import Any

from django.core.cache import cache


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
