"""JSON without the gaps that readers fill in their own way: no NaN, and no key twice in one object."""

import json
from typing import Any


def strict_loads(text: str, **more: Any) -> Any:
    """Return what a JSON text says; ValueError with a sentence for NaN, Infinity or a key that stands twice.

    `more` goes to `json.loads`; text that is not JSON raises json.JSONDecodeError, as there.
    """
    return json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_repeated_key, **more)


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is not a number")


def _no_repeated_key(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {key[:60]!r} stands twice in one object")
        found[key] = value
    return found
