"""Back in a browser: what was typed is there again, and after signing out no money is."""

import shutil
from collections.abc import Iterator

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from tests.browser.conftest import CHROMIUM, Hour, wait_for_the_last_answers
from tests.browser.test_bill_page import BILLS, seed_bill
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.browser

TYPED = {"payee": "Elm Welding", "number": "A-17", "amount_usd": "275.50"}
MONEY = "88.10"
"""Of the bill that is there."""
WAITS_MS = 700


@pytest.fixture(params=[True, False], ids=["pages kept whole", "pages fetched again"])
def keeps_pages(request: pytest.FixtureRequest) -> bool:
    return bool(request.param)


@pytest.fixture
def bills(
    keeps_pages: bool, browser: Browser, live_server: LiveServer, yard: Yard, hour: Hour
) -> Iterator[Page]:
    """The page of bills in a browser that keeps whole pages for Back, as people have it, or in one that does not."""
    seed_bill(yard)
    found = next(path for name in CHROMIUM if (path := shutil.which(name)))
    off = ["--disable-back-forward-cache"] if keeps_pages else []
    started = browser.browser_type.launch(
        executable_path=found, args=["--no-sandbox"], ignore_default_args=off
    )
    context = started.new_context(base_url=live_server.url)
    cookie = signed_in("bo").cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies(
        [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url, "httpOnly": True}]
    )
    page = context.new_page()
    page.goto(BILLS)
    yield page
    started.close()
    wait_for_the_last_answers()


def back(page: Page) -> None:
    """Press Back, and wait until that page is there, whether it was fetched or kept whole."""
    page.evaluate("history.back()")
    page.wait_for_timeout(WAITS_MS)


def test_back_shows_what_was_typed_and_after_signing_out_no_money(bills: Page, keeps_pages: bool) -> None:
    page = bills
    for name, said in TYPED.items():
        page.fill(f"[name={name}]", said)
    page.goto(BILLS + "?again")
    back(page)
    if keeps_pages:
        assert {name: page.input_value(f"[name={name}]") for name in TYPED} == TYPED
    assert MONEY in page.content()
    page.goto(BILLS + "?again")
    with page.expect_navigation(url="**/sign-in/**"):
        page.click("[data-sign-out] button")
    for _page_before in range(2):
        back(page)
        expect(page.locator("[name=username]")).to_be_visible()
        assert MONEY not in page.content()
