"""The pages of punctures and debris: rates, the map, the reckoning of a walk, its numbers and the one button."""

import datetime as dt
from html import unescape
from typing import Any

import pytest
import time_machine

from farmops.farms.models import Hand
from scheduling.models import DebrisNumbers, FieldPass, PassState
from tests.factories import make_farm, make_field, make_hand, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.incident_makers import NOON, cover, make_puncture

FARM = "/farms/heron-slough/debris/"
FIELD = f"{FARM}pond-40/"
NUMBERS = "/farms/heron-slough/debris-numbers/"
pytestmark = pytest.mark.usefixtures("_at_noon")


@pytest.fixture
def _at_noon() -> Any:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def worked(yard: Yard) -> Yard:
    """Planting is done on 40 acres of the field whose disking waits."""
    plant = make_pass(yard.field_pass.season, "plant", state=PassState.FINISHED)
    machine = make_machine(yard.farm, "tractor-7")
    make_hand(yard.farm, "walker", operations=("debris_walk",))
    cover(plant, yard.hand, machine, "40")
    cover(plant, yard.hand, machine, "40")
    return yard


def page_at(address: str) -> str:
    answer = signed_in("mona").get(address)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def test_before_any_acre_nothing_is_said(yard: Yard) -> None:
    make_puncture(yard.field)
    assert "No acres are recorded as worked yet" in page_at(FARM)
    page = page_at(FIELD)
    assert "No acres are recorded as worked yet" in page
    assert "A walk before" not in page


def test_without_a_wage_a_walk_has_no_price(worked: Yard) -> None:
    assert "No wage is set, so a debris walk has no price" in page_at(FARM)
    page = page_at(FIELD)
    assert "No wage is set, so a walk on Pond 40 has no price" in page
    assert "A walk before" not in page


def test_a_quiet_field_is_not_worth_a_walk(worked: Yard) -> None:
    DebrisNumbers.objects.create(farm=worked.farm, wage_cents_per_h=1800)
    assert "No field is worth a debris walk before its next pass." in page_at(FARM)
    page = page_at(FIELD)
    assert "No: walking Pond 40 before “disk” is not worth it." in page
    assert "No puncture by debris is known here." in page
    assert "Propose it all the same" in page


def test_a_bad_field_is_and_one_button_proposes_the_walk_once(worked: Yard) -> None:
    for _number in range(8):
        make_puncture(worked.field)
    DebrisNumbers.objects.create(farm=worked.farm, wage_cents_per_h=1000)
    assert "Pond 40 is worth a debris walk before the next pass." in page_at(FARM)
    assert "Yes: walk Pond 40 before “disk”." in page_at(FIELD)
    for _time in range(2):
        answer = signed_in("mona").post(
            f"{FIELD}walk/", {"before": str(worked.field_pass.pk), "then": "keep"}
        )
        assert answer.status_code == 302
    walk = FieldPass.objects.get(operation="debris_walk")
    assert walk.links_after.get().after == worked.field_pass
    page = page_at(FIELD)
    assert "A debris walk on Pond 40 comes before “disk”." in page
    assert "Propose" not in page
    for says in ("Pond 40 is not walked after all", "No walk waits there any more"):
        answer = signed_in("mona").post(
            f"{FIELD}no-walk/", {"before": str(worked.field_pass.pk)}, follow=True
        )
        assert says in unescape(answer.content.decode())
    assert "Yes: walk Pond 40 before “disk”." in page_at(FIELD)
    FieldPass.objects.filter(pk=walk.pk).update(state=PassState.FINISHED)
    assert "Pond 40 was walked for debris before “disk”." in page_at(FIELD)


def test_where_work_is_shut_by_a_walk_it_is_told_and_called_off_there(worked: Yard) -> None:
    signed_in("mona").post(f"{FIELD}walk/", {"before": str(worked.field_pass.pk), "then": "keep"})
    walk = FieldPass.objects.get(operation="debris_walk")
    plan = worked.plan
    plan.plan["left"] = [{"id": "pond-40/debris_walk", "why": "Nobody has the hours."}]
    plan.save()
    says = "A debris walk (waiting) comes first: nothing rolls here until it is walked or called off."
    held = "What follows here waits for this walk until it is done or called off."
    told = {"week/": held, f"passes/{worked.field_pass.pk}/hold/": says, f"passes/{walk.pk}/hold/": held}
    for address, sentence in told.items():
        page = page_at(f"/farms/heron-slough/{address}")
        assert sentence in page, address
        assert "Do not walk after all: Pond 40" in page
    FieldPass.objects.filter(pk=walk.pk).update(state=PassState.UNDER_WAY)
    assert "Leave the rest unwalked" in page_at("/farms/heron-slough/week/")
    back = signed_in("mona").post(f"{FIELD}no-walk/", {"before": str(worked.field_pass.pk), "back": "week"})
    assert back["Location"] == "/farms/heron-slough/week/"
    walk.refresh_from_db()
    assert walk.state == PassState.CALLED_OFF
    assert held not in page_at("/farms/heron-slough/week/")


