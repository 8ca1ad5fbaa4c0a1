"""Links without signing in: a calendar that is read, a mail that is stopped. Looking changes nothing, whoever looks."""

import datetime as dt
import email
import logging
from collections.abc import Iterator
from email import policy

import icalendar
import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from farmops.core.logs import WithoutSecrets
from farmops.core.models import User
from farmops.digests.models import MailChoice, OutboxRow, PersonLink, Purpose, RowState, SheetKind
from farmops.digests.services.calendar import refresh_events
from farmops.digests.services.making import make_due
from farmops.digests.services.outbox import send_due
from farmops.digests.services.person_links import address_of, link_of_token, open_link, path_of, revoke
from farmops.farms.models import Farm, Hand
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
NOW = at(MONDAY, 5, 5)
WRITES = ("INSERT", "UPDATE", "DELETE")
ONE_CLICK = "List-Unsubscribe=One-Click"


@pytest.fixture(autouse=True)
def _five_in_the_morning(settings: Settings) -> Iterator[None]:
    settings.SITE_ADDRESS = "https://farm.example"
    settings.BOUNCE_ADDRESS = "back@slough.example"
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def farm() -> Farm:
    farm = farm_with_hands("imani", "odell")
    refresh_events(farm=farm, first=MONDAY, last=MONDAY, now=NOW - dt.timedelta(hours=12))
    return farm


def imani() -> Hand:
    return Hand.objects.select_related("farm").get(code="imani")


def link(purpose: Purpose, kind: str = "") -> PersonLink:
    return open_link(farm=imani().farm, person=imani(), purpose=purpose, kind=kind, now=NOW)


def calendar_path() -> str:
    return path_of(link(Purpose.CALENDAR))


def stop_path(kind: str = SheetKind.HAND) -> str:
    return path_of(link(Purpose.STOP, kind))


def is_wanted(kind: str = SheetKind.HAND) -> bool:
    choice = MailChoice.objects.filter(hand__code="imani", kind=kind).first()
    return choice is None or choice.is_wanted


def test_a_calendar_is_read_by_its_link_alone(farm: Farm) -> None:
    answer = Client().get(calendar_path())
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    [event] = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert event["SUMMARY"] == "Pond Imani: disk"
    assert not answer.cookies
    assert "Vary" not in answer
    assert (answer["Referrer-Policy"], answer["X-Robots-Tag"]) == ("no-referrer", "noindex")


def test_a_reader_that_has_the_calendar_is_told_so_until_something_changes(farm: Farm) -> None:
    """RFC 9110 section 13.1.2: an entity tag that still holds is answered with 304."""
    path = calendar_path()
    first = Client().get(path)
    same = Client().get(path, headers={"If-None-Match": first["ETag"]})
    assert (same.status_code, same.content) == (304, b"")
    Hand.objects.filter(code="imani").update(language="es")
    refresh_events(farm=farm, first=MONDAY, last=MONDAY, now=NOW)
    changed = Client().get(path, headers={"If-None-Match": first["ETag"]})
    assert changed.status_code == 200
    assert b"rastrear" in changed.content


@pytest.mark.parametrize("method", ["get", "head"])
def test_scanners_that_follow_every_link_change_nothing(farm: Farm, method: str) -> None:
    paths = [calendar_path(), stop_path()]
    with CaptureQueriesContext(
        connection,
    ) as queries:
        for _again in range(100):
            for path in paths:
                assert getattr(Client(), method)(path).status_code == 200
    assert not [one["sql"] for one in queries if one["sql"].startswith(WRITES)]
    assert is_wanted()
    assert not Session.objects.exists()


def test_an_altered_address_opens_nothing(farm: Farm) -> None:
    for path in (calendar_path(), stop_path()):
        head, dot, rest = path.partition(".")
        for place in range(43):
            wrong = "A" if rest[place] != "A" else "B"
            altered = f"{head}{dot}{rest[:place]}{wrong}{rest[place + 1 :]}"
            assert Client().post(altered).status_code in (404, 405)
            assert Client().get(altered).status_code == 404
    assert is_wanted()


def test_a_link_is_good_for_one_thing_and_one_person(farm: Farm) -> None:
    token = stop_path().split("/")[2]
    assert link_of_token(token, purpose=Purpose.STOP) is not None
    assert link_of_token(token, purpose=Purpose.CALENDAR) is None
    assert Client().get(f"/calendar/{token}.ics").status_code == 404
    odell = Hand.objects.get(code="odell")
    other = path_of(open_link(farm=farm, person=odell, purpose=Purpose.STOP, kind=SheetKind.HAND, now=NOW))
    mixed = f"{other.partition('.')[0]}.{token.partition('.')[2]}/"
    assert Client().get(mixed).status_code == 404


@pytest.mark.parametrize(
    "token", ["", "1", "1.", ".x", "0.a", "1.a", "x" * 5000, "1." + "é" * 43, "9" * 40 + "." + "a" * 43]
)
def test_what_is_no_token_is_no_link(farm: Farm, token: str) -> None:
    assert link_of_token(token, purpose=Purpose.STOP) is None
    assert Client().get(f"/stop/{token}/").status_code == 404


def test_a_link_that_was_taken_back_or_of_a_hand_who_left_opens_nothing(farm: Farm) -> None:
    path = calendar_path()
    boss = User.objects.create(username="marlene", password="!")
    assert revoke(link=link(Purpose.CALENDAR), by=boss, now=NOW)
    assert Client().get(path).status_code == 404
    again = calendar_path()
    assert again != path
    Hand.objects.filter(code="imani").update(works=False)
    assert Client().get(again).status_code == 404


