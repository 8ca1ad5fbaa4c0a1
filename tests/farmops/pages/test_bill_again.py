"""A form of a bill that is sent again after it was kept, from Back: with the same bill it is one, with another it is two."""

import re
import uuid

import pytest

from farmops.core import clock
from ledger.models import Bill
from tests.farmops.pages.conftest import Yard
from tests.farmops.pages.test_bill_pages import NOW, sent, typed


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def test_a_form_that_was_kept_and_then_holds_another_bill_is_sent_with_an_id_of_its_own(yard: Yard) -> None:
    first = {**typed(), "client_id": str(uuid.uuid4())}
    sent(**first)
    other = {**first, "payee": "Elm Welding", "amount_usd": "275.50"}
    answer = sent(**other)
    assert (answer.status_code, Bill.objects.count()) == (422, 1)
    page = answer.content.decode()
    assert "This form was kept already, before you changed it." in page
    (form_id,) = re.findall(r'action="[^"]*bills/enter/".*?name="client_id" value="([^"]+)"', page, re.DOTALL)
    assert uuid.UUID(form_id) != uuid.UUID(first["client_id"])
    for _twice in range(2):
        assert sent(**{**other, "client_id": form_id}).status_code == 302
    assert list(Bill.objects.order_by("pk").values_list("payee__name", flat=True)) == [
        "Cane Road Tire",
        "Elm Welding",
    ]