def test_how_a_walk_is_counted_is_said_with_its_numbers(worked: Yard) -> None:
    for _number in range(8):
        make_puncture(worked.field)
    DebrisNumbers.objects.create(farm=worked.farm, wage_cents_per_h=1000, found_share_pct=50)
    signed_in("mona").post(f"{FIELD}walk/", {"before": str(worked.field_pass.pk), "then": "keep"})
    assert "Last walked" not in page_at(FIELD)
    walk = FieldPass.objects.get(operation="debris_walk")
    FieldPass.objects.filter(pk=walk.pk).update(state=PassState.FINISHED, done_ac=walk.area_ac)
    cover(walk, worked.hand, None, str(walk.area_ac), work_on=NOON.date() + dt.timedelta(days=1))
    page = page_at(FIELD)
    assert "Last walked Tuesday, April 21, 100 % of the ground." in page
    assert "A walk is counted as finding 50 % of what lies there (the number below), so 50 % is left" in page
    assert "Punctures in it are expected to cost $" in page
    assert "Another walk saves of it" in page


def test_where_nobody_may_walk_it_is_told_instead_of_offered(worked: Yard) -> None:
    Hand.objects.filter(code="walker").update(works=False)
    page = page_at(FIELD)
    assert "Nobody on the farm may walk a field for debris yet" in page
    assert "Propose" not in page


def test_the_map_shows_where_they_lie_together_and_the_list_those_without_a_place(worked: Yard) -> None:
    for east in range(4):
        make_puncture(worked.field, at=("31.6030", f"{-83.5195 + east * 0.00005:.5f}"))
    make_puncture(worked.field, at=("31.5950", "-83.5180"))
    make_puncture(worked.field)
    make_puncture(worked.field, met="stalk stub")
    page = page_at(FIELD)
    assert "Four of four (1, 2, 3, 4) lie together on the northwest side, within" in page
    assert "Strewn at random, as many lie as close only less than once in 100." in page
    assert page.count('<circle class="spot"') == 5
    assert page.count('<circle class="ring"') == 1
    assert "no place yet" in page
    assert "1 has a place off the field." in page
    assert "1 puncture by a stub is not counted here." in page
    assert "Six punctures by debris in 80 acres covered here" in page


def test_numbers_are_shown_with_their_origin_and_may_be_changed(worked: Yard) -> None:
    page = page_at(FARM)
    assert "a guess, as none was billed yet" in page
    assert "by the outfit of each field's next pass" in page
    assert page.count("required>") == 3
    facts = {
        "found_share_pct": "70",
        "swath_ft": "40",
        "walk_mph": "2,5",
        "wage_usd_per_h": "15.50",
        "puncture_usd": "",
        "lost_h": "2.5",
        "lost_usd_per_h": "",
        "field": "pond-40",
    }
    answer = signed_in("mona").post(NUMBERS, facts)
    assert (answer.status_code, answer["Location"]) == (302, FIELD)
    row = DebrisNumbers.objects.get()
    assert (row.found_share_pct, row.swath_ft, row.wage_cents_per_h, row.puncture_cents) == (
        70,
        40,
        1550,
        None,
    )
    page = page_at(FIELD)
    assert "12.1 ac/h" in page  # by hand: 40 × 2.5 / 8.25
    assert "it finds 70 % (your number)" in page


@pytest.mark.parametrize(
    ("box", "value", "says"),
    [
        ("found_share_pct", "101", "0 to 1"),
        ("swath_ft", "", "Give a number."),
        ("walk_mph", "fast", "is not a number"),
        ("wage_usd_per_h", "15.505", "15.505"),
        ("puncture_usd", "-1", "0 to"),
        ("lost_h", "1000", "0 to 999"),
    ],
)
def test_numbers_that_make_no_sense_are_told_at_their_box(
    worked: Yard, box: str, value: str, says: str
) -> None:
    facts = {"found_share_pct": "60", "swath_ft": "30", "walk_mph": "2.5", box: value}
    for field in ("", "pond-40"):
        answer = signed_in("mona").post(NUMBERS, {**facts, "field": field})
        assert answer.status_code == 422
        page = unescape(answer.content.decode())
        assert Document(page).wrong == []
        assert says in page
        assert f'name="{box}" inputmode="decimal" autocomplete="off" size="8" value="{value}"' in page
    assert not DebrisNumbers.objects.exists()


def test_only_managers_of_the_farm_come_in(worked: Yard) -> None:
    other = make_season(make_field(make_farm("other-farm"), "far-40"))
    theirs = make_pass(other)
    for user in ("bo", "rosa"):
        assert signed_in(user).get(FARM).status_code == 403
        assert signed_in(user).post(f"{FIELD}walk/", {}).status_code == 403
        assert signed_in(user).post(NUMBERS, {}).status_code == 403
    mona = signed_in("mona")
    assert mona.get(f"{FARM}far-40/").status_code == 404
    assert mona.post(f"{FIELD}walk/", {"before": str(theirs.pk)}).status_code == 404
    assert mona.post(f"{FIELD}walk/", {"before": "x"}).status_code == 404
    assert mona.post(f"{FIELD}walk/", {}).status_code == 404
    assert mona.get(f"{FIELD}walk/").status_code == 302


def test_a_walk_too_late_is_told(worked: Yard) -> None:
    FieldPass.objects.filter(pk=worked.field_pass.pk).update(state=PassState.UNDER_WAY)
    answer = signed_in("mona").post(f"{FIELD}walk/", {"before": str(worked.field_pass.pk)}, follow=True)
    assert "a walk would come too late for it" in unescape(answer.content.decode())
    assert not FieldPass.objects.filter(operation="debris_walk").exists()
