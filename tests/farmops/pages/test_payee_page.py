"""The page of payees: what is known of one is not kept over what whoever keeps it did not see."""

import datetime as dt
import re
import uuid

import pytest

from farmops.core import clock
from ledger.models import Payee
from ledger.services.bills import enter_bill
from tests.farmops.pages.conftest import Yard, signed_in

NOON = dt.datetime(2026, 6, 4, 16, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)
PAYEES = "/farms/heron-slough/payees/"


@pytest.fixture
def payee(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Payee:
    """Somebody who was paid this year."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        bill_on=DAY,
        amount_usd="100.01",
        category="repairs",
        paid_on=DAY,
        now=NOON,
    )
    return Payee.objects.get()


def form_of(page: str, payee: Payee) -> dict[str, str]:
    """Return what the form of a payee sends as it stands."""
    [form] = re.findall(rf'<form method="post" action="{PAYEES}{payee.pk}/".*?</form>', page, re.S)
    sent = dict(re.findall(r'<input type="hidden" name="(year|seen)" value="([^"]*)"', form))
    sent["w9"] = re.findall(r'<option value="(\w*)" selected', form)[0]
    return sent | ({"gets_no_1099": "yes"} if 'value="yes" checked' in form else {})


def known(payee: Payee) -> tuple[bool | None, bool]:
    payee.refresh_from_db()
    return payee.has_w9, payee.gets_no_1099


@pytest.mark.parametrize("year", ["2026", "2025"])
def test_what_another_tab_kept_is_not_overwritten_unseen(payee: Payee, year: str) -> None:
    client = signed_in("bo")
    old = form_of(client.get(PAYEES, {"year": year}).text, payee)
    assert (old["seen"], old["w9"]) == ("unknown", "")
    assert client.post(f"{PAYEES}{payee.pk}/", {**old, "w9": "yes", "gets_no_1099": "yes"}).status_code == 302
    answer = client.post(f"{PAYEES}{payee.pk}/", {**old, "w9": "no"})
    assert answer.status_code == 409
    assert known(payee) == (True, True)
    assert "Nothing was kept of Plain Mutual: it stands at its row why." in answer.text
    assert "Changed meanwhile: W-9 is on file now, and no form 1099 is due." in answer.text
    anew = form_of(answer.text, payee)
    assert anew == {"year": year, "seen": "yes-no-1099", "w9": "no"}, "what was chosen stands there"
    assert client.post(f"{PAYEES}{payee.pk}/", anew).status_code == 302
    assert known(payee) == (False, False)


def test_what_is_kept_already_is_kept_once_more_from_any_tab(payee: Payee) -> None:
    client = signed_in("bo")
    old = form_of(client.get(PAYEES).text, payee)
    for _twice in range(2):
        assert client.post(f"{PAYEES}{payee.pk}/", {**old, "w9": "yes"}).status_code == 302
    assert known(payee) == (True, False)
    assert form_of(client.get(PAYEES).text, payee)["seen"] == "yes"


@pytest.mark.parametrize("seen", ["maybe", "yes-no", "-no-1099", "yes-no-1099-no-1099"])
def test_what_no_form_carries_counts_as_nothing_seen(payee: Payee, seen: str) -> None:
    signed_in("bo").post(f"{PAYEES}{payee.pk}/", {"w9": "yes", "seen": seen})
    assert known(payee) == (True, False)