def test_another_key_of_the_service_opens_nothing(farm: Farm, settings: Settings) -> None:
    path = calendar_path()
    settings.SECRET_KEY = "another-key-" * 6
    assert Client().get(path).status_code == 404


def test_a_link_is_made_once(farm: Farm, settings: Settings) -> None:
    addresses = {
        address_of(farm=farm, person=imani(), purpose=Purpose.STOP, kind=SheetKind.HAND, now=NOW)
        for _again in range(3)
    }
    assert len(addresses) == 1
    assert PersonLink.objects.count() == 1
    settings.SITE_ADDRESS = ""
    assert address_of(farm=farm, person=imani(), purpose=Purpose.CALENDAR, now=NOW) == ""


def test_one_press_of_a_mail_reader_stops_the_mail_without_a_detour(farm: Farm) -> None:
    """RFC 8058 section 3.1: a POST with this body, no cookie, no redirect; section 3.2: it must do without a login."""
    client = Client(enforce_csrf_checks=True)
    answer = client.post(stop_path(), ONE_CLICK, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 200
    assert not answer.cookies
    assert "Vary" not in answer
    assert not is_wanted()
    choice = MailChoice.objects.get()
    assert (choice.changed_by, choice.hand) == (None, imani())
    assert link(Purpose.STOP, SheetKind.HAND).last_used_at == NOW
    assert (
        client.post(stop_path(), ONE_CLICK, content_type="application/x-www-form-urlencoded").status_code
        == 200
    )
    assert MailChoice.objects.count() == 1


def test_a_person_is_asked_first_stops_one_kind_and_can_begin_again(farm: Farm) -> None:
    choices = {"send_at": dt.time(4, 30), "changed_at": NOW}
    MailChoice.objects.create(farm=farm, hand=imani(), kind=SheetKind.HAND, **choices)
    asked = Client().get(stop_path()).content.decode()
    assert "Stop this mail: morning sheet for Imani?" in asked
    assert "Nothing is stopped yet." in asked
    done = Client().post(stop_path()).content.decode()
    assert "Stopped: morning sheet for Imani." in done
    assert (is_wanted(), is_wanted(SheetKind.CHANGE)) == (False, True)
    back = Client().post(stop_path(), {"again": "yes"}).content.decode()
    assert "It comes again: morning sheet for Imani." in back
    assert is_wanted()
    assert MailChoice.objects.get().send_at == dt.time(4, 30)


def test_the_page_speaks_the_readers_language(farm: Farm) -> None:
    Hand.objects.filter(code="imani").update(language="es")
    page = Client().get(stop_path(), headers={"Accept-Language": "en"}).content.decode()
    assert '<html lang="es">' in page
    assert "Todavía no se para nada." in page


def test_a_mail_says_how_it_is_stopped_and_holds_the_day_as_a_file(farm: Farm, settings: Settings) -> None:
    """The link that stands in the head of the mail is one that stops it."""
    make_due(now=NOW)
    assert send_due(now=NOW).sent == 2
    row = OutboxRow.objects.get(hand__code="imani")
    message = email.message_from_bytes(bytes(row.content), policy=policy.default)
    ways = [way.strip().strip("<>") for way in str(message["List-Unsubscribe"]).split(",")]
    assert ways[0].startswith("https://farm.example/stop/")
    assert ways[1] == f"mailto:back+{row.bounce_token}@slough.example?subject=stop"
    text = message.get_body(("plain",))
    assert text is not None
    assert text.get_content().splitlines()[-2:] == ["To stop these mails:", ways[0]]
    [file] = [part for part in message.walk() if part.get_content_type() == "text/calendar"]
    content = file.get_payload(decode=True)
    assert b"Pond Imani: disk" in content
    assert Client().post(ways[0].removeprefix("https://farm.example")).status_code == 200
    OutboxRow.objects.update(state=RowState.DUE, sent_at=None)
    assert send_due(now=NOW).suppressed == 1


@pytest.mark.parametrize(
    ("site", "foot"),
    [
        ("", "To stop these mails, tell the manager."),
        ("http://farm.example", "http://farm.example/farms/heron-slough/day/mail/"),
    ],
)
def test_without_a_safe_address_no_press_is_promised_and_the_foot_says_another_way(
    farm: Farm, settings: Settings, site: str, foot: str
) -> None:
    settings.SITE_ADDRESS = site
    make_due(now=NOW)
    send_due(now=NOW)
    contents = [bytes(one.content) for one in OutboxRow.objects.all() if one.content]
    assert contents
    assert not [one for one in contents if b"List-Unsubscribe" in one]
    for content in contents:
        text = email.message_from_bytes(content, policy=policy.default).get_body(("plain",))
        assert text is not None
        assert text.get_content().splitlines()[-1] == foot


def test_no_log_holds_a_key(farm: Farm) -> None:
    formatter = WithoutSecrets("%(message)s")
    for path in (calendar_path(), stop_path(), "/c/K7Q4MNP/"):
        record = logging.LogRecord("x", logging.INFO, "x", 1, f'"GET {path} HTTP/1.1" 200', None, None)
        told = formatter.format(record)
        assert path.rstrip("/").rpartition("/")[2][:12] not in told
        assert "…" in told
