"""The hand's page as its tests use it: read it, take a form off it, send the form."""

import re
from typing import Any

from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.test_markup import Document

DAY = "/farms/heron-slough/day/"
KEPT, AGAIN = "Reporte guardado. Gracias.", "Este reporte ya estaba guardado."


def door(kind: str) -> str:
    return f"{DAY}send/{kind}/"


def page_of(address: str = f"{DAY}?day=2026-04-20") -> str:
    page = signed_in("rosa").get(address).content.decode()
    assert Document(page).wrong == []
    return page


def form_of(page: str, key: str) -> dict[str, str]:
    """Return what a form of the page sends as it stands: hidden boxes, ticks and what is filled in."""
    [form] = [part for part in re.findall(r"<form.*?</form>", page, re.DOTALL) if f'value="{key}"' in part]
    sent = {}
    for tag in re.findall(r"<input [^>]*>", form):
        facts = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        is_sent = facts.get("type") not in ("checkbox", "radio", "file", "image") or tag.endswith(" checked>")
        if is_sent and "name" in facts:
            sent[facts["name"]] = facts.get("value", "")
    return sent


def send(kind: str, typed: dict[str, Any]) -> tuple[int, str]:
    answer = signed_in("rosa").post(door(kind), typed, follow=True)
    return answer.status_code, answer.content.decode()
