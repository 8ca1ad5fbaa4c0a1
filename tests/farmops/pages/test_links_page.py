"""The manager's page of links: who can come in, a link made to be passed on, and links taken back."""

import datetime as dt
import html
import re

import pytest
import time_machine
from django.test import Client
from pytest_django.fixtures import Settings

from farmops.farms.models import Hand, SignInLink
from farmops.farms.services.links import make_link
from tests.factories import make_farm
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

NOW = dt.datetime(2026, 4, 20, 9, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)
PAGE = "/farms/heron-slough/links/"


def shown(client: Client, address: str = PAGE) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def make(yard: Yard, now: dt.datetime = NOW, hand: Hand | None = None) -> str:
    return make_link(farm=yard.farm, hand=hand or yard.hand, now=now)


@pytest.mark.parametrize("name", ["bo", "rosa"])
def test_nobody_but_the_manager_sees_or_touches_links(yard: Yard, name: str) -> None:
    make(yard)
    client, link = signed_in(name), SignInLink.objects.get()
    assert client.get(PAGE).status_code == 403
    for path in (
        "revoke/",
        f"{link.pk}/revoke/",
        f"hands/{yard.hand.pk}/make/",
        f"hands/{yard.hand.pk}/revoke/",
    ):
        assert client.post(PAGE + path).status_code == 403
    assert SignInLink.objects.filter(revoked_at=None).count() == 1


def test_the_page_says_who_can_come_in_and_when_a_link_was_used(yard: Yard) -> None:
    with time_machine.travel(NOW, tick=False):
        client = signed_in("mona")
        assert "No link is out by which a hand could sign in." in shown(client)
        make(yard, NOW - 10 * DAY)
        assert "No link is out" in shown(client)
        secret = make(yard)
        Client().post(f"/in/{secret}/")
        told = shown(client)
    assert "One hand can sign in by a link." in told
    assert "Two links, last used Monday, April 20, 5:00 am" in told
    assert "Made Monday, April 20, 5:00 am; works until Monday, April 27, 5:00 am" in told
    assert "Made Friday, April 10, 5:00 am; too old to sign in by; not used yet" in told
    assert secret not in told


def test_a_link_made_by_hand_is_shown_once_and_works(yard: Yard) -> None:
    client = signed_in("mona")
    answer = client.post(f"{PAGE}hands/{yard.hand.pk}/make/")
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]
    found = re.search(r">(http://testserver/in/[a-z2-9]{26}/)</textarea>", answer.content.decode())
    assert found is not None
    assert Client().post(found[1]).status_code == 302
    assert "/in/" not in client.get(PAGE).content.decode()


def test_a_link_made_by_hand_has_the_address_that_hands_reach(yard: Yard, settings: Settings) -> None:
    settings.SITE_ADDRESS = "https://farm.example"
    page = signed_in("mona").post(f"{PAGE}hands/{yard.hand.pk}/make/").content.decode()
    assert ">https://farm.example/in/" in page


def test_the_pages_of_links_are_whole_documents(yard: Yard) -> None:
    client, secret = signed_in("mona"), make(yard, dt.datetime.now(dt.UTC))
    old = make(yard, NOW - 30 * DAY)
    made = client.post(f"{PAGE}hands/{yard.hand.pk}/make/")
    for answer in (
        client.get(PAGE),
        made,
        Client().get(f"/in/{secret}/"),
        Client().get(f"/in/{old}/"),
        Client().get("/in/x/"),
    ):
        assert Document(answer.content.decode()).wrong == []


def test_for_a_hand_who_left_no_link_is_made_and_the_page_says_why(yard: Yard) -> None:
    make(yard)
    Hand.objects.update(works=False)
    client = signed_in("mona")
    assert "Make a link for Rosa" not in shown(client)
    answer = client.post(f"{PAGE}hands/{yard.hand.pk}/make/")
    assert answer.status_code == 422
    assert "does not work here any more" in answer.content.decode()
    assert SignInLink.objects.count() == 1


def test_one_link_a_hands_links_or_all_are_taken_back_and_pressing_again_is_no_harm(yard: Yard) -> None:
    other = Hand.objects.create(farm=yard.farm, code="ed", name="Ed")
    make(yard), make(yard), make(yard, hand=other), make(yard, hand=other)
    client = signed_in("mona")
    first = SignInLink.objects.filter(hand=yard.hand)[0]

    def standing() -> list[str]:
        return sorted(SignInLink.objects.filter(revoked_at=None).values_list("hand__code", flat=True))

    for _ in range(2):
        assert client.post(f"{PAGE}{first.pk}/revoke/")["Location"] == PAGE
        assert standing() == ["ed", "ed", "rosa"]
    for _ in range(2):
        assert client.post(f"{PAGE}hands/{other.pk}/revoke/")["Location"] == PAGE
        assert standing() == ["rosa"]
    for _ in range(2):
        assert client.post(f"{PAGE}revoke/")["Location"] == PAGE
        assert standing() == []
    assert {one.revoked_by.username for one in SignInLink.objects.all() if one.revoked_by} == {"mona"}
    assert "No link is out" in shown(client)


def test_looking_at_an_address_that_changes_something_changes_nothing(yard: Yard) -> None:
    make(yard)
    client, link = signed_in("mona"), SignInLink.objects.get()
    for path in (
        "revoke/",
        f"{link.pk}/revoke/",
        f"hands/{yard.hand.pk}/make/",
        f"hands/{yard.hand.pk}/revoke/",
    ):
        assert client.get(PAGE + path).status_code == 302
    assert SignInLink.objects.filter(revoked_at=None).count() == SignInLink.objects.count() == 1


def test_links_and_hands_of_another_farm_are_not_there(yard: Yard) -> None:
    elsewhere = make_farm("other-bend")
    stranger = Hand.objects.create(farm=elsewhere, code="zed", name="Zed")
    make_link(farm=elsewhere, hand=stranger, now=NOW)
    client, link = signed_in("mona"), SignInLink.objects.get()
    for path in (f"{link.pk}/revoke/", f"hands/{stranger.pk}/make/", f"hands/{stranger.pk}/revoke/"):
        assert client.post(PAGE + path).status_code == 404
    client.post(f"{PAGE}revoke/")
    assert SignInLink.objects.filter(revoked_at=None).count() == 1
    assert "Zed" not in shown(client)
