"""A link in a hand's pocket: who looks at it, who presses the button, and what becomes of it."""

import datetime as dt
import html
import logging
import re
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.conf import settings as ours
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from farmops.core.logs import WithoutSecrets
from farmops.core.models import User
from farmops.farms.models import Hand, Membership, SignInLink
from farmops.farms.selectors import link_of_secret
from farmops.farms.services.links import make_link, revoke_link
from farmops.pages.views.entering import WRONG_LINKS
from farmops.settings import web_server
from tests.factories import make_farm
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

NOW = dt.datetime(2026, 4, 20, 9, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)
DAY_PAGE = "/farms/heron-slough/day/"


@pytest.fixture(autouse=True)
def _nobody_was_throttled() -> Iterator[None]:
    WRONG_LINKS.forget()
    with time_machine.travel(NOW, tick=False):
        yield
    WRONG_LINKS.forget()


@pytest.fixture
def address(yard: Yard) -> str:
    return f"/in/{make_link(farm=yard.farm, hand=yard.hand, now=NOW)}/"


def rows() -> list[list[Any]]:
    """Return everything that a link could have changed."""
    kept: list[Any] = [SignInLink.objects, User.objects, Membership.objects, Session.objects]
    return [list(each.order_by("pk").values()) for each in kept]


def link_of(address: str) -> SignInLink:
    link = link_of_secret(address.split("/")[2])
    assert link is not None
    return link


def test_looking_changes_nothing_however_often_a_mail_scanner_looks(address: str) -> None:
    before = rows()
    for client in (Client(), Client()):
        for look in (client.get, client.head, client.get):
            answer = look(address)
            assert answer.status_code == 200
            assert ours.SESSION_COOKIE_NAME not in answer.cookies
        assert client.get(DAY_PAGE).status_code == 302
    assert rows() == before


def test_pressing_the_button_signs_the_hand_in_for_the_day(yard: Yard, address: str) -> None:
    client = Client()
    answer = client.post(address)
    assert (answer.status_code, answer["Location"]) == (302, DAY_PAGE)
    page = client.get(DAY_PAGE)
    assert page.status_code == 200
    assert "Pond 40" in page.content.decode()
    assert link_of(address).last_used_at == NOW


def test_the_page_asks_in_the_hands_own_language(yard: Yard, address: str) -> None:
    spanish = html.unescape(Client().get(address).content.decode())
    assert '<html lang="es">' in spanish
    assert "¿Es usted, Rosa?" in spanish
    assert "Sí, muestre mi día" in spanish
    assert "lunes 27 de abril, 5:00 a.m.<" in spanish
    Hand.objects.update(language="en")
    assert "Is this you, Rosa?" in Client().get(address).content.decode()


@pytest.mark.parametrize("verb", ["put", "patch", "delete", "options"])
def test_no_other_verb_is_taken(address: str, verb: str) -> None:
    before = rows()
    assert getattr(Client(), verb)(address).status_code == 405
    assert rows() == before


def test_the_address_is_told_to_no_other_site_and_kept_by_no_cache(address: str) -> None:
    """The Referrer Policy specification, section 3: `strict-origin` sends scheme, host and port, never the path."""
    for answer in (Client().get(address), Client().post(address), Client().get("/in/no-such-link-at-all/")):
        assert answer["Referrer-Policy"] == "strict-origin"
        assert "no-store" in answer["Cache-Control"]
        assert answer["X-Robots-Tag"] == "noindex"


def test_a_form_forged_by_another_page_signs_nobody_in(address: str) -> None:
    """Signing somebody in as another is a forgery too (OWASP, login CSRF)."""
    client = Client(enforce_csrf_checks=True)
    assert client.post(address).status_code == 403
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', client.get(address).content.decode())
    assert token is not None
    assert client.post(address, {"csrfmiddlewaretoken": token[1]}).status_code == 302


def test_a_link_opens_the_hands_page_and_no_managers_page_even_of_a_manager(yard: Yard) -> None:
    mona = User.objects.get(username="mona")
    Membership.objects.create(farm=yard.farm, user=mona, role="hand", hand=yard.hand)
    client = Client()
    client.post(f"/in/{make_link(farm=yard.farm, hand=yard.hand, now=NOW)}/")
    base = f"/farms/{yard.farm.code}/"
    seen = {
        path: client.get(base + path).status_code for path in ("day/", "week/", "fleet/", "costs/", "links/")
    }
    assert seen == {"day/": 200, "week/": 403, "fleet/": 403, "costs/": 403, "links/": 403}
    assert client.get(f"/api/farms/{yard.farm.code}/work-records/").status_code == 200
    assert client.get(f"/api/farms/{yard.farm.code}/ledger/bills/").status_code == 403
    assert client.get("/")["Location"] == DAY_PAGE


