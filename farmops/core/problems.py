"""One family of errors, with a stable code, a plain sentence and a kind; interfaces turn them into their own form."""

from enum import StrEnum
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response

MEDIA_TYPE = "application/problem+json"


class Kind(StrEnum):
    """What sort of trouble it is; the interface decides the number that stands for it."""

    INVALID = "invalid"
    MISSING = "missing"
    CONFLICT = "conflict"
    FORBIDDEN = "forbidden"
    UNAVAILABLE = "unavailable"
    TOO_LARGE = "too large"
    WRONG_TYPE = "wrong type"
    STALE = "stale"
    UNSEEN = "unseen"


class DomainError(Exception):
    """Base of every error that a person can do something about."""

    code = "domain_error"
    kind = Kind.INVALID

    def __init__(
        self, says: str, *, fields: dict[str, str] | None = None, facts: dict[str, Any] | None = None
    ) -> None:
        """`facts` are the numbers and days that the sentence speaks of, for who says it in another language."""
        super().__init__(says)
        self.says = says
        self.fields = fields or {}
        self.facts = facts or {}


STATUS = {
    Kind.INVALID: HTTPStatus.UNPROCESSABLE_ENTITY,
    Kind.MISSING: HTTPStatus.NOT_FOUND,
    Kind.CONFLICT: HTTPStatus.CONFLICT,
    Kind.FORBIDDEN: HTTPStatus.FORBIDDEN,
    Kind.UNAVAILABLE: HTTPStatus.SERVICE_UNAVAILABLE,
    Kind.TOO_LARGE: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    Kind.WRONG_TYPE: HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
    Kind.STALE: HTTPStatus.PRECONDITION_FAILED,
    Kind.UNSEEN: HTTPStatus.PRECONDITION_REQUIRED,
}


class BadQuery(exceptions.ValidationError):
    """Something behind the question mark of an address is not known or not understood."""


def problem(
    *, status: int, code: str, detail: str, instance: str, errors: list[dict[str, str]] | None = None
) -> dict[str, Any]:
    """Return the members of an RFC 9457 problem."""
    return {
        "type": f"tag:farmops,2026:problem/{code}",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "instance": instance,
        "code": code,
        "errors": errors or [],
    }


def problem_response(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every refusal leaves as application/problem+json."""
    path = context["request"].get_full_path() if context.get("request") is not None else ""
    headers: dict[str, str] = {}
    errors: list[dict[str, str]] = []
    if isinstance(error, DomainError):
        status, code, detail = STATUS[error.kind], error.code, error.says
        errors = [{"pointer": f"/{name}", "detail": says} for name, says in error.fields.items()]
    elif isinstance(error, BadQuery):
        status, code, detail = (
            HTTPStatus.BAD_REQUEST,
            "bad_query",
            "The query of the address was not understood.",
        )
        errors = [
            {"parameter": at["pointer"].removeprefix("/"), "detail": at["detail"]}
            for at in _pointers(error.detail, "")
        ]
    elif isinstance(error, exceptions.ValidationError):
        status, code, detail = HTTPStatus.UNPROCESSABLE_ENTITY, "invalid", "Some values were not understood."
        errors = list(_pointers(error.detail, ""))
    elif isinstance(error, Http404):
        status, code, detail = HTTPStatus.NOT_FOUND, "not_found", "There is nothing at this address."
    elif isinstance(error, PermissionDenied):
        status, code, detail = HTTPStatus.FORBIDDEN, "forbidden", "You may not do this."
    elif isinstance(error, exceptions.APIException):
        status, code, detail = HTTPStatus(error.status_code), str(error.default_code), str(error.detail)
        wait, challenge = getattr(error, "wait", None), getattr(error, "auth_header", None)
        if wait:
            headers["Retry-After"] = str(int(wait))
        if challenge:
            headers["WWW-Authenticate"] = challenge
    else:
        return None
    body = problem(status=int(status), code=code, detail=detail, instance=path, errors=errors)
    return Response(body, status=int(status), headers=headers, content_type=MEDIA_TYPE)


def _pointers(detail: Any, at: str) -> Any:
    if isinstance(detail, dict):
        for key, value in detail.items():
            yield from _pointers(value, f"{at}/{_escaped(key)}")
    elif isinstance(detail, list) and any(isinstance(item, (dict, list)) for item in detail):
        for index, item in enumerate(detail):
            yield from _pointers(item, f"{at}/{index}")
    else:
        says = " ".join(str(item) for item in detail) if isinstance(detail, list) else str(detail)
        yield {"pointer": at.removesuffix("/non_field_errors") or "/", "detail": says}


def _escaped(key: Any) -> str:
    """Return a key as RFC 6901 writes it in a pointer."""
    return str(key).replace("~", "~0").replace("/", "~1")
