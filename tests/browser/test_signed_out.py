"""A session that ends while a form is being filled in: what was typed is still there, and can be sent."""

import shutil
from collections.abc import Iterator

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from ledger.models import Entity
from tests.browser.conftest import CHROMIUM, Hour, follow, wait_for_the_last_answers
from tests.farmops.pages.conftest import Yard

pytestmark = pytest.mark.browser
PAYEES = "/farms/heron-slough/payees/"
TWICE = 2


@pytest.fixture
def office(browser: Browser, live_server: LiveServer, yard: Yard, hour: Hour) -> Iterator[BrowserContext]:
    """A browser in which the bookkeeper signed in, and that keeps pages for Back as people's browsers do."""
    found = next(path for name in CHROMIUM if (path := shutil.which(name)))
    keeping = browser.browser_type.launch(
        executable_path=found,
        args=["--no-sandbox"],
        ignore_default_args=["--disable-back-forward-cache"],
    )
    context = keeping.new_context(viewport={"width": 1280, "height": 844}, base_url=live_server.url)
    page = context.new_page()
    page.goto(PAYEES)
    sign_in(page)
    page.close()
    yield context
    keeping.close()
    wait_for_the_last_answers()


def sign_in(page: Page) -> None:
    page.locator("[name=username]").fill("bo")
    page.locator("[name=password]").fill("x" * 12)
    follow(page.locator("main button"))


def fill(page: Page) -> None:
    page.locator("details summary").last.click()
    page.locator("[name=code]").fill("home")
    page.locator("[name=name]").fill("Home Place LLC")


def send(page: Page) -> None:
    follow(page.locator("form[action$='/entity/'] button"))


def test_after_signing_in_again_the_form_is_there_as_it_was_filled_in_and_is_kept(
    office: BrowserContext,
) -> None:
    page = office.new_page()
    page.goto(PAYEES)
    fill(page)
    Session.objects.all().delete()
    send(page)
    expect(page.locator("main")).to_contain_text("You were signed out before the form was sent")
    sign_in(page)
    assert page.url.endswith(PAYEES)
    expect(page.locator("main")).to_contain_text("nothing was kept. Press Back twice")
    for _back in range(TWICE):
        assert page.locator("[name=name]").input_value() == ""
        with page.expect_event("framenavigated"):
            page.evaluate("history.back()")  # `go_back` waits for a page that is not loaded anew
    expect(page.locator("[name=name]")).to_have_value("Home Place LLC")
    assert not Entity.objects.exists()
    send(page)
    expect(page.locator("main")).to_contain_text("Bills may be in the name of Home Place LLC now.")
    assert Entity.objects.get().code == "home"


def test_a_form_is_kept_though_somebody_signed_in_anew_in_another_tab(office: BrowserContext) -> None:
    page = office.new_page()
    page.goto(PAYEES)
    fill(page)
    Session.objects.all().delete()
    other = office.new_page()
    other.goto(PAYEES)
    sign_in(other)
    send(page)
    expect(page.locator("main")).to_contain_text("Bills may be in the name of Home Place LLC now.")
    assert Entity.objects.get().name == "Home Place LLC"
