"""The link in a mailed sheet: one for each sheet, the hand's own, and in nothing that hangs on a door."""

import datetime as dt
import re
from collections import deque
from email import message_from_bytes, policy
from email.message import EmailMessage
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow
from farmops.digests.services.outbox import make_due, send_due
from farmops.digests.services.writing import write_sheets
from farmops.farms.models import Hand, SignInLink
from farmops.farms.selectors import link_of_secret
from farmops.farms.services.links import path_of
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5, 5)
HOUR = dt.timedelta(hours=1)
SITE = "https://farm.example"
LINK = re.compile(r"https://farm\.example(/in/([\w-]+)/)")


@pytest.fixture(autouse=True)
def _site(settings: Settings) -> None:
    settings.SITE_ADDRESS = SITE


def parts_of(content: bytes) -> list[str]:
    message = message_from_bytes(content, policy=policy.default)
    assert isinstance(message, EmailMessage)
    texts = [part for part in message.walk() if part.get_content_type() in ("text/plain", "text/html")]
    return [part.get_content() for part in texts if isinstance(part, EmailMessage)]


def links_in(content: bytes) -> list[str]:
    return [found[1] for part in parts_of(content) for found in LINK.findall(part)]


def sent() -> dict[str, bytes]:
    return {row.person_code: bytes(row.content) for row in OutboxRow.objects.select_related("hand")}


def test_each_mailed_sheet_holds_one_link_of_its_own_in_text_and_html() -> None:
    farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    assert send_due(now=MORNING).sent == 2
    secrets = {code: links_in(content) for code, content in sent().items()}
    for code, found in secrets.items():
        assert len(found) == 3  # once in the text; as the target and as the words in the HTML
        assert len(set(found)) == 1
        link = link_of_secret(found[0])
        assert link is not None
        assert link.hand.code == code
        assert MORNING <= link.made_at < MORNING + HOUR
        assert link.expires_at - link.made_at == dt.timedelta(days=7)
    assert SignInLink.objects.count() == 2
    for content in sent().values():
        lines = [line for line in content.split(b"\r\n") if b"/stop/" not in line]  # stays in one piece
        assert max(len(line) for line in lines) <= 78


def test_the_path_in_the_mail_is_the_one_that_the_pages_answer() -> None:
    assert path_of("abc-_9") == reverse("pages:enter", args=["abc-_9"])


def test_a_sheet_sent_again_because_no_answer_was_heard_holds_the_same_link(mail: MailServer) -> None:
    farm_with_hands("imani")
    mail.after_dot["imani@farm.example"] = deque(["hang up"])
    make_due(now=MORNING)
    assert send_due(now=MORNING).unknown == 1
    assert send_due(now=MORNING + HOUR).sent == 1
    first, second = (links_in(content) for _to, content in mail.taken)
    assert first == second
    assert SignInLink.objects.count() == 1


def test_a_sheet_composed_anew_holds_a_link_that_works(mail: MailServer) -> None:
    farm_with_hands("imani")
    mail.at_receiver["imani@farm.example"] = deque(["451 4.7.1 later"])
    make_due(now=MORNING)
    assert send_due(now=MORNING).retry == 1
    assert send_due(now=MORNING + HOUR).sent == 1
    link = link_of_secret(links_in(mail.taken[0][1])[0])
    assert link is not None
    assert link.made_at >= MORNING + HOUR


def test_the_link_of_a_sheet_opens_that_hands_day(settings: Settings) -> None:
    farm_with_hands("imani", "odell")
    now = dt.datetime.now(dt.UTC)  # the pages read the clock
    make_due(now=MORNING)
    send_due(now=MORNING)
    SignInLink.objects.update(made_at=now, expires_at=now + HOUR)
    path = LINK.findall(parts_of(sent()["odell"])[0])[0][0]
    client = Client()
    assert client.get(path).status_code == 200
    assert client.post(path)["Location"] == "/farms/heron-slough/day/"
    assert "Odell" in client.get("/farms/heron-slough/day/").content.decode()


def test_without_an_address_that_hands_reach_the_mail_holds_no_link(settings: Settings) -> None:
    settings.SITE_ADDRESS = ""
    farm_with_hands("imani")
    make_due(now=MORNING)
    assert send_due(now=MORNING).sent == 1
    assert "://" not in "".join(parts_of(sent()["imani"]))
    assert not SignInLink.objects.exists()


def test_what_is_written_to_a_file_may_hang_on_a_door_and_signs_nobody_in(tmp_path: Path) -> None:
    farm = farm_with_hands("imani", "odell")
    Hand.objects.filter(code="odell").update(email="")
    for path in write_sheets(farm=farm, day=MONDAY, folder=tmp_path):
        text, page = parts_of(path.read_bytes())
        assert f"{SITE}/farms/heron-slough/day/\nSign in with your name.\n" in text.replace("\r\n", "\n")
        assert not LINK.search(text + page)
    assert not SignInLink.objects.exists()


def test_saying_who_would_get_a_sheet_makes_no_link() -> None:
    farm_with_hands("imani")
    call_command(
        "send_sheets", "--dry-run", "--day", "2026-04-20", "--farm", "heron-slough", stdout=StringIO()
    )
    assert not SignInLink.objects.exists()


def test_a_hand_who_left_since_gets_no_link() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    Hand.objects.update(works=False)
    assert send_due(now=MORNING).sent == 1
    assert not SignInLink.objects.exists()
