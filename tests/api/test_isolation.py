"""Every address times every role times every method, from inside the farm and from another one.

An address that the table does not list fails here, so that nobody adds one without saying whom it is for.

Long because its table lists every address of the interface.
"""

import copy
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from farmops.farms.models import Pump
from tests.api.conftest import ROLES, Yard, client_of, make_other_yard, make_yard
from tests.laying import Lay

M, OFFICE, E = frozenset({"manager"}), frozenset({"manager", "bookkeeper"}), frozenset(ROLES)
MH = frozenset({"manager", "hand"})
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
FARM = "api/farms/<slug:farm_code>/"

FARM_TABLE: dict[str, dict[str, frozenset[str]]] = {
    "": {"GET": E, "PATCH": M},
    "fields/": {"GET": OFFICE, "POST": M},
    "fields/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "zones/": {"GET": OFFICE},
    "zones/<int:pk>/": {"GET": OFFICE},
    "seasons/": {"GET": OFFICE, "POST": M},
    "seasons/<int:pk>/": {"GET": OFFICE, "PATCH": M},
    "fuel-tanks/": {"GET": OFFICE, "POST": M},
    "fuel-tanks/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "pumps/": {"GET": OFFICE, "POST": M},
    "pumps/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "pivots/": {"GET": OFFICE, "POST": M},
    "pivots/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "machines/": {"GET": OFFICE, "POST": M},
    "machines/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "implements/": {"GET": OFFICE, "POST": M},
    "implements/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "hands/": {"GET": OFFICE, "POST": M},
    "hands/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "weather/stations/": {"GET": OFFICE},
    "weather/days/": {"GET": OFFICE},
    "weather/forecasts/": {"GET": OFFICE},
    "weather/forecasts/<int:pk>/": {"GET": OFFICE},
    "gauge-readings/": {"GET": E, "POST": MH},
    "gauge-readings/<int:pk>/": {"GET": E},
    "soil-readings/": {"GET": E, "POST": MH},
    "soil-readings/<int:pk>/": {"GET": E},
    "passes/": {"GET": E},
    "passes/<int:pk>/": {"GET": E},
    "passes/<int:pk>/call-off/": {"POST": M},
    "passes/<int:pk>/take-up-again/": {"POST": M},
    "passes/<int:pk>/hold/": {"POST": M},
    "plans/<int:number>/move/": {"POST": M},
    "plans/<int:number>/move/price/": {"POST": M},
    "plans/<int:number>/undo-move/": {"POST": M},
    "passes/<int:pk>/let-go/": {"POST": M},
    "passes/<int:pk>/outfits/": {"GET": OFFICE},
    "windows/": {"GET": OFFICE},
    "job-slips/": {"GET": E},
    "plans/": {"GET": OFFICE, "POST": M},
    "plans/begin/": {"POST": M},
    "plans/<int:number>/": {"GET": OFFICE},
    "plans/<int:number>/reasons/": {"GET": OFFICE},
    "plans/<int:number>/changes/": {"GET": OFFICE},
    "plans/<int:number>/send/": {"POST": M},
    "plans/<int:number>/suppose/": {"POST": M},
    "work-records/": {"GET": E, "POST": MH},
    "work-records/<int:pk>/": {"GET": E},
    "reports/": {"GET": E, "POST": MH},
    "reports/<uuid:client_id>/": {"GET": E},
    "reports/<uuid:client_id>/photos/": {"POST": MH},
    "hour-readings/": {"GET": E, "POST": MH},
    "hour-readings/<int:pk>/": {"GET": E},
    "incidents/": {"GET": E, "POST": MH},
    "incidents/<int:pk>/": {"GET": E},
    "incident-places/": {"GET": E, "POST": MH},
    "incident-places/<int:pk>/": {"GET": E},
    "incident-mendings/": {"GET": E, "POST": MH},
    "incident-mendings/<int:pk>/": {"GET": E},
    "meters-replaced/": {"GET": OFFICE, "POST": M},
    "meters-replaced/<int:pk>/": {"GET": OFFICE},
    "debris/": {"GET": OFFICE},
    "debris/<slug:code>/": {"GET": OFFICE},
    "sign-in-links/": {"GET": M},
    "sign-in-links/<int:pk>/": {"GET": M},
    "sign-in-links/<int:pk>/revoke/": {"POST": M},
    "say-sos/": {"GET": OFFICE, "POST": M},
    "say-sos/<int:pk>/": {"GET": OFFICE},
    "crop-water-facts/": {"GET": OFFICE, "POST": M},
    "crop-water-facts/<int:pk>/": {"GET": OFFICE},
    "remarks/": {"GET": E, "POST": MH},
    "remarks/<int:pk>/": {"GET": E},
    "waterings/": {"GET": E, "POST": MH},
    "waterings/<int:pk>/": {"GET": E},
    "sprayings/": {"GET": E, "POST": MH},
    "sprayings/<int:pk>/": {"GET": E},
    "fuel-fills/": {"GET": E, "POST": MH},
    "fuel-fills/<int:pk>/": {"GET": E},
    "fuel-deliveries/": {"GET": OFFICE, "POST": OFFICE},
    "fuel-deliveries/<int:pk>/": {"GET": OFFICE},
    "tank-readings/": {"GET": OFFICE, "POST": OFFICE},
    "tank-readings/<int:pk>/": {"GET": OFFICE},
    "pivot-places/": {"GET": E, "POST": MH},
    "pivot-places/<int:pk>/": {"GET": E},
    "care-rules/": {"GET": OFFICE, "POST": M},
    "care-rules/<slug:code>/": {"GET": OFFICE, "PATCH": M},
    "late-planting/": {"GET": OFFICE, "POST": M},
    "late-planting/<slug:crop>/": {"GET": OFFICE, "PATCH": M},
    "care-done/": {"GET": E, "POST": MH},
    "care-done/<int:pk>/": {"GET": E},
    "care-due/": {"GET": E},
    "limit-choices/": {"GET": OFFICE, "POST": M},
    "limit-choices/<int:pk>/": {"GET": OFFICE},
    "starting-orders/": {"GET": OFFICE},
    "orders-of-work/": {"GET": OFFICE, "POST": M},
    "orders-of-work/<slug:code>/": {"GET": OFFICE},
    "orders-of-work/<slug:code>/versions/": {"GET": OFFICE, "POST": M},
    "orders-of-work/<slug:code>/preview/": {"POST": M},
    "orders-of-work/<slug:code>/lay/": {"POST": M},
    "order-layings/": {"GET": OFFICE},
    "order-layings/<int:pk>/": {"GET": OFFICE},
    "order-layings/<int:pk>/take-back/": {"POST": M},
    "long-work/": {"GET": OFFICE},
    "long-work/<int:pk>/": {"GET": OFFICE},
    "long-work/<int:pk>/call-off/": {"POST": OFFICE},
    "ledger/rates/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/rates/<int:pk>/": {"GET": OFFICE},
    "ledger/bills/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/bills/<int:pk>/": {"GET": OFFICE},
    "ledger/bills/<int:pk>/payment/": {"POST": OFFICE},
    "ledger/payees/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/payee-years/": {"GET": OFFICE},
    "ledger/entities/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/categories/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/opening-stock/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/opening-stock/<int:pk>/": {"GET": OFFICE},
    "ledger/year-choices/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/stock/": {"GET": OFFICE},
    "ledger/entries/": {"GET": OFFICE},
    "ledger/entries/<int:number>/": {"GET": OFFICE},
    "ledger/entries/<int:number>/reverse/": {"POST": OFFICE},
    "ledger/lines/": {"GET": OFFICE},
    "ledger/costs/": {"GET": OFFICE},
    "ledger/pools/": {"GET": OFFICE},
    "ledger/share-outs/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/share-outs/<int:pk>/": {"GET": OFFICE},
    "ledger/machine-years/": {"GET": OFFICE, "POST": OFFICE},
    "ledger/waiting/": {"GET": OFFICE},
}
WITHOUT_FARM = {"api/farms/", "api/token/", "api/schema/"}
QUERY = {
    "windows/": "?from=2026-04-20&days=1&as_of=2026-04-19",
    "job-slips/": "?on=2026-04-20&hand=imani",
    "ledger/costs/": "?crop_year=2026",
    "ledger/pools/": "?through=2026-04-30",
    "ledger/payee-years/": "?year=2026",
    "ledger/machine-years/": "?year=2026",
}
OF_NO_FARM = ("care-due/", "debris/", "ledger/categories/", "ledger/stock/", "starting-orders/")
"""Lists that are no rows of a farm, or not of its own alone."""
NEEDS_MORE_WEATHER = {"windows/": 409}


