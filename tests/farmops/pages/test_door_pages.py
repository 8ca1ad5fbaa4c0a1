"""The sheets for the shop door: one page of paper each, a picture that phones read, a code that lets one hand in."""

import datetime as dt
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np
import pytest
import time_machine
import zxingcpp
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from farmops.core.models import User
from farmops.digests.door import picture_of
from farmops.digests.models import DoorCode, MailChoice, MailTimes, PersonLink, SuppressedAddress
from farmops.digests.services.door_codes import code_of, code_of_typed, find_code, make_door_code
from farmops.farms.models import Farm, Hand, Membership, Role, SignInLink
from farmops.farms.services.links import SIGNS, revoke_link
from farmops.pages.views.door_code import ALL_WRONG_CODES, WRONG_CODES
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in

PAGE = "/farms/heron-slough/mail/door/"
DAY = dt.timedelta(days=1)
SIX = MONDAY.replace(hour=6)


@pytest.fixture(autouse=True)
def _speaks_english(yard: Yard) -> None:
    Hand.objects.update(language="en")


@pytest.fixture(autouse=True)
def _six_in_the_morning(settings: Settings) -> Iterator[None]:
    settings.SITE_ADDRESS = "https://farm.example"
    WRONG_CODES.forget()
    ALL_WRONG_CODES.forget()
    with time_machine.travel(SIX, tick=False):
        yield
    WRONG_CODES.forget()
    ALL_WRONG_CODES.forget()


def made(yard: Yard) -> DoorCode:
    hand = Hand.objects.get(code="rosa")
    return make_door_code(farm=hand.farm, hand=hand, day=SIX.date(), now=SIX)


