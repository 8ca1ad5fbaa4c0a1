"""A whole record of a spraying by the interface: its products, who may name whom, restricted-use."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import HandLicense
from scheduling.models import SprayDetail, Spraying, SprayProduct
from tests.api.conftest import Yard, client_of

DETAIL = {
    "started_at": "2026-04-21T07:00:00-04:00",
    "treated_ac": "38.50",
    "crop": "cotton",
    "wind_from": "SW",
    "temp_f": "71.5",
}
PLAIN = {"name": "field herbicide A", "rate": "1.5", "total": "57.75", "unit": "pt"}
RESTRICTED = {
    "name": "bed fumigant B",
    "registration_no": "000-00",
    "rate": "3",
    "total": "115.5",
    "unit": "gal",
    "is_restricted": True,
}


def record(**facts: Any) -> dict[str, Any]:
    plain = {"field": "pond-40", "ended_at": "2026-04-21T09:30:00-04:00", "reentry_h": "48.0"}
    return {
        "client_id": str(uuid.uuid4()),
        **plain,
        "detail": DETAIL,
        "product_rows": [PLAIN],
        **facts,
    }


def licensed(yard: Yard) -> None:
    HandLicense.objects.create(
        farm=yard.farm,
        hand=yard.place.hand,
        number="P-17",
        category="private applicator",
        expires_on=dt.date(2027, 1, 1),
    )


def test_a_whole_record_is_kept_once_with_its_products(yard: Yard) -> None:
    hand, at, body = client_of("hand-a"), f"{yard.at}sprayings/", record(product_rows=[PLAIN, RESTRICTED])
    licensed(yard)
    before = Spraying.objects.count()
    first = hand.post(at, body, format="json")
    assert first.status_code == 201, first.content
    assert hand.post(at, body, format="json").status_code == 200
    kept = first.json()
    assert Spraying.objects.count() == before + 1
    assert kept["products"] == "field herbicide A, bed fumigant B"
    assert kept["detail"].items() >= DETAIL.items()
    assert (kept["detail"]["applicator_name"], kept["detail"]["license_no"]) == (yard.place.hand.name, "P-17")
    assert [row["is_restricted"] for row in kept["product_rows"]] == [False, True]
    assert Decimal(kept["product_rows"][0]["total"]) == Decimal("57.75")
    assert hand.get(f"{at}{kept['id']}/").json() == kept
    other = {**body, "product_rows": [PLAIN]}
    assert hand.post(at, other, format="json").status_code == 409


def test_restricted_use_needs_a_license_and_is_that_whatever_is_said_of_it_later(yard: Yard) -> None:
    hand, at = client_of("hand-a"), f"{yard.at}sprayings/"
    refused = hand.post(at, record(product_rows=[RESTRICTED]), format="json")
    assert (refused.status_code, refused.json()["code"]) == (403, "no_valid_license")
    office = record(
        product_rows=[RESTRICTED],
        detail={**DETAIL, "applicator_name": "Custom Spraying", "license_no": "C-2"},
    )
    assert client_of("manager-a").post(at, office, format="json").status_code == 201
    unticked = record(product_rows=[{**RESTRICTED, "is_restricted": False}])
    assert hand.post(at, unticked, format="json").json()["code"] == "no_valid_license"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"detail": None}, "invalid"),
        ({"product_rows": []}, "invalid"),
        ({"products": "field herbicide A"}, "invalid"),
        ({"detail": {**DETAIL, "treated_ac": "400.00"}}, "acres_over"),
        ({"detail": {**DETAIL, "wind_from": "up"}}, "bad_record"),
        ({"detail": {**DETAIL, "started_at": "2026-04-19T07:00:00-04:00"}}, "bad_record"),
        ({"product_rows": [PLAIN, PLAIN]}, "bad_record"),
        ({"product_rows": [{**PLAIN, "rate": "0"}]}, "bad_record"),
        ({"product_rows": [{**PLAIN, "rate": 1.5}]}, "invalid"),
        ({"product_rows": [{**PLAIN, "price": "3"}]}, "invalid"),
        ({"product_rows": [PLAIN] * 21}, "bad_record"),
    ],
)
def test_a_record_that_is_not_whole_or_cannot_be_is_refused(
    yard: Yard, change: dict[str, Any], code: str
) -> None:
    before = (Spraying.objects.count(), SprayDetail.objects.count(), SprayProduct.objects.count())
    answer = client_of("manager-a").post(
        f"{yard.at}sprayings/", record(sprayed_by="imani", **change), format="json"
    )
    assert (answer.status_code, answer.json()["code"]) == (422, code), answer.content
    assert (Spraying.objects.count(), SprayDetail.objects.count(), SprayProduct.objects.count()) == before


def test_a_hand_names_no_other_applicator(yard: Yard) -> None:
    named = record(detail={**DETAIL, "applicator_name": "Odell", "license_no": "P-1"})
    assert client_of("hand-a").post(f"{yard.at}sprayings/", named, format="json").status_code == 403


def test_a_record_without_products_is_refused(yard: Yard) -> None:
    body = record()
    del body["detail"], body["product_rows"]
    answer = client_of("hand-a").post(f"{yard.at}sprayings/", body, format="json")
    assert (answer.status_code, answer.json()["code"]) == (422, "bad_record"), answer.content