@pytest.fixture(scope="module")
def both(laid_once: Lay) -> tuple[Yard, Yard]:
    """Two farms beside each other, for all tests of this file."""
    return laid_once(lambda: (make_yard("heron-slough", "a"), make_other_yard()))


@pytest.fixture
def yard(both: tuple[Yard, Yard], db: None) -> Yard:
    return copy.deepcopy(both[0])


@pytest.fixture
def other_yard(both: tuple[Yard, Yard], db: None) -> Yard:
    return copy.deepcopy(both[1])


def addresses(patterns: list[Any], before: str = "") -> Iterator[str]:
    for one in patterns:
        here = before + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from addresses(one.url_patterns, here)
        elif isinstance(one, URLPattern) and here.startswith("api/"):
            yield here


def filled(address: str, yard: Yard, method: str = "GET") -> str:
    """Return an address below the farm with the names of a yard's rows in it, and the query that reading it needs."""
    names = yard.names

    def name(found: re.Match[str]) -> str:
        return f"{found.group(1)}/{names[found.group(1)]}"

    return (
        yard.at
        + re.sub(r"([a-z-]+)/<[a-z]+:[a-z_]+>", name, address)
        + (QUERY.get(address, "") if method in ("GET", "HEAD") else "")
    )


def test_the_table_lists_every_address_and_no_other() -> None:
    there = set(addresses(get_resolver().url_patterns))
    assert there == {FARM + address for address in FARM_TABLE} | WITHOUT_FARM