def read_picture(svg: str) -> str:
    """Draw a QR code's path, which is made of strokes of one unit, and read it back with a reader that is not ours."""
    root = ElementTree.fromstring(svg)
    side = int(root.attrib["viewBox"].split()[2])
    pixels = np.full((side, side), 255, dtype=np.uint8)
    [line] = [one for one in root.iter() if one.tag.endswith("path") and "stroke" in one.attrib]
    x, y = 0.0, 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", line.attrib["d"]):
        values = [float(one) for one in re.findall(r"-?[\d.]+", numbers)]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            pixels[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
    [found] = zxingcpp.read_barcodes(np.kron(pixels, np.ones((6, 6), dtype=np.uint8)))
    return str(found.text)


def test_the_picture_is_read_back_by_another_programs_eye() -> None:
    """ISO/IEC 18004, read by the ZXing library."""
    address = "https://farm.example.org/c/K7Q4MNP/"
    assert read_picture(picture_of(address)) == address


def test_the_page_shows_each_hands_day_and_writes_nothing(yard: Yard) -> None:
    client = signed_in("mona")
    with CaptureQueriesContext(connection) as queries:
        page = client.get(PAGE).content.decode()
    assert "One sheet to print for Monday" in page
    assert not [one["sql"] for one in queries if re.match("INSERT|UPDATE|DELETE", one["sql"])]
    assert "Rosa" in page
    assert "Emergency: 911" in page
    assert "Make the codes to report by" in page
    text = re.search(r"<textarea[^>]*>(.*?)</textarea>", page, re.DOTALL)
    assert text is not None
    assert text[1].startswith("First: ")
    assert 'class="picture"' not in page


def test_codes_are_made_once_and_their_picture_leads_to_the_hand(yard: Yard) -> None:
    client = signed_in("mona")
    for _again in range(2):
        assert client.post(f"{PAGE}print/", {"day": SIX.date().isoformat()}).status_code == 302
    code = code_of(DoorCode.objects.get()).upper()
    page = client.get(PAGE).content.decode()
    assert f"{code[:3]}-{code[3:]}" in page
    svg = re.search(r"<svg.*?</svg>", page, re.DOTALL)
    assert svg is not None
    assert read_picture(svg[0]) == f"https://farm.example/c/{code}/"
    assert "farm.example/c/" in page
    visitor = Client()
    asked = visitor.get(f"/c/{code}/").content.decode()
    assert "Is this you, Rosa?" in asked
    assert not SignInLink.objects.get().last_used_at
    came = visitor.post(f"/c/{code}/")
    assert came.headers["Location"] == "/farms/heron-slough/day/"
    assert visitor.get("/farms/heron-slough/day/").status_code == 200
    assert visitor.get("/farms/heron-slough/mail/").status_code == 403


def test_a_code_may_be_typed_as_people_do(yard: Yard) -> None:
    code = code_of(made(yard))
    assert len(code) == 7
    assert set(code) <= set(SIGNS)
    for typed in (code, code.upper(), f"{code[:3]}-{code[3:]}", f" {code[:3]} {code[3:]} "):
        assert find_code(typed) is not None
        answer = Client().post("/c/", {"code": typed})
        assert answer.headers["Location"] == f"/c/{code.upper()}/"
    for wrong in ("", code[:6], code + "a", "1" * 7, "é" * 7, "o0il1-aa", "x" * 10_000):
        assert code_of_typed(wrong) == ""


@pytest.mark.parametrize("method", ["get", "head"])
def test_looking_a_hundred_times_lets_nobody_in(yard: Yard, method: str) -> None:
    path = f"/c/{code_of(made(yard))}/"
    with CaptureQueriesContext(connection) as queries:
        for _again in range(100):
            assert getattr(Client(), method)(path).status_code == 200
    assert not [one["sql"] for one in queries if re.match("INSERT|UPDATE|DELETE", one["sql"])]
    assert not Session.objects.exists()


def test_a_code_ends_with_its_link(yard: Yard) -> None:
    code = made(yard)
    path = f"/c/{code_of(code)}/"
    with time_machine.travel(SIX + 2 * DAY, tick=False):
        assert Client().get(path).status_code == 410
        assert Client().post(path).status_code == 410
    boss = User.objects.get(username="mona")
    revoke_link(link=code.link, by=boss, now=SIX)
    assert Client().post(path).status_code == 410
    assert not Session.objects.exists()
    assert made(yard) != code


def test_a_copy_of_the_database_tells_no_code(yard: Yard, settings: Settings) -> None:
    code = made(yard)
    told = code_of(code)
    assert told not in (code.nonce, code.code_hash)
    settings.SECRET_KEY = "another-key-" * 6
    assert code_of(code) != told
    assert find_code(told) is None


def test_who_guesses_waits_and_then_not_even_a_right_code_is_looked_at(yard: Yard) -> None:
    path = f"/c/{code_of(made(yard))}/"
    for _guess in range(10):
        assert Client().get("/c/AAAAAAA/").status_code == 404
    assert Client().get("/c/AAAAAAA/").status_code == 429
    answer = Client().get(path)
    assert (answer.status_code, "Retry-After" in answer) == (429, True)
    assert Client(REMOTE_ADDR="10.0.0.9").get(path).status_code == 200
    with time_machine.travel(SIX + dt.timedelta(minutes=16), tick=False):
        assert Client().get(path).status_code == 200


def test_guesses_from_everywhere_are_counted_together(yard: Yard) -> None:
    path = f"/c/{code_of(made(yard))}/"
    for guess in range(100):
        assert Client(REMOTE_ADDR=f"10.0.0.{guess}").get("/c/AAAAAAA/").status_code == 404
    assert Client(REMOTE_ADDR="10.0.1.1").get(path).status_code == 429


@pytest.mark.parametrize("why", ["turned off", "no address", "the day is over"])
def test_where_no_code_may_be_the_sheet_has_none(yard: Yard, settings: Settings, why: str) -> None:
    day = SIX.date()
    if why == "turned off":
        MailTimes.objects.create(farm=yard.farm, has_door_codes=False, changed_at=SIX)
    elif why == "no address":
        settings.SITE_ADDRESS = ""
    else:
        day -= DAY
    client = signed_in("mona")
    client.post(f"{PAGE}print/", {"day": day.isoformat()})
    assert not DoorCode.objects.exists()
    assert "Make the codes" not in client.get(f"{PAGE}?day={day.isoformat()}").content.decode()


def test_only_the_manager_prints(yard: Yard) -> None:
    for path in (PAGE, "/farms/heron-slough/mail/addresses/", "/farms/heron-slough/mail/calendars/"):
        assert signed_in("rosa").get(path).status_code == 403
    assert signed_in("rosa").post(f"{PAGE}print/").status_code == 403
    assert signed_in("mona").get(f"{PAGE}?day=never").status_code == 404


def test_an_address_that_mail_comes_back_from_is_shown_and_lifted(yard: Yard) -> None:
    Hand.objects.filter(code="rosa").update(email="Rosa@farm.example")
    stopped = SuppressedAddress.objects.create(farm=yard.farm, address="rosa@farm.example", since_at=SIX)
    client = signed_in("mona")
    page = client.get("/farms/heron-slough/mail/addresses/").content.decode()
    assert "One address gets nothing: its mail came back." in page
    assert "Rosa" in page
    client.post(f"/farms/heron-slough/mail/addresses/{stopped.pk}/lift/")
    stopped.refresh_from_db()
    assert stopped.lifted_by is not None
    assert (
        "everybody&#x27;s address is good"
        in client.get("/farms/heron-slough/mail/addresses/").content.decode()
    )


def test_a_hand_makes_and_takes_back_an_address_of_the_own_calendar(yard: Yard) -> None:
    client = signed_in("rosa")
    client.post("/farms/heron-slough/day/calendar/make/")
    page = client.get("/farms/heron-slough/day/mail/").content.decode()
    found = re.search(r">https://farm\.example(/calendar/[^<]+\.ics)</textarea>", page)
    assert found is not None
    assert "webcal://farm.example/calendar/" in page
    assert b"BEGIN:VEVENT" in Client().get(found[1]).content
    client.post("/farms/heron-slough/day/calendar/revoke/")
    assert Client().get(found[1]).status_code == 404
    boss = signed_in("mona")
    hand = Hand.objects.get(code="rosa")
    boss.post("/farms/heron-slough/mail/calendars/", {"person": f"hand-{hand.pk}", "do": "make"})
    assert "One person has a link" in boss.get("/farms/heron-slough/mail/calendars/").content.decode()
    boss.post("/farms/heron-slough/mail/calendars/", {"person": f"hand-{hand.pk}", "do": "back"})
    assert "Nobody reads the work" in boss.get("/farms/heron-slough/mail/calendars/").content.decode()


def test_managers_and_bookkeepers_have_a_calendar_and_mail_of_their_own_and_nobody_makes_or_sees_another_s(
    yard: Yard,
) -> None:
    farm = Farm.objects.get(code="heron-slough")
    keeper = User.objects.create(username="kim", first_name="Kim", email="kim@farm.example", language="en")
    Membership.objects.create(farm=farm, user=keeper, role=Role.BOOKKEEPER)
    office, books = signed_in("mona"), Client()
    books.force_login(keeper)
    mine, all_of_them = "/farms/heron-slough/mail/mine/", "/farms/heron-slough/mail/calendars/"
    assert "no phone" not in office.get(mine).content.decode()
    found: re.Match[str] | None = None
    for client, holds in ((office, b"Pond 40: disk (Rosa)"), (books, b"Look at the week's books")):
        client.post(f"{mine}calendar/", {"do": "make"})
        found = re.search(
            r">https://farm\.example(/calendar/[^<]+\.ics)</textarea>", client.get(mine).content.decode()
        )
        assert found is not None
        assert holds in Client().get(found[1]).content
    page = office.get(all_of_them).content.decode()
    assert page.count("https://farm.example/calendar/") == 1, "the own address and no other user's"
    assert "has a link since" in page
    assert books.get(all_of_them).status_code == 403
    office.post(all_of_them, {"person": f"user-{keeper.pk}", "do": "back"})
    assert found is not None
    assert Client().get(found[1]).status_code == 404
    office.post(all_of_them, {"person": f"user-{keeper.pk}", "do": "make"})
    assert not PersonLink.objects.filter(user=keeper, revoked_at=None).exists()
    stranger = User.objects.create(username="stranger")
    for box in (f"user-{stranger.pk}", "hand-0", "user-", "user-\u0663", "farm-1", ""):
        assert office.post(all_of_them, {"person": box, "do": "make"}).status_code == 404
    books.post(
        mine, {"costs-wanted": "yes", "costs-hour": "08:15", "costs-empty": "short", "units": "metric"}
    )
    choice = MailChoice.objects.get(user=keeper)
    assert (choice.kind, choice.send_at, choice.changed_by) == ("costs", dt.time(8, 15), keeper)
    assert books.post(mine, {"costs-wanted": "yes", "costs-hour": "2:00x"}).status_code == 422
    assert signed_in("rosa").get(mine).status_code == 403
