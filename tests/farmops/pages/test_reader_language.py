"""Pages speak the language of who is signed in, and one press changes it for pages, sheets and mails."""

import pytest
from django.test import Client
from django.urls import reverse

from farmops.core.models import User
from tests.factories import make_hand
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.django_db


def test_a_page_speaks_the_language_of_who_is_signed_in_whatever_the_browser_asks(yard: Yard) -> None:
    manager = signed_in("mona")
    week = reverse("pages:week", args=[yard.farm.code])
    assert '<html lang="en">' in manager.get(week, headers={"Accept-Language": "es"}).text
    User.objects.filter(username="mona").update(language="es")
    spanish = manager.get(week, headers={"Accept-Language": "en"}).text
    assert '<html lang="es">' in spanish
    assert "Salir" in spanish


def test_who_is_not_signed_in_is_spoken_to_as_the_browser_asks(client: Client) -> None:
    for asked, language in (("es-MX,en;q=0.5", "es"), ("en-US", "en"), ("de", "en")):
        answer = client.get("/no/such/page/", headers={"Accept-Language": asked})
        assert f'<html lang="{language}">' in answer.text, asked


def test_one_press_changes_the_language_and_leads_back(yard: Yard) -> None:
    manager = signed_in("mona")
    week = reverse("pages:week", args=[yard.farm.code])
    answer = manager.post(reverse("pages:speak"), {"language": "es", "next": week})
    assert answer["Location"] == week
    assert '<html lang="es">' in manager.get(week).text


def test_a_hand_who_chooses_gets_sheets_in_that_language_too(yard: Yard) -> None:
    other = make_hand(yard.farm, "odd", language="es")
    signed_in("rosa").post(reverse("pages:speak"), {"language": "en", "next": "/"})
    yard.hand.refresh_from_db()
    other.refresh_from_db()
    assert (yard.hand.language, other.language) == ("en", "es")


def test_a_form_that_was_refused_leads_back_to_its_page_in_the_other_language(yard: Yard) -> None:
    manager, at = signed_in("mona"), reverse("pages:choose_limit", args=[yard.farm.code, "sticks"])
    refused = manager.post(at, {})
    assert refused.status_code == 422
    assert f'<input type="hidden" name="next" value="{at}">' in refused.text
    answer = manager.post(reverse("pages:speak"), {"language": "es", "next": at}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("pages:limits", args=[yard.farm.code])
    assert '<html lang="es">' in answer.text


@pytest.mark.parametrize(
    "back", ["https://elsewhere.example/", "//elsewhere.example", "", "javascript:alert(1)"]
)
def test_the_way_back_stays_on_this_host(yard: Yard, back: str) -> None:
    answer = signed_in("mona").post(reverse("pages:speak"), {"language": "es", "next": back})
    assert answer["Location"] == "/"


def test_a_language_that_nobody_speaks_changes_nothing(yard: Yard) -> None:
    manager = signed_in("mona")
    manager.post(reverse("pages:speak"), {"language": "xx", "next": "/"})
    assert User.objects.get(username="mona").language == "en"
    assert manager.get(reverse("pages:speak")).status_code == 302