@pytest.mark.long
def test_every_role_gets_what_the_table_says_and_no_more(yard: Yard) -> None:
    wrong = []
    for role in ROLES:
        client = client_of(f"{role}-a")
        for address, allowed in FARM_TABLE.items():
            for method in METHODS:
                answer = client.generic(
                    method,
                    filled(address, yard, method),
                    "{}" if method in ("POST", "PATCH") else "",
                    content_type="application/json",
                )
                who = allowed.get("GET" if method == "HEAD" else method)
                if who is None:
                    fits = answer.status_code == 405
                elif role not in who:
                    fits = answer.status_code == 403
                elif method in ("GET", "HEAD"):
                    fits = answer.status_code == NEEDS_MORE_WEATHER.get(address, 200)
                else:  # an empty body is either enough or said to be incomplete, or a version has to be told first
                    fits = answer.status_code in (200, 409, 422, 428)
                if not fits:
                    wrong.append((role, method, address, answer.status_code))
    assert wrong == []


@pytest.mark.long
def test_a_member_of_another_farm_finds_nothing_at_any_address_by_any_method(
    yard: Yard, other_yard: Yard
) -> None:
    found = []
    for role in ROLES:
        client = client_of(f"{role}-b")
        for address in FARM_TABLE:
            for method in METHODS:
                answer = client.generic(
                    method, filled(address, yard, method), "{}", content_type="application/json"
                )
                if answer.status_code != 404:
                    found.append((role, method, address, answer.status_code))
    assert found == []


def test_nobody_gets_anywhere_without_signing_in(yard: Yard) -> None:
    client = client_of(None)
    statuses = {
        (address, method): client.generic(method, filled(address, yard, method)).status_code
        for address in FARM_TABLE
        for method in METHODS
    }
    assert {pair for pair, status in statuses.items() if status != 401} == set()


def test_another_farm_answers_as_a_farm_that_does_not_exist(yard: Yard, other_yard: Yard) -> None:
    client = client_of("manager-b")
    theirs = client.get(f"{yard.at}fields/").json()
    nowhere = client.get("/api/farms/no-such-farm/fields/").json()
    assert theirs.pop("instance") != nowhere.pop("instance")
    assert theirs == nowhere


def test_rows_of_another_farm_are_missing_under_ones_own_address(yard: Yard, other_yard: Yard) -> None:
    client = client_of("manager-b")
    by_number = re.compile(r"<int:pk>")
    found = []
    for address, allowed in FARM_TABLE.items():
        if by_number.search(address):
            method = "GET" if "GET" in allowed else "POST"
            swapped = filled(address, yard).replace(yard.at, other_yard.at)
            answer = client.generic(method, swapped, '{"why": "x"}', content_type="application/json")
            if answer.status_code != 404:
                found.append((address, answer.status_code))
    assert found == []


def test_lists_show_rows_of_the_farm_of_the_address_only(yard: Yard, other_yard: Yard) -> None:
    client = client_of("manager-b")
    mine = yard.farm.code
    for address, allowed in FARM_TABLE.items():
        if address and "<" not in address and "GET" in allowed and address not in (*QUERY, *OF_NO_FARM):
            rows = client.get(filled(address, other_yard)).json()["results"]
            assert rows, address
            ids = {row["id"] for row in rows if "id" in row}
            name = address.rstrip("/").split("/")[-1]
            if ids and name in yard.names:
                assert yard.names[name] not in ids, (address, mine)
    assert [row["code"] for row in client.get("/api/farms/").json()["results"]] == [other_yard.farm.code]


