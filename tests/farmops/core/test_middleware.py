"""Requests that are too long are refused before they are read."""

import gzip
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from farmops.core.middleware import CallerBehindProxy, RefuseLargeBodies


def served(request: HttpRequest) -> HttpResponse:
    return HttpResponse("served")


@pytest.mark.parametrize(
    ("length", "status"),
    [("", 200), ("64", 200), ("65", 413), ("9" * 40, 413), ("-1", 200), ("٩٩٩", 200)],
)
def test_a_body_longer_than_the_limit_is_refused_by_what_it_says(
    settings: Any, length: str, status: int
) -> None:
    settings.MOST_REQUEST_BYTES = 64
    for address in ("/farms/heron-slough/day/send/report/", "/api/farms/heron-slough/reports/"):
        request = RequestFactory().post(address, b"", content_type="application/json", CONTENT_LENGTH=length)
        assert RefuseLargeBodies(served)(request).status_code == status


def test_the_refusal_is_a_problem_under_the_interface_and_a_sentence_elsewhere(settings: Any) -> None:
    """RFC 9110, 15.5.14: 413 Content Too Large."""
    settings.MOST_REQUEST_BYTES = 64
    kinds = [
        RefuseLargeBodies(served)(
            RequestFactory().post(at, b"", content_type="text/plain", CONTENT_LENGTH="65")
        )["Content-Type"]
        for at in ("/api/token/", "/sign-in/")
    ]
    assert kinds == ["application/problem+json", "text/plain; charset=utf-8"]


@pytest.mark.parametrize(
    ("told", "caller"),
    [
        ("198.51.100.9", "198.51.100.9"),
        ("203.0.113.66, 198.51.100.9", "198.51.100.9"),
        ("203.0.113.66,2001:db8::7 ", "2001:db8::7"),
        ("", "10.0.0.2"),
        ("198.51.100.9, unknown", "10.0.0.2"),
    ],
)
def test_the_caller_is_whom_the_proxy_added_last_and_without_a_proxy_who_asks(
    settings: Any, told: str, caller: str
) -> None:
    """RFC 7239, 5.2 and 8.1: a proxy appends; what stands before its word may be forged."""
    for is_behind, expected in ((True, caller), (False, "10.0.0.2")):
        settings.IS_BEHIND_PROXY = is_behind
        request = RequestFactory().get("/", headers={"X-Forwarded-For": told}, REMOTE_ADDR="10.0.0.2")
        CallerBehindProxy(served)(request)
        assert request.META["REMOTE_ADDR"] == expected


def test_style_sheets_and_scripts_go_out_compressed() -> None:
    answer = Client().get("/static/pages/almanac.css", headers={"accept-encoding": "gzip"})
    assert answer["Content-Encoding"] == "gzip"
    plain = Client().get("/static/pages/almanac.css")
    assert not plain.has_header("Content-Encoding")
    whole = b"".join(plain.streaming_content)  # type: ignore[attr-defined]
    packed = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert len(packed) < len(whole) / 2
    assert gzip.decompress(packed) == whole
