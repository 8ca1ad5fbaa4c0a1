"""The pages as documents: every tag closed, every id once, every box named, headings in order, nothing inline.

Checked by hand against the HTML standard's rules for void elements, ids and labels, and the Web Content Accessibility
Guidelines 2.2, success criteria 1.3.1 (headings, tables), 2.4.6 and 3.3.2 (labels) and 4.1.2 (names).
"""

import datetime as dt
import re
import uuid
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pytest

from farmops.core import clock
from farmops.farms.models import SoilZone
from tests.factories import make_pass
from tests.farmops.pages.catalogue import templates
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring, make_pivot

VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}
HEADINGS = ("h1", "h2", "h3", "h4")
FARM = "/farms/heron-slough/"
FIELD = f"{FARM}fields/pond-40/"


class Document(HTMLParser):
    """What is wrong with a page, as sentences."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self.open: list[str] = []
        self.ids: Counter[str] = Counter()
        self.named: set[str] = set()
        self.asked_for: set[str] = set()
        self.boxes: list[tuple[str, str]] = []
        self.level = 0
        self.feed(page)
        self.wrong += [f"never closed: {tag}" for tag in self.open]
        self.wrong += [f"{count} times the id {name}" for name, count in self.ids.items() if count > 1]
        self.wrong += [f"nothing has the id {name}" for name in self.asked_for - set(self.ids)]
        self.wrong += [f"a box without a name: {box}" for box, name in self.boxes if name not in self.named]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if len(told) != len(attrs):
            self.wrong.append(f"an attribute twice: {tag} {attrs}")
        if tag not in VOID:
            self.open.append(tag)
        if "id" in told:
            self.ids[told["id"]] += 1
        is_own = tag == "script" and str(told.get("src", "")).startswith("/static/pages/")
        if (tag in ("script", "style") and not is_own) or any(
            name == "style" or name.startswith("on") for name in told
        ):
            self.wrong.append(f"inline: {tag} {told}")
        self.asked_for |= set(told.get("aria-labelledby", "").split())
        if tag == "label" and "for" in told:
            self.asked_for.add(told["for"])
            self.named.add(told["for"])
        if tag == "a" and told.get("href", "").startswith("#"):
            self.asked_for.add(told["href"][1:])
        is_box = tag in ("input", "select", "textarea") and told.get("type") != "hidden"
        is_named = (
            "label" in self.open
            or told.get("aria-label")
            or (told.get("type") == "image" and told.get("alt"))
        )
        if is_box and not is_named:
            self.boxes.append((told.get("name", ""), told.get("id", "")))
        if tag == "th" and told.get("scope") not in ("col", "row"):
            self.wrong.append(f"a heading of a table without its scope: {told}")
        if tag in HEADINGS:
            level = HEADINGS.index(tag) + 1
            if level > self.level + 1:
                self.wrong.append(f"h{level} after h{self.level}")
            self.level = level

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.wrong.append(f"closes {tag} inside {self.open[-1:]}")
        else:
            self.open.pop()


@pytest.fixture
def ten(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm, rain_mm=9.0)
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=10))
    make_pivot(yard.field)
    make_pass(yard.field_pass.season, "plant")
    SoilZone.objects.filter(field=yard.field).update(name="low end", share_pct=50, texture="clay_loam")
    SoilZone.objects.create(farm=yard.farm, field=yard.field, name="hill", texture="loamy_sand", share_pct=50)
    client = signed_in("mona")
    day = {"day": "2026-04-20", "hour": "08:00"}
    for form, boxes in (
        ("say", {"word": "fit"}),
        ("gauge", {"rain_in": "0.4"}),
        ("thermometer", {"temp_f": "60", "depth_in": "4"}),
        ("remark", {"what": "too_wet", "operation": "disk"}),
    ):
        kept = client.post(f"{FIELD}{form}/", {"client_id": str(uuid.uuid4()), **day, **boxes})
        assert kept.status_code == 302
    return yard


def test_the_check_finds_what_is_wrong() -> None:
    page = (
        '<h2 id="a">x<p id="a" style="x"></h2><input name="n"><table><th>y</th></table><a href="#none">z</a>'
        '<label for="gone">w</label><script></script>'
    )
    assert len(Document(page).wrong) >= 8


@pytest.mark.parametrize("address", [FIELD, f"{FARM}fields/", f"{FARM}morning/", f"{FARM}week/"])
def test_a_managers_pages_are_whole(ten: Yard, address: str) -> None:
    answer = signed_in("mona").get(address)
    assert answer.status_code == 200
    assert Document(answer.content.decode()).wrong == []
    assert "'unsafe-inline'" not in answer["Content-Security-Policy"]


def test_a_hands_page_is_whole(ten: Yard) -> None:
    assert Document(signed_in("rosa").get(f"{FARM}day/").content.decode()).wrong == []


def test_refused_forms_are_whole(ten: Yard) -> None:
    client = signed_in("mona")
    for form in ("say", "gauge", "thermometer", "remark"):
        answer = client.post(f"{FIELD}{form}/", {"client_id": str(uuid.uuid4()), "note": "\0"})
        assert (answer.status_code, Document(answer.content.decode()).wrong) == (422, []), form
    boxes = {"client_id": str(uuid.uuid4()), "day": "2026-04-20", "rain_on": "2026-04-19"}
    answer = client.post(f"{FARM}morning/", {**boxes, f"rain-{ten.field.pk}": "much"})
    assert (answer.status_code, Document(answer.content.decode()).wrong) == (422, [])


KEYS = {"link.html", "stop_mail.html"}
"""Pages whose own address is a key, which is said no second time; no box of theirs is ever refused."""


@pytest.mark.parametrize(
    "path", [one for one in templates() if one.name not in KEYS], ids=lambda one: one.name
)
def test_each_form_names_where_it_goes(path: Path) -> None:
    """Outside: HTML, form submission and autofocus: without an action a form goes to the document's address with what
    follows its #, as a link to a part of the page leaves it, and an answer at such an address gives no box the focus.
    """
    forms = re.findall(r'<form [^>]*method="post"[^>]*>', path.read_text("utf-8"))
    assert [form for form in forms if "action=" not in form] == []
