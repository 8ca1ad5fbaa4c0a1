"""Reading a JSON body so that nothing in it has two meanings."""

import json
from collections.abc import Mapping
from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer

from farmops.core.strict_json import strict_loads

DEEPEST = 20


class StrictJSONParser(BaseParser):
    """UTF-8 JSON without repeated keys, without NaN, and not nested deeper than anything here needs."""

    media_type = "application/json"
    renderer_class = JSONRenderer

    def parse(
        self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        try:
            text = stream.read().decode("utf-8")
        except UnicodeDecodeError as error:
            raise ParseError(f"The body is not UTF-8 text (byte {error.start}).") from error
        try:
            value = strict_loads(text)
        except json.JSONDecodeError as error:
            raise ParseError(
                f"The body is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
            ) from error
        except RecursionError as error:
            raise ParseError("The body is nested too deep.") from error
        except ValueError as error:
            raise ParseError(f"The body is not JSON that can be used: {error}.") from error
        _refuse_depth(value)
        return value


def _refuse_depth(value: Any) -> None:
    level = [value]
    for _depth in range(DEEPEST):
        inner: list[Any] = []
        for one in level:
            if isinstance(one, dict):
                inner += one.values()
            elif isinstance(one, list):
                inner += one
        if not inner:
            return
        level = inner
    raise ParseError(f"The body is nested deeper than {DEEPEST} levels.")
