"""The page of bills by keyboard alone, in a browser: keys counted, time taken."""

import datetime as dt
import time
import uuid
from collections.abc import Iterator

import pytest
from django.conf import settings
from playwright.sync_api import Browser, BrowserContext, Page
from pytest_django.live_server_helper import LiveServer

from ledger.models import Bill, BillPayment
from ledger.services.bills import enter_bill
from tests.browser.conftest import Hour, Opened, wait_for_the_last_answers
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.browser

KEYS_A_SECOND = 4
"""A practiced hand on a keyboard, slow enough for figures: from memory."""
MOST_S = 20
BILLS = "/farms/heron-slough/bills/"


class Keyboard:
    """Keys pressed on a page, one by one, and how long the page itself took."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.keys = 0
        self.began = time.perf_counter()

    def type(self, text: str) -> None:
        for letter in text:
            self.press(letter)

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys += 1

    def takes_s(self) -> float:
        """Return what a person needs for the keys, and the page for the rest."""
        return self.keys / KEYS_A_SECOND + time.perf_counter() - self.began


@pytest.fixture
def open_bills(browser: Browser, live_server: LiveServer, yard: Yard, hour: Hour) -> Iterator[Opened]:
    """Open the page of bills as the bookkeeper; complaints of the browser fail the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def opened(*, width: int = 1280, dark: bool = False) -> Page:
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            base_url=live_server.url,
            color_scheme="dark" if dark else "light",
        )
        contexts.append(context)
        cookie = signed_in("bo").cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies(
            [
                {
                    "name": settings.SESSION_COOKIE_NAME,
                    "value": cookie,
                    "url": live_server.url,
                    "httpOnly": True,
                }
            ]
        )
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None
        )
        page.goto(BILLS)
        return page

    yield opened
    for context in contexts:
        context.close()
    wait_for_the_last_answers()
    assert complaints == []


def seed_bill(yard: Yard) -> Bill:
    return enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Cane Road Tire and Axle",
        bill_on=dt.date(2026, 4, 1),
        amount_usd="88.10",
        category="repairs",
        shared_by="acres",
        now=dt.datetime(2026, 4, 2, tzinfo=dt.UTC),
    )[0]


def focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.name || ''"))


def test_a_bill_of_a_known_payee_goes_in_within_twenty_seconds(open_bills: Opened, yard: Yard) -> None:
    seed_bill(yard)
    page = open_bills()
    assert focused(page) == "payee"
    keyboard = Keyboard(page)
    keyboard.type("Cane Road Tire and Axle")
    keyboard.press("Tab")
    keyboard.type("A-20417")
    keyboard.press("Tab")
    keyboard.type("4/18")
    keyboard.press("Tab")
    keyboard.type("1,412.38")
    keyboard.press("Enter")
    page.wait_for_selector("[role=status]")
    assert keyboard.takes_s() < MOST_S, keyboard.takes_s()
    bill = Bill.objects.get(number="A-20417")
    assert (bill.cents, bill.category, bill.shared_by) == (141_238, "repairs", "acres")
    assert bill.bill_on == dt.date(2026, 4, 18)
    assert focused(page) == "payee"
    assert page.input_value("[name=payee]") == ""


def test_a_new_payee_a_place_and_a_check_fit_into_twenty_seconds_too(open_bills: Opened, yard: Yard) -> None:
    page = open_bills()
    keyboard = Keyboard(page)
    keyboard.type("Elm Welding")
    for _ in range(3):
        keyboard.press("Tab")
    keyboard.type("275.50")
    keyboard.press("Tab")
    keyboard.press("Tab")
    keyboard.type("rep")
    keyboard.press("Tab")
    keyboard.type("disk-1")
    keyboard.press("Tab")
    keyboard.type("1043")
    keyboard.press("Enter")
    page.wait_for_selector("[role=status]")
    assert keyboard.takes_s() < MOST_S, keyboard.takes_s()
    payment = BillPayment.objects.get()
    assert (payment.check_no, str(payment.bill.implement), payment.bill.cents) == ("1043", "disk-1", 27_550)


def test_an_unpaid_bill_is_paid_by_the_keyboard(open_bills: Opened, yard: Yard) -> None:
    bill = seed_bill(yard)
    page = open_bills()
    page.get_by_label("Check for Cane Road Tire").focus()
    page.keyboard.type("1050")
    page.keyboard.press("Enter")
    page.wait_for_selector("[role=status]")
    assert BillPayment.objects.get(bill=bill).check_no == "1050"
    assert "Every bill is paid" in page.inner_text("h1")


def test_what_is_wrong_takes_the_keyboard_to_its_box(open_bills: Opened, yard: Yard) -> None:
    page = open_bills()
    page.fill("[name=payee]", "Elm Welding")
    page.fill("[name=amount_usd]", "a lot")
    page.keyboard.press("Enter")
    page.wait_for_selector(".wrong")
    assert focused(page) in ("amount_usd", "category")
    assert page.input_value("[name=payee]") == "Elm Welding"
    assert page.get_attribute("[name=amount_usd]", "aria-invalid") == "true"
