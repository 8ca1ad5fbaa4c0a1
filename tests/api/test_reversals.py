"""An entry is undone over the API: once, with a reason, by the office of its farm."""

from ledger.models import Entry
from ledger.services.posting import post_pending
from tests.api.conftest import Yard, client_of
from tests.ledger.makers import NOON, make_bill


def test_an_entry_is_undone_once_with_a_reason(yard: Yard) -> None:
    bill = make_bill(yard.place, "77.00", number="77")
    post_pending(farm=yard.farm, now=NOON)
    number = Entry.objects.get(bill=bill).number
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/entries/{number}/reverse/"
    for body, pointer in (({}, "/why"), ({"why": " "}, "/why"), ({"why": "x", "how": "y"}, "/how")):
        answer = client.post(at, body, format="json")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, pointer)
    answer = client.post(at, {"why": "entered twice"}, format="json")
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["reverses"], told["why"], told["source_kind"]) == (number, "entered twice", "reversal")
    assert sorted(line["amount_usd"] for line in told["lines"]) == ["-77.00", "77.00"]
    assert client.get(f"{yard.at}ledger/entries/{told['number']}/").json() == told
    again = client.post(at, {"why": "entered twice"}, format="json")
    assert (again.status_code, again.json()["code"]) == (409, "reversal_refused")
    undone = client.post(f"{yard.at}ledger/entries/{told['number']}/reverse/", {"why": "x"}, format="json")
    assert (undone.status_code, undone.json()["code"]) == (409, "reversal_refused")
    assert (
        client.post(f"{yard.at}ledger/entries/99999/reverse/", {"why": "x"}, format="json").status_code == 404
    )
    assert client_of("hand-a").post(at, {"why": "x"}, format="json").status_code == 403
    assert Entry.objects.filter(reverses__isnull=False, farm=yard.farm).count() == 1
