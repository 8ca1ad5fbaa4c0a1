"""The description of the interface in OpenAPI: bodies in, bodies out, queries, and the one form of refusal."""

from typing import Any

from django import forms
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from farmops.core.api.queries import DayBox, WholeBox
from farmops.core.problems import MEDIA_TYPE

_TEXT = {"type": "string"}
PROBLEM: dict[str, Any] = {
    "type": "object",
    "description": "RFC 9457 problem details. `code` is stable; `detail` is a sentence for people.",
    "required": ["type", "title", "status", "detail", "instance", "code", "errors"],
    "properties": {
        "type": _TEXT,
        "title": _TEXT,
        "status": {"type": "integer"},
        "detail": _TEXT,
        "instance": _TEXT,
        "code": _TEXT,
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail"],
                "properties": {
                    "pointer": {**_TEXT, "description": "RFC 6901 pointer into the body"},
                    "parameter": {**_TEXT, "description": "name in the query"},
                    "detail": _TEXT,
                },
            },
        },
    },
}


class ApiSchema(AutoSchema):
    """Knows what an address takes and shows; see `ApiView`."""

    def get_request_serializer(self) -> Any:
        return getattr(self.view, "takes", None)

    def get_response_serializers(self) -> Any:
        shows = getattr(self.view, "shows", None)
        if shows is None:
            return super().get_response_serializers()
        codes = getattr(self.view, "answers", {}).get(self.method)
        return dict.fromkeys(codes, shows) if codes else shows

    def get_override_parameters(self) -> list[Any]:
        form_class = getattr(self.view, "asks", None)
        if form_class is None or self.method != "GET":
            return []
        return [
            OpenApiParameter(name, _type_of(box), required=box.required, description=box.help_text)
            for name, box in form_class.base_fields.items()
        ]

    def get_tags(self) -> list[str]:
        words = [part for part in self.path.split("/") if part and not part.startswith("{")]
        return [words[2] if len(words) > 2 else words[-1]]


def _type_of(box: forms.Field) -> Any:
    if isinstance(box, DayBox):
        return OpenApiTypes.DATE
    return OpenApiTypes.INT if isinstance(box, WholeBox) else OpenApiTypes.STR


def add_problems(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """Say of every operation that its refusals are problems."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = PROBLEM
    refusal = {
        "description": "A refusal, with a stable code.",
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    for operations in result.get("paths", {}).values():
        for operation in operations.values():
            operation["responses"].setdefault("default", refusal)
    _without_marks(result)
    return result


def _without_marks(part: Any) -> None:
    """Take out the library's own marks of word lists: each list stands where it is used."""
    if isinstance(part, dict):
        part.pop("x-spec-enum-id", None)
    for one in part.values() if isinstance(part, dict) else part if isinstance(part, list) else ():
        _without_marks(one)
