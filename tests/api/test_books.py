"""Rates, bills, payees and what the books make of them, as JSON."""

import uuid

from ledger.models import Entry
from tests.api.conftest import Yard, client_of

BILL = {
    "client_id": "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11",
    "payee": "Cane Road Tire",
    "number": "77",
    "bill_on": "2026-04-21",
    "amount_usd": "12.50",
    "category": "tires",
}


def test_a_rate_is_set_once_and_another_price_for_the_date_must_be_a_correction(yard: Yard) -> None:
    client = client_of("bookkeeper-a")
    body = {
        "kind": "machine",
        "subject": "tractor-1",
        "unit": "h",
        "usd_per_unit": "41.25",
        "valid_from": "2026-04-22",
    }
    first = client.post(f"{yard.at}ledger/rates/", body, format="json")
    assert (first.status_code, first.json()["usd_per_unit"]) == (201, "41.2500")
    assert client.post(f"{yard.at}ledger/rates/", body, format="json").status_code == 200
    dearer = {**body, "usd_per_unit": "43.00"}
    assert client.post(f"{yard.at}ledger/rates/", dearer, format="json").status_code == 409
    corrected = client.post(f"{yard.at}ledger/rates/", {**dearer, "corrects": True}, format="json")
    assert (corrected.status_code, corrected.json()["correction_no"]) == (201, 1)


def test_a_bill_is_paid_once(yard: Yard) -> None:
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/bills/{yard.bill.pk}/payment/"
    body = {"paid_on": "2026-04-25", "check_no": "1044"}
    paid = client.post(at, body, format="json")
    assert (paid.status_code, paid.json()["payment"]) == (201, body)
    assert client.post(at, body, format="json").status_code == 200
    assert client.post(at, {**body, "check_no": "1045"}, format="json").status_code == 409


def test_a_bill_has_items_that_come_into_stock_and_is_paid_at_once(yard: Yard) -> None:
    item = {
        "category": "seed",
        "amount_usd": "900.00",
        "item": "oats",
        "lot": "L-7",
        "quantity": "30.0000",
        "unit": "bag",
    }
    body = {
        **BILL,
        "amount_usd": "945.00",
        "sales_tax_usd": "45.00",
        "category": "",
        "items": [item],
        "paid_on": "2026-04-21",
        "check_no": "1050",
    }  # fmt: skip
    client = client_of("bookkeeper-a")
    answer = client.post(f"{yard.at}ledger/bills/", body, format="json")
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["category"], told["sales_tax_usd"], told["payment"]["check_no"]) == ("seed", "45.00", "1050")
    assert told["items"][0].items() >= {**item, "amount_usd": "945.00", "item_no": 1}.items()
    assert client.post(f"{yard.at}ledger/bills/", body, format="json").status_code == 200
    below = {**body, "client_id": str(uuid.uuid4()), "number": "", "items": [{**item, "quantity": "-30"}]}
    refused = client.post(f"{yard.at}ledger/bills/", below, format="json").json()
    assert refused["code"] == "bill_refused"
    assert [one["pointer"] for one in refused["errors"]] == ["/items/0/quantity"]
    assert "is below zero; what went back has an amount below zero" in refused["detail"]


def test_payees_entities_and_categories_are_told_and_read(yard: Yard) -> None:
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/"
    entity = {"code": "home", "name": "Home Place LLC"}
    assert client.post(f"{at}entities/", entity, format="json").status_code == 201
    assert client.post(f"{at}entities/", entity, format="json").status_code == 200
    river = {"code": "river", "name": "River Ground LLC"}
    assert client.get(f"{at}entities/").json()["results"] == [river, entity]
    hives = {"code": "hives", "label": "hives", "counts_for_1099": True}
    assert client.post(f"{at}categories/", hives, format="json").json()["is_billed"] is True
    codes = [row["code"] for row in client.get(f"{at}categories/").json()]
    assert (codes[0], codes[-1]) == ("labor", "hives")
    refused = client.post(f"{at}categories/", {"code": "seed", "label": "x"}, format="json")
    assert (refused.status_code, refused.json()["code"]) == (422, "category_refused")
    payee = {"name": "Cane Road Tire", "has_w9": True, "gets_no_1099": False}
    assert client.post(f"{at}payees/", payee, format="json").json() == payee
    body = {
        **BILL,
        "amount_usd": "2500.00",
        "entity": "home",
        "paid_on": "2026-04-21",
    }
    assert client.post(f"{at}bills/", body, format="json").json()["entity"] == "home"
    year = client.get(f"{at}payee-years/?year=2026").json()
    assert [(row["payee"], row["paid_usd"], row["threshold_usd"], row["is_over"]) for row in year] == [
        ("Cane Road Tire", "2500.00", "2000.00", True)
    ]
    assert client.get(f"{at}payee-years/?year=2031").json() == []
    assert client.get(f"{at}payee-years/").status_code == 400


def test_the_lines_of_every_entry_sum_to_nothing_and_costs_are_what_they_say(yard: Yard) -> None:
    client = client_of("bookkeeper-a")
    numbers = [row["number"] for row in client.get(f"{yard.at}ledger/entries/").json()["results"]]
    assert numbers == list(range(1, Entry.objects.filter(farm=yard.farm).count() + 1))
    from_lines: dict[str, int] = {}
    for number in numbers:
        lines = client.get(f"{yard.at}ledger/entries/{number}/").json()["lines"]
        cents = [int(line["amount_usd"].replace(".", "")) for line in lines]
        assert sum(cents) == 0
        for line, amount in zip(lines, cents):
            if line["account"] == "season":
                assert line["ground"] == "pond-40"
                from_lines[line["category"]] = from_lines.get(line["category"], 0) + amount
    costs = client.get(f"{yard.at}ledger/costs/?crop_year=2026").json()
    told: dict[str, int] = {}
    for row in costs:  # one for each unit of a category
        told[row["category"]] = told.get(row["category"], 0) + int(row["amount_usd"].replace(".", ""))
    assert told == from_lines
    # By hand: 5 h of a hand at $18, of which 1.5 h were lost by the puncture; 4.5 h of tractor at $40, and of the disk at
    # $12, all of which the share-out gives back, since no bill came for it; the tire for $186.40.
    assert (from_lines["labor"], from_lines["lost_time"]) == (6300, 2700)
    assert (from_lines["machine"], from_lines["implement"], from_lines["tires"]) == (18000, 0, 18640)
