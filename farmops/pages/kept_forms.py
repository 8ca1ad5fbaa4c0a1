"""Pages with forms that are kept as they were made: what is of one answer is put in anew, and a refused form is drawn."""

import uuid
from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from farmops.pages.kept_parts import KeptParts, hole


def new_id() -> str:
    """Return the id that a form is sent with: another one in each form of each answer."""
    return str(uuid.uuid4())


def body_with_forms(
    request: HttpRequest,
    template: str,
    *,
    kept: KeptParts,
    asked: object,
    facts: Callable[[], Mapping[str, Any]],
    fresh: Mapping[str, Callable[[], str]],
    refused: Mapping[str, Any] | None = None,
    keep: bool = True,
) -> SafeString:
    """Return what a template makes of its facts, kept as `KeptParts.part` keeps it; drawn where a form was refused.

    `fresh` gives what stands in a form by itself and is of one answer, under `typed` by the name of its box; `client_id` is
    always among it. What else stands there by itself is in `typed` of the facts. `refused` has the facts that are of the refused
    form alone: `typed`, which goes before all that stands there by itself, and what is wrong.
    """
    fresh = {"client_id": new_id, **fresh}
    if refused is not None:
        told = facts()
        typed = {**told.get("typed", {}), **{name: make() for name, make in fresh.items()}}
        typed |= {
            name: said for name, said in refused.get("typed", {}).items() if said or name != "client_id"
        }
        return mark_safe(render_to_string(template, {**told, **refused, "typed": typed}, request))

    def with_holes() -> Mapping[str, Any]:
        told = facts()
        return {**told, "typed": {**told.get("typed", {}), **{name: hole(name) for name in fresh}}}

    own = {**fresh, "csrf_token": lambda: get_token(request)}
    return kept.part(template, asked=asked, facts=with_holes, own=own, keep=keep)