def test_a_link_of_one_farm_opens_nothing_of_another(yard: Yard, address: str) -> None:
    make_farm("other-bend")
    client = Client()
    client.post(address)
    assert client.get("/farms/other-bend/day/").status_code == 404
    assert client.get("/api/farms/other-bend/").status_code == 404


def test_who_was_signed_in_before_is_not_any_more(yard: Yard, address: str) -> None:
    client = signed_in("mona")
    key = client.session.session_key
    client.post(address)
    assert client.session.session_key != key
    assert not Session.objects.filter(pk=key).exists()
    assert client.get("/farms/heron-slough/week/").status_code == 403


def test_a_link_pressed_again_or_passed_on_signs_in_the_same_hand_and_can_be_taken_back(
    yard: Yard, address: str
) -> None:
    """A link is a key: whoever has it can use it till it is taken back. All of them are out at once then."""
    phones = [Client(), Client(), Client()]
    for phone in phones:
        assert phone.post(address).status_code == 302
        assert phone.post(address).status_code == 302
        assert phone.get(DAY_PAGE).status_code == 200
    assert (
        Membership.objects.filter(hand=yard.hand).count() == 2
    )  # the account with a password, and that of links
    revoke_link(link=link_of(address), by=User.objects.get(username="mona"), now=NOW)
    for phone in phones:
        assert phone.get(DAY_PAGE).status_code == 302
        assert phone.get(f"/api/farms/{yard.farm.code}/").status_code in (401, 403)
        assert ours.SESSION_COOKIE_NAME not in {name for name, one in phone.cookies.items() if one.value}
        assert phone.post(address).status_code == 410


def test_taking_one_link_back_leaves_who_came_in_by_another_or_by_a_password(
    yard: Yard, address: str
) -> None:
    by_link, by_other, by_password = Client(), Client(), signed_in("rosa")
    by_link.post(address)
    by_other.post(f"/in/{make_link(farm=yard.farm, hand=yard.hand, now=NOW)}/")
    revoke_link(link=link_of(address), by=User.objects.get(username="mona"), now=NOW)
    assert [one.get(DAY_PAGE).status_code for one in (by_link, by_other, by_password)] == [302, 200, 200]


def test_an_expired_link_says_so_and_signs_nobody_in(yard: Yard, address: str) -> None:
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        client = Client()
        for answer in (client.get(address), client.post(address)):
            page = html.unescape(answer.content.decode())
            assert answer.status_code == 410
            assert "Este enlace ya no sirve." in page
            assert "Ya venció." in page
            assert "555-0142" in page
            assert "csrfmiddlewaretoken" not in page.split("<main")[1]
        assert client.get(DAY_PAGE).status_code == 302
    assert link_of(address).last_used_at is None


def test_who_came_in_stays_two_weeks_and_not_longer_for_coming_back(yard: Yard, address: str) -> None:
    client = Client()
    client.post(address)
    with time_machine.travel(NOW + 13 * DAY, tick=False):
        assert client.get(DAY_PAGE).status_code == 200
        session = client.session
        session["something"] = "changed"
        session.save()
    with time_machine.travel(NOW + 14 * DAY, tick=False):
        assert client.get(DAY_PAGE).status_code == 302


def test_who_has_left_is_told_so_and_is_out(yard: Yard, address: str) -> None:
    client = Client()
    client.post(address)
    Hand.objects.update(works=False)
    assert client.get(DAY_PAGE).status_code == 302
    page = html.unescape(client.get(address).content.decode())
    assert "ya no trabaja aquí" in page


def test_who_has_left_comes_in_by_a_password_no_more_either(yard: Yard) -> None:
    rosa, api = signed_in("rosa"), f"/api/farms/{yard.farm.code}/reports/"
    assert (rosa.get(DAY_PAGE).status_code, rosa.get(api).status_code) == (200, 200)
    Hand.objects.update(works=False)
    assert (rosa.get(DAY_PAGE).status_code, rosa.get(api).status_code) == (404, 404)
    assert rosa.get("/").status_code == 200  # told that there is no farm
    Membership.objects.create(farm=yard.farm, user=User.objects.get(username="rosa"), role="bookkeeper")
    assert rosa.get(f"/farms/{yard.farm.code}/costs/").status_code == 200
    assert rosa.get(DAY_PAGE).status_code == 403


@pytest.mark.parametrize(
    "secret", ["x", "A" * 22, "a" * 5000, "%E2%80%AE%F0%9F%92%A7", "%2e%2e", "' OR 1=1 --"]
)
def test_a_secret_that_nobody_has_is_not_found(yard: Yard, secret: str) -> None:
    for answer in (Client().get(f"/in/{secret}/"), Client().post(f"/in/{secret}/")):
        assert answer.status_code == 404
        assert "There is no such link." in answer.content.decode()


STRANGERS_PAGES = {
    "/sign-in/": ("Open the link in the newest one.", "Abra el enlace de la más nueva."),
    "/in/nobody/": ("There is no such link.", "No existe ese enlace."),
}


