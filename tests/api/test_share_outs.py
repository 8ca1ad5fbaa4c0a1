"""Pools, share-outs and the years of machines by the API."""

import uuid
from typing import Any

import pytest

from ledger.models import ShareOut
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from tests.api.conftest import Yard, client_of
from tests.ledger.makers import DAY, NOON, make_bill, make_work, use_input

ID = str(uuid.uuid4())


@pytest.fixture
def insured(yard: Yard) -> Yard:
    enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        bill_on=DAY,
        amount_usd="100.01",
        category="insurance",
        now=NOON,
    )
    return yard


def body(**facts: Any) -> dict[str, Any]:
    return {
        "client_id": ID,
        "pool": "overhead",
        "shared_by": "acres",
        "crop_year": 2026,
        "first_on": "2026-01-01",
        "last_on": "2026-04-20",
        "why": "to the end of April",
        **facts,
    }


def test_a_pool_is_shared_out_once_told_in_whole_and_undone_by_its_entry(insured: Yard) -> None:
    client, at = client_of("bookkeeper-a"), f"{insured.at}ledger/share-outs/"
    first, again = (client.post(at, body(), format="json") for _time in range(2))
    assert (first.status_code, again.status_code) == (201, 200), first.content
    made = first.json()
    assert made == again.json() == client.get(f"{at}{made['id']}/").json()
    assert made.items() >= body().items()
    assert (made["total_usd"], made["reversed_by"], made["landlord"]) == ("100.01", None, None)
    assert made["parts"] == [
        {
            "season": insured.place.season.pk,
            "category": "insurance",
            "weight": "40.0000",
            "unit": "ac",
            "amount_usd": "100.01",
        }
    ]
    other = client.post(at, body(shared_by="equal"), format="json")
    assert (other.status_code, other.json()["code"]) == (409, "share_out_differs")
    undone = client.post(
        f"{insured.at}ledger/entries/{made['entry']}/reverse/", {"why": "too early"}, format="json"
    )
    assert undone.status_code == 201, undone.content
    assert client.get(f"{at}{made['id']}/").json()["reversed_by"] == undone.json()["number"]
    listed = client.get(f"{at}?shared_by=acres&crop_year=2026&first=2026-04-20").json()["results"]
    assert [row["pool"] for row in listed] == ["implement:disk-1", "overhead"]


def test_what_pools_hold_is_told_by_category(insured: Yard) -> None:
    client = client_of("manager-a")
    client.post(f"{insured.at}ledger/share-outs/", body(), format="json")
    pools = client.get(f"{insured.at}ledger/pools/?through=2026-04-30").json()
    assert [pool["pool"] for pool in pools] == ["machine:tractor-1"]
    assert pools[0]["left_usd"] == "-197.11"
    assert pools[0]["parts"] == [
        {"category": "lubricants", "amount_usd": "-17.11"},
        {"category": "machine", "amount_usd": "-180.00"},
    ]
    assert client.get(f"{insured.at}ledger/pools/").status_code == 400


@pytest.mark.parametrize(
    ("facts", "status", "code"),
    [
        ({"pool": "barn"}, 404, "no_such_pool"),
        ({"pool": "machine:tractor-9"}, 422, "share_out_refused"),
        ({"crop_year": 2031}, 422, "share_out_refused"),
        ({"shared_by": "moon"}, 422, "invalid"),
        ({"last_on": "2027-01-01"}, 422, "share_out_refused"),
        ({"why": ""}, 422, "invalid"),
        ({"crop_year": "2026"}, 422, "invalid"),
        ({"cents": 1}, 422, "invalid"),
    ],
)
def test_what_cannot_be_is_refused_with_its_code(
    insured: Yard, facts: dict[str, Any], status: int, code: str
) -> None:
    answer = client_of("manager-a").post(f"{insured.at}ledger/share-outs/", body(**facts), format="json")
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert ShareOut.objects.filter(farm=insured.farm).count() == 1, "that of the yard"


def test_owning_machines_is_told_also_where_nothing_is_known(yard: Yard) -> None:
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/machine-years/"
    told = client.get(f"{at}?year=2026").json()
    assert (told[0]["kind"], told[0]["code"]) == ("machine", "tractor-1")
    assert told[0]["lacks"] == "No price, life and yearly hours of tractor-1 are known for 2026."
    assert (told[0]["recovery_usd"], told[0]["booked_usd"]) == (None, None)
    assert client.post(at, {"year": 2026}, format="json").status_code == 200
    assert client.post(at, {"year": 2101}, format="json").status_code == 422


def test_an_item_that_was_priced_before_its_bill_is_a_pool_of_its_own(yard: Yard) -> None:
    """By hand: two bags at 275.50 cost 600.00 when the bill comes, 49.00 more."""
    use_input(make_work(yard.place), "cotton-seed", "2", "bag", usd="275.50", category="seed")
    post_pending(farm=yard.farm, now=NOON)
    item = NewBillItem("seed", "600.00", item="cotton-seed", quantity="2", unit="bag")
    make_bill(yard.place, "600.00", category="seed", items=[item])
    post_pending(farm=yard.farm, now=NOON)
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/"
    [seed] = [
        pool
        for pool in client.get(f"{at}pools/?through=2026-04-30").json()
        if pool["pool"].startswith("shed")
    ]
    assert (seed["pool"], seed["name"], seed["left_usd"]) == ("shed:cotton-seed", "cotton-seed", "49.00")
    asked = body(pool="shed:cotton-seed", shared_by="used")
    made = client.post(f"{at}share-outs/", asked, format="json")
    assert made.status_code == 201, made.content
    assert made.json().items() >= asked.items()
    [part] = made.json()["parts"]
    assert (part["weight"], part["unit"], part["amount_usd"]) == ("2.0000", "bag", "49.00")
    other = client.post(
        f"{at}share-outs/", body(client_id=str(uuid.uuid4()), pool="shed:corn-seed"), format="json"
    )
    assert (other.status_code, other.json()["code"]) == (404, "no_such_pool")
