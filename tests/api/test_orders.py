"""Orders of work over JSON: kept and changed by ETag, looked at, laid out by what was seen, taken back."""

import uuid
from typing import Any

from farmops.farms.models import Season
from scheduling.models import FieldPass, OrderVersion
from tests.api.conftest import Yard, client_of


def body_of(client: Any, yard: Yard) -> dict[str, Any]:
    shipped = {one["key"]: one for one in client.get(f"{yard.at}starting-orders/").json()}
    body = shipped["cotton-disk-and-bed"]
    del body["key"]
    return body


def test_an_order_goes_over_json_from_a_copy_to_its_passes_and_back(yard: Yard) -> None:
    """If-Match, 412 and 428 as RFC 9110 (13.1.1, 15.5.13) and RFC 6585 (3) have them."""
    client = client_of("manager-a")
    at = f"{yard.at}orders-of-work/"
    body = body_of(client, yard)
    made = client.post(at, {"code": "cotton", **body}, format="json")
    assert (made.status_code, made.json()["version"], made["ETag"]) == (201, 1, '"cotton-1"')
    assert client.post(at, {"code": "cotton", **body}, format="json").json()["code"] == "order_taken"
    assert client.post(at, {"code": "c2", **body, "colour": 1}, format="json").status_code == 422
    shown = client.get(f"{at}cotton/")
    assert shown["ETag"] == made["ETag"]
    assert shown.json()["steps"][3]["operation"] == "plant"

    steps = [dict(one) for one in shown.json()["steps"]]
    steps[4]["least_days"] = 36
    bad = client.post(
        f"{at}cotton/versions/", {**body, "steps": steps}, format="json", HTTP_IF_MATCH=made["ETag"]
    )
    assert (bad.status_code, bad.json()["code"]) == (422, "order_refused")
    assert bad.json()["errors"][0]["pointer"] == "/steps/4/most_days"
    steps[4]["least_days"] = 20
    body["steps"] = steps
    assert client.post(f"{at}cotton/versions/", body, format="json").json()["code"] == "order_not_seen"
    newer = client.post(f"{at}cotton/versions/", body, format="json", HTTP_IF_MATCH=made["ETag"])
    assert (newer.status_code, newer["ETag"]) == (201, '"cotton-2"')
    stale = client.post(f"{at}cotton/versions/", body, format="json", HTTP_IF_MATCH=made["ETag"])
    assert (stale.status_code, stale.json()["code"]) == (412, "order_changed")
    versions = client.get(f"{at}cotton/versions/").json()["results"]
    assert [one["version"] for one in versions] == [2, 1]

    season = Season.objects.get(pk=yard.names["seasons"])
    Season.objects.filter(pk=season.pk).update(crop="cotton", crop_year=2027)
    before = FieldPass.objects.count()
    places = {"seasons": [{"season": season.pk, "plant_to_on": "2027-05-25"}]}
    preview = client.post(f"{at}cotton/preview/", places, format="json")
    [there] = preview.json()["seasons"]
    assert (there["is_fit"], there["window"]) == (True, {"first_on": "2027-04-20", "last_on": "2027-05-25"})
    lay = {"client_id": str(uuid.uuid4()), **places}
    assert client.post(f"{at}cotton/lay/", lay, format="json").status_code == 428
    old = client.post(f"{at}cotton/lay/", lay, format="json", HTTP_IF_MATCH='"0"')
    assert (old.status_code, FieldPass.objects.count()) == (412, before)
    laid = client.post(f"{at}cotton/lay/", lay, format="json", HTTP_IF_MATCH=preview["ETag"])
    again = client.post(f"{at}cotton/lay/", lay, format="json", HTTP_IF_MATCH=preview["ETag"])
    assert (laid.status_code, again.status_code, laid.json()["id"]) == (201, 200, again.json()["id"])
    [told] = laid.json()["seasons"]
    assert FieldPass.objects.count() == before + sum(one["is_new"] for one in told["passes"])
    assert there["new_count"] == sum(one["is_new"] for one in told["passes"])
    back = client.post(f"{yard.at}order-layings/{laid.json()['id']}/take-back/", {}, format="json")
    assert (back.status_code, FieldPass.objects.count()) == (200, before)
    assert back.json()["taken_back_at"]
    assert OrderVersion.objects.filter(order__code="cotton").count() == 2