@pytest.mark.parametrize("address", STRANGERS_PAGES)
@pytest.mark.parametrize(
    ("asked", "accepts", "language"),
    [
        ("", "es-MX,es;q=0.9,en;q=0.5", "es"),
        ("", "en-US,en;q=0.9,es;q=0.8", "en"),
        ("", "de,fr;q=0.5", "en"),
        ("", "", "en"),
        ("?lang=es", "en-US", "es"),
        ("?lang=en", "es", "en"),
        ("?lang=xx", "es", "es"),
    ],
)
def test_a_stranger_is_spoken_to_in_the_browsers_language_or_the_one_chosen(
    yard: Yard, address: str, asked: str, accepts: str, language: str
) -> None:
    """Accept-Language as RFC 9110, section 12.5.4, has it."""
    answer = Client().get(address + asked, headers={"Accept-Language": accepts})
    page = html.unescape(answer.content.decode())
    said = STRANGERS_PAGES[address]
    own, other = said if language == "en" else said[::-1]
    assert own in page
    assert other not in page
    assert f'<html lang="{language}">' in page
    assert Document(page).wrong == []


def test_a_wrong_password_is_told_in_the_visitors_language_and_forgets_not_where_one_was_going(
    yard: Yard,
) -> None:
    sent = {"username": "rosa", "password": "wrong", "next": DAY_PAGE}
    page = html.unescape(Client().post("/sign-in/?lang=es", sent).content.decode())
    assert "no van juntos" in page
    assert f'name="next" value="{DAY_PAGE}"' in page


def test_guessing_is_stopped_and_turns_nobody_away_who_has_a_link(yard: Yard, address: str) -> None:
    """Behind a proxy a whole crew has one address: a stranger's guesses must not keep it out (OWASP, lock-out as attack)."""
    guesser = Client(REMOTE_ADDR="203.0.113.7")
    seen = [guesser.get(f"/in/guess-{number}/").status_code for number in range(25)]
    assert seen == [404] * 20 + [429] * 5
    answer = guesser.post("/in/guess-26/")
    assert (answer.status_code, answer["Retry-After"]) == (429, "900")
    forger = guesser.get(
        "/in/guess-27/", headers={"X-Forwarded-For": "198.51.100.9", "Forwarded": "for=198.51.100.9"}
    )
    assert forger.status_code == 429
    assert Client(REMOTE_ADDR="198.51.100.9").get("/in/guess-28/").status_code == 404
    assert guesser.get(address).status_code == 200
    assert guesser.post(address).status_code == 302
    with time_machine.travel(NOW + dt.timedelta(minutes=15), tick=False):
        assert guesser.get("/in/guess-29/").status_code == 404


def test_opening_good_links_and_old_ones_counts_as_no_guess(yard: Yard, address: str) -> None:
    revoke_link(link=link_of(address), by=User.objects.get(username="mona"), now=NOW)
    good = f"/in/{make_link(farm=yard.farm, hand=yard.hand, now=NOW)}/"
    client = Client()
    assert {client.get(address).status_code for _ in range(25)} == {410}
    assert {client.get(good).status_code for _ in range(25)} == {200}


def test_no_secret_gets_into_the_log(
    yard: Yard, address: str, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Django writes the path of what it refuses: a forged form, a verb that is not taken, a page that is not there."""
    logs: Any = ours.LOGGING
    told = logs["formatters"][logs["handlers"]["stderr"]["formatter"]]
    assert told["()"] == "farmops.core.logs.WithoutSecrets"
    assert web_server.logconfig_dict["formatters"] == logs["formatters"]
    assert web_server.logconfig_dict["loggers"]["gunicorn.error"]["handlers"] == ["stderr"]
    formatter = WithoutSecrets(told["format"])
    secret = address.split("/")[2]
    for name in ("django", "django.request", "django.security", "django.security.csrf"):
        monkeypatch.setattr(logging.getLogger(name), "propagate", True)
    Client(enforce_csrf_checks=True).post(address)
    Client().put(address)
    Client().get(f"{address}more/")
    try:
        raise ValueError(f"GET {address} HTTP/1.1")
    except ValueError:
        logging.getLogger("gunicorn.error").exception("Exception while serving %s", address)
    assert secret in caplog.text, "nothing would have been written, so nothing is shown"
    lines = [formatter.format(record) for record in caplog.records]
    assert len([line for line in lines if "/in/…" in line]) >= 4
    assert secret not in "\n".join(lines)


def test_only_who_came_in_by_a_link_is_looked_up_among_links(yard: Yard, address: str) -> None:
    came_in = Client()
    came_in.post(address)
    for client, looks in ((signed_in("rosa"), 0), (Client(), 0), (came_in, 1)):
        with CaptureQueriesContext(connection) as asked:
            client.get(DAY_PAGE)
        assert sum("signinlink" in query["sql"] for query in asked) == looks
