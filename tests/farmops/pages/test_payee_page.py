"""The page of payees: what is known of one is not kept over what whoever keeps it did not see."""

import datetime as dt
import re
import uuid

import pytest

from farmops.core import clock
from ledger.models import Bill, Payee
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


def test_a_form_without_what_was_seen_changes_nothing_that_is_known(payee: Payee) -> None:
    Payee.objects.update(has_w9=True, gets_no_1099=True)
    answer = signed_in("bo").post(f"{PAYEES}{payee.pk}/", {"year": "2026", "w9": "no"})
    assert (answer.status_code, known(payee)) == (409, (True, True))


@pytest.mark.parametrize("seen", ["maybe", "yes-no", "-no-1099", "yes-no-1099-no-1099"])
def test_what_no_form_carries_counts_as_nothing_seen(payee: Payee, seen: str) -> None:
    signed_in("bo").post(f"{PAYEES}{payee.pk}/", {"w9": "yes", "seen": seen})
    assert known(payee) == (True, False)


@pytest.mark.parametrize("name", ["Cane Road", "CANE ROAD", "Cane  Road"])
def test_a_bill_is_of_the_payee_whose_very_name_was_typed(payee: Payee, name: str) -> None:
    """Payees that differ by capitals or spaces alone come from days when each way to write a name was one."""
    for one in ("Cane Road", "CANE ROAD", "Cane  Road"):
        Payee.objects.create(farm=payee.farm, name=one)
    boxes = {"payee": name, "bill_on": "4/22", "amount_usd": "9", "category": "repairs"}
    sent = signed_in("bo").post("/farms/heron-slough/bills/enter/", {**boxes, "client_id": str(uuid.uuid4())})
    assert (sent.status_code, Bill.objects.latest("pk").payee.name) == (302, name)
