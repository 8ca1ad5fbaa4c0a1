"""What anybody can type into an address and nothing here has: it is answered, and fills nothing that is kept."""

from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from django.core.cache import cache

from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.kept_makers import AT, bill

TYPED: dict[str, Callable[[int], str]] = {
    "landlords/": lambda n: f"landlords/?landlord=nobody-{n}",
    "landlords/?year=2026": lambda n: f"landlords/?year={1000 + n}",
    "costs/": lambda n: f"costs/?category=c{n}",
    "costs/?by=crop": lambda n: f"costs/?by=crop&page={n}",
    "costs/?year=2026": lambda n: f"costs/?year={2030 + n}",
    "cost-lines/": lambda n: f"cost-lines/?category=c{n}",
    "cost-lines/?year=2026": lambda n: f"cost-lines/?page={n}",
    "budgets/": lambda n: f"budgets/?page={n}",
    "budgets/?year=2026": lambda n: f"budgets/?year={2030 + n}",
    "trial-balance/": lambda n: f"trial-balance/?through=2025-01-{n:02d}",
    "accounts/season/": lambda n: f"accounts/season/?page={n}",
    "accounts/season/?from=2026-01-01": lambda n: f"accounts/season/?from=2026-03-{n:02d}&to=2026-01-01",
    "payees/": lambda n: f"payees/?year={1000 + n}",
    "schedule-f/": lambda n: f"schedule-f/?year={2050 + n}",
    "sprays/": lambda n: f"sprays/?page={n}&records={n + 1}",
    "sprays/paper/": lambda n: f"sprays/paper/?year={1000 + n}",
    "debris/": lambda n: f"debris/?page={n}",
    "fields/": lambda n: f"fields/?page={n}",
    "week/": lambda n: f"week/?rows={n}",
    "mail/": lambda n: f"mail/?day={1990 + n}-01-01",
}


@pytest.fixture
def kept(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    bill(yard, "A 1")
    found: dict[str, Any] = {}
    monkeypatch.setattr(cache, "get", lambda key, default=None: found.get(key, default))
    monkeypatch.setattr(cache, "set", lambda key, value, _for_s=0: found.update({key: value}))
    return found


@pytest.mark.parametrize("page", TYPED)
def test_what_is_typed_fills_nothing(page: str, kept: dict[str, Any]) -> None:
    client = signed_in("mona")
    with time_machine.travel(MONDAY, tick=False):
        assert client.get(AT + page).status_code == 200
        before = set(kept)
        assert before
        for number in (3, 4):
            assert client.get(AT + TYPED[page](number)).status_code in (200, 422)
    assert set(kept) == before