@pytest.mark.parametrize(
    ("address", "query"),
    [
        ("passes/", "season={seasons}"),
        ("work-records/", "field_pass={passes}"),
        ("ledger/lines/", "season={seasons}"),
    ],
)
def test_a_filter_by_an_id_of_another_farm_finds_nothing(
    yard: Yard, other_yard: Yard, address: str, query: str
) -> None:
    client = client_of("manager-b")
    own = client.get(f"{other_yard.at}{address}?{query.format(**other_yard.names)}").json()
    theirs = client.get(f"{other_yard.at}{address}?{query.format(**yard.names)}").json()
    assert own["results"]
    assert theirs["results"] == []


@pytest.mark.parametrize(
    ("address", "key", "name"),
    [
        ("work-records/", "field_pass", "passes"),
        ("work-records/", "supersedes", "work-records"),
        ("incidents/", "season", "seasons"),
        ("say-sos/", "zone", "zones"),
        ("soil-readings/", "zone", "zones"),
        ("ledger/bills/", "incident", "incidents"),
        ("incident-places/", "incident", "incidents"),
        ("incident-mendings/", "incident", "incidents"),
        ("ledger/bills/", "season", "seasons"),
        ("ledger/bills/", "supersedes", "bills"),
        ("ledger/opening-stock/", "supersedes", "opening-stock"),
    ],
)
def test_a_body_cannot_name_an_id_of_another_farm_and_is_told_what_it_is_told_of_no_id(
    yard: Yard, other_yard: Yard, address: str, key: str, name: str
) -> None:
    client = client_of("manager-b")

    def told(row_id: int) -> list[str]:
        errors = client.post(other_yard.at + address, {key: row_id}, format="json").json()["errors"]
        return [one["detail"] for one in errors if one["pointer"] == f"/{key}"]

    assert told(yard.names[name]) == told(2_000_000_000) != []
    assert told(other_yard.names[name]) == []


@pytest.mark.parametrize(
    ("address", "key"),
    [
        ("work-records/", "hand"),
        ("hour-readings/", "machine"),
        ("incidents/", "field"),
        ("pivots/", "pump"),
        ("fuel-fills/", "machine"),
        ("meters-replaced/", "machine"),
        ("gauge-readings/", "field"),
        ("soil-readings/", "field"),
    ],
)
def test_a_body_cannot_name_a_code_of_another_farm(
    yard: Yard, other_yard: Yard, address: str, key: str
) -> None:
    rows: dict[str, Any] = {
        "hand": yard.other_hand,
        "machine": yard.place.machine,
        "field": yard.place.season.field,
        "pump": Pump.objects.get(farm=yard.farm),
    }
    rows[key].code = "only-there"
    rows[key].save()
    answer = client_of("manager-b").post(other_yard.at + address, {key: "only-there"}, format="json")
    assert answer.status_code == 422
    assert f"/{key}" in {one["pointer"] for one in answer.json()["errors"]}


def test_a_hand_sees_and_corrects_only_what_is_his_or_her_own(yard: Yard) -> None:
    hand, boss = client_of("hand-a"), client_of("manager-a")
    body = {
        "client_id": "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11",
        "field_pass": yard.place.field_pass.pk,
        "hand": "odell",
        "work_on": "2026-04-20",
        "hand_min": 60,
        "is_finished": False,
    }
    assert hand.post(f"{yard.at}work-records/", body, format="json").status_code == 403
    theirs = boss.post(f"{yard.at}work-records/", body, format="json").json()
    listed = hand.get(f"{yard.at}work-records/").json()["results"]
    assert [row["hand"] for row in listed] == ["imani"]
    assert hand.get(f"{yard.at}work-records/{theirs['id']}/").status_code == 404
    correction = {**body, "client_id": "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a12", "supersedes": theirs["id"]}
    del correction["hand"]
    assert hand.post(f"{yard.at}work-records/", correction, format="json").status_code == 403
    assert hand.get(f"{yard.at}job-slips/?on=2026-04-20&hand=odell").status_code == 403


def test_no_money_is_shown_to_a_hand(yard: Yard) -> None:
    hand = client_of("hand-a")
    for address, allowed in FARM_TABLE.items():
        if "hand" in allowed.get("GET", ()):
            text = hand.get(filled(address, yard)).content.decode()
            assert not re.search(r"usd|cents|price|rate_|cost", text), address
    assert "leave_usd" in client_of("manager-a").get(f"{yard.at}passes/").content.decode()
