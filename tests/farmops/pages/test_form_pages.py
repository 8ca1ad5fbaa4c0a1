"""Where an address leads that only takes what a form sends, and what becomes of a form that came after its session had ended."""

from collections.abc import Iterator
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import URLPattern, resolve, reverse

from farmops.pages.form_pages import page_of
from farmops.pages.urls import urlpatterns
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.django_db
PAYEES = "/farms/heron-slough/payees/"
ENTITY = f"{PAYEES}entity/"
SIGN_IN = "/sign-in/"


def address_of(pattern: URLPattern) -> str:
    some = {"IntConverter": 1, "SlugConverter": "some", "StringConverter": "some"}
    given = {name: some[type(one).__name__] for name, one in pattern.pattern.converters.items()}
    return reverse(f"pages:{pattern.name}", kwargs=given)


def only_takes_forms(address: str) -> bool:
    answer = Client().get(address)
    return answer.status_code == 302 and not answer.headers["Location"].startswith(SIGN_IN)


def taking_forms() -> Iterator[str]:
    yield from (one for one in map(address_of, urlpatterns) if only_takes_forms(one))


def test_every_address_of_a_form_leads_to_a_page_that_can_be_asked_for() -> None:
    found = list(taking_forms())
    assert len(found) > 60
    for address in found:
        page = page_of(address)
        assert resolve(page).app_name == "pages", address
        assert page == "/" or not only_takes_forms(page), (address, page)
    at_home = {address for address in found if page_of(address) == "/"}
    assert at_home == {"/speak/", "/sign-out/"}


def test_who_asks_for_the_address_of_a_form_is_led_to_its_page_with_a_word(yard: Yard) -> None:
    answer = signed_in("bo").get(ENTITY, follow=True)
    assert answer.redirect_chain == [(PAYEES, 302)]
    assert "That address only takes what its form sends; here is the page of the form." in answer.text
    assert signed_in("rosa").get(ENTITY, follow=True).status_code == 403
    assert signed_in("bo").get("/api/v1/nowhere/").status_code == 404
    assert signed_in("bo").put(ENTITY).status_code == 405, "whoever puts is no browser"


@pytest.mark.parametrize(
    ("told", "leads_to"),
    [
        (f"http://testserver{PAYEES}?year=2025", f"{PAYEES}?year=2025"),
        ("https://elsewhere.example/farms/heron-slough/costs/", PAYEES),
        ("http://testserver/no/page/of/ours/", PAYEES),
        (f"http://testserver{SIGN_IN}", PAYEES),
        ("", PAYEES),
    ],
)
def test_who_signs_in_after_a_form_comes_to_its_page_and_is_told_that_nothing_was_kept(
    yard: Yard, told: str, leads_to: str
) -> None:
    client = Client()
    headers = {"Referer": told} if told else {}
    answer = client.post(ENTITY, {"code": "new", "name": "New one"}, headers=headers)
    assert answer.status_code == 302
    at = answer.headers["Location"]
    page = client.get(at).text
    assert "You were signed out before the form was sent: nothing was kept. Sign in first." in page
    asked = parse_qs(urlsplit(at).query)
    typed = {"username": "bo", "password": "x" * 12, "next": asked["next"][0]}
    came = client.post(at, typed, follow=True)
    assert came.redirect_chain[-1][0] == leads_to
    assert "You were signed out before it was sent: nothing was kept." in came.text
    assert "That address only takes" not in came.text, "one word is enough"


def test_who_only_asks_for_a_page_signs_in_without_such_a_word(yard: Yard) -> None:
    client = Client()
    at = client.get(f"{PAYEES}?year=2025").headers["Location"]
    assert at == f"{SIGN_IN}?next={PAYEES}%3Fyear%3D2025"
    assert "signed out before" not in client.get(at).text
    typed = {"username": "bo", "password": "x" * 12, "next": f"{PAYEES}?year=2025"}
    assert "signed out before" not in client.post(at, typed, follow=True).text


def test_a_form_of_another_session_is_told_how_what_was_typed_is_not_lost(yard: Yard) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(signed_in("bo").get(PAYEES).wsgi_request.user)
    answer = client.post(ENTITY, {"code": "new", "name": "New one"})
    assert answer.status_code == 403
    assert "Go back: most browsers still hold what you typed. Send it once more from there." in answer.text
    assert '<script src="/static/pages/forms.js" defer>' in client.get(PAYEES).text


def test_a_farm_that_is_not_yours_stays_unknown_at_the_address_of_its_forms(yard: Yard) -> None:
    answer = signed_in("bo").get("/farms/other-bend/payees/entity/", follow=True)
    assert answer.status_code == 404
