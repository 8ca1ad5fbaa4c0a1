"""The description of the interface: valid OpenAPI 3.1, complete, and true of what comes back."""

import io
import json
from typing import Any

import jsonschema  # type: ignore[import-untyped]
import pytest
from django.core.management import call_command
from rest_framework.test import APIClient

from tests.api.conftest import Yard, client_of
from tests.api.test_isolation import FARM_TABLE, filled


@pytest.fixture(scope="module")
def described() -> dict[str, Any]:
    out = io.StringIO()
    call_command("spectacular", validate=True, fail_on_warn=True, format="openapi-json", stdout=out)
    return json.loads(out.getvalue())


def test_the_description_is_valid_without_a_warning_and_of_the_promised_version(
    described: dict[str, Any],
) -> None:
    """`--validate` checks against the OpenAPI Initiative's own JSON schema, which the library carries."""
    assert described["openapi"].startswith("3.1")


def test_the_description_is_served_to_anybody(described: dict[str, Any]) -> None:
    answer = APIClient().get("/api/schema/", headers={"accept": "application/vnd.oai.openapi+json"})
    assert json.loads(answer.content)["paths"].keys() == described["paths"].keys()


def test_every_method_of_the_table_is_described_and_no_other(described: dict[str, Any]) -> None:
    there = {address.removeprefix("/api/farms/{farm_code}/").count("/"): 0 for address in described["paths"]}
    assert there
    methods = {
        _plain(address): {method.upper() for method in operations}
        for address, operations in described["paths"].items()
        if address.startswith("/api/farms/{")
    }
    assert methods == {_plain(f"/api/farms/<x>/{address}"): set(row) for address, row in FARM_TABLE.items()}


def test_every_refusal_has_the_form_that_the_description_gives_it(
    yard: Yard, described: dict[str, Any]
) -> None:
    refused = client_of("manager-a").post(f"{yard.at}work-records/", {"farm": 1}, format="json").json()
    asked = client_of("manager-a").get(f"{yard.at}passes/?x=1").json()
    assert refused["errors"]
    assert asked["errors"]
    for operations in described["paths"].values():
        for operation in operations.values():
            schema = operation["responses"]["default"]["content"]["application/problem+json"]["schema"]
            checker = jsonschema.Draft202012Validator({**schema, "components": described["components"]})
            checker.validate(refused)
            checker.validate(asked)
            assert not checker.is_valid({**refused, "status": "422"})


@pytest.mark.parametrize(
    "address", [one for one, row in FARM_TABLE.items() if "GET" in row and one != "windows/"]
)
def test_what_comes_back_is_what_is_described(yard: Yard, described: dict[str, Any], address: str) -> None:
    body = client_of("manager-a").get(filled(address, yard)).json()
    by_plain = {_plain(path): operations for path, operations in described["paths"].items()}
    operation = by_plain[_plain(f"/api/farms/<x>/{address}")]["get"]
    schema = operation["responses"]["200"]["content"]["application/json"]["schema"]
    whole = {**schema, "components": described["components"]}
    checker = jsonschema.Draft202012Validator.FORMAT_CHECKER
    jsonschema.Draft202012Validator(whole, format_checker=checker).validate(body)


def _plain(address: str) -> str:
    """Return an address with its parameters nameless."""
    return "/".join("*" if part[:1] in ("<", "{") else part for part in address.split("/"))
