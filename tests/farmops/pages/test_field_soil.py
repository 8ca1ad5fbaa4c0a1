"""The form on a field's page that says of what soils it is."""

import re
import uuid
from html import unescape
from typing import Any

import pytest

from farmops.core.models import User
from scheduling.models import SaySo
from tests.factories import make_farm, make_field
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

FIELD = "/farms/heron-slough/fields/pond-40/"


def page_of(answer: Any) -> str:
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def form_of(page: str) -> str:
    return page.partition('id="soil"')[2].partition("</details>")[0]


def rows(yard: Yard, *more: tuple[str, str, str]) -> dict[str, str]:
    """Return the boxes as the page has them, the first with the field's own zone."""
    boxes = {"pk-0": str(yard.field.zones.order_by("id")[0].pk)}
    for number, (name, texture, share) in enumerate(more):
        boxes |= {f"name-{number}": name, f"texture-{number}": texture, f"share_pct-{number}": share}
    return boxes


TWO = (("sand", "sand", "60"), ("low end", "clay", "40"))


def test_the_soil_of_a_field_is_described_on_its_page_and_shows_at_once(yard: Yard) -> None:
    mona = signed_in("mona")
    page = page_of(mona.get(FIELD))
    assert '<a href="#soil">' in page
    form = form_of(page)
    assert 'name="name-0" maxlength="40" size="14" autocomplete="off" value="all"' in form
    assert len(re.findall(r'name="pk-\d"', form)) == 3, "what is known and two to spare"
    page = page_of(mona.post(f"{FIELD}soil/", rows(yard, *TWO, ("", "", "")), follow=True))
    assert "The soil of Pond 40 is kept." in page
    assert list(yard.field.zones.values_list("name", "texture", "share_pct")) == [
        ("sand", "sand", 60),
        ("low end", "clay", 40),
    ]
    assert '<option value="">all of it</option>' in page, "words may be said of a part now"
    form = form_of(page)
    assert re.findall(r'name="share_pct-\d"[^>]* value="(\d*)"', form) == ["60", "40", "", ""]
    one = yard.field.zones.get(name="low end")
    emptied = rows(yard, ("sand", "sand", "100"), ("", "clay", "")) | {"pk-1": str(one.pk)}
    assert mona.post(f"{FIELD}soil/", emptied).status_code == 302
    assert yard.field.zones.get().name == "sand"


@pytest.mark.parametrize(
    ("more", "at", "says"),
    [
        ([("sand", "sand", "60"), ("low", "clay", "30")], "share_pct-0", "add up to 90, not 100"),
        ([("sand", "sand", "60"), ("", "clay", "40")], "name-1", "Say what this part is called"),
        ([("sand", "sand", "60"), ("low", "clay", "")], "share_pct-1", "Give its share"),
        ([("sand", "sand", "60"), ("low", "clay", "some")], "share_pct-1", "is not a number"),
        ([("sand", "sand", "60"), ("low", "", "40")], "texture-1", "Choose a texture"),
        ([("sand", "sand", "60"), ("", "", ""), ("low", "", "40")], "texture-2", "Choose a texture"),
        ([("", "", ""), ("", "", ""), ("low", "clay", "90")], "name-0", "add up to 90, not 100"),
    ],
)
def test_what_is_wrong_stands_at_its_box_with_all_that_was_typed(
    yard: Yard, more: list[tuple[str, str, str]], at: str, says: str
) -> None:
    boxes = rows(yard, *more)
    answer = signed_in("mona").post(f"{FIELD}soil/", boxes)
    assert answer.status_code == 422
    page = page_of(answer)
    form = form_of(page)
    assert form.startswith(" open>")
    if at == "name-0":  # an emptied row is no fault of itself: the sum is told at the first share
        at = "share_pct-0"
    assert says in form.partition(f'id="wrong-{at}"')[2].partition("</span>")[0]
    assert f'aria-describedby="wrong-{at}" autofocus' in form
    assert form.count("aria-invalid") == 1
    for number, (name, _texture, share) in enumerate(more):
        assert re.search(rf'name="name-{number}"[^>]* value="{name}"', form)
        assert re.search(rf'name="share_pct-{number}"[^>]* value="{share}"', form)
    assert yard.field.zones.get().texture == "sandy_loam"


def test_a_soil_of_which_something_was_said_stays_and_its_emptied_row_says_so(yard: Yard) -> None:
    zone = yard.field.zones.get()
    SaySo.objects.create(
        farm=yard.farm, field=yard.field, zone=zone, day="2026-04-20", word="fit", client_id=uuid.uuid4(),
        said_at="2026-04-20T12:00Z",
    )  # fmt: skip
    answer = signed_in("mona").post(f"{FIELD}soil/", rows(yard, ("", "sand", ""), ("low end", "clay", "100")))
    told = form_of(page_of(answer)).partition('id="wrong-name-0"')[2].partition("</span>")[0]
    assert "Something was said about a zone that would go." in told
    assert yard.field.zones.get() == zone


def test_only_the_manager_of_the_farm_describes_its_soil_in_either_language(yard: Yard) -> None:
    stranger = make_field(make_farm("other-place"))
    for user in ("bo", "rosa"):
        assert signed_in(user).post(f"{FIELD}soil/", rows(yard, *TWO)).status_code == 403
    other = FIELD.replace("heron-slough", "other-place")
    assert signed_in("mona").post(f"{other}soil/", rows(yard, *TWO)).status_code == 404
    assert signed_in("mona").get(f"{FIELD}soil/").status_code == 302
    assert signed_in("mona").post(f"{FIELD}soil/", rows(yard, *TWO) | {"pk-0": "x"}).status_code == 404
    User.objects.filter(username="mona").update(language="es")
    form = form_of(page_of(signed_in("mona").get(FIELD)))
    assert "El suelo de este campo" in form
    assert "Share" not in form
    wrong = page_of(signed_in("mona").post(f"{FIELD}soil/", rows(yard, ("arena", "sand", "90"))))
    assert "Los porcentajes de las zonas suman 90, no 100." in wrong
    assert stranger.zones.get().texture == "sandy_loam"
