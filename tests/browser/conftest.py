"""A browser, a farm that it looks at, and a day at which both clocks stand."""

import datetime as dt
import os
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from farmops.core import clock
from farmops.farms.models import FuelTank
from tests.farmops.pages.conftest import MONDAY, Yard, make_yard, signed_in

PICTURES = Path(__file__).resolve().parents[2] / "build" / "browser"
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")

# The browser's own event loop runs in this thread; what is asked of the database here is asked between its turns.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

# How long a page is waited for to show what it will: no limit of ours, and two browsers may share the machine.
expect.set_options(timeout=15_000)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium as the system has it."""
    found = next((path for name in CHROMIUM if (path := shutil.which(name))), None)
    assert found, "Chromium is missing: apt-get install chromium"
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def yard(transactional_db: None) -> Yard:
    farm = make_yard()
    FuelTank.objects.create(farm=farm.farm, code="big", name="big tank", holds_gal=500)
    return farm


class Hour:
    """The hour that the server and the browser show."""

    def __init__(self) -> None:
        self.at = MONDAY + dt.timedelta(hours=19)


@pytest.fixture
def hour(monkeypatch: pytest.MonkeyPatch) -> Hour:
    stands = Hour()
    monkeypatch.setattr(clock, "now", lambda: stands.at)
    return stands


Opened = Callable[..., Page]


@pytest.fixture
def open_day(browser: Browser, live_server: LiveServer, yard: Yard, hour: Hour) -> Iterator[Opened]:
    """Open the hand's day as the signed-in hand; complaints of the browser fail the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def opened(name: str = "rosa", *, width: int = 390, dark: bool = False, worker: bool = False) -> Page:
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            base_url=live_server.url,
            color_scheme="dark" if dark else "light",
            timezone_id="America/New_York",
            service_workers="allow" if worker else "block",  # beside a worker no request can be cut off here
        )
        contexts.append(context)
        context.clock.set_fixed_time(hour.at)
        client = signed_in(name)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
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
        page.goto("/farms/heron-slough/day/?day=2026-04-20")
        return page

    yield opened
    for context in contexts:
        context.close()
    wait_for_the_last_answers()
    assert complaints == []


def wait_for_the_last_answers() -> None:
    """Let the server's threads end while they still may close their connections to the database."""
    for thread in threading.enumerate():
        if "process_request_thread" in thread.name:
            thread.join(5)


def follow(wanted: Locator) -> None:
    """Press a link or a button that leads to another page, and wait until that one is there."""
    with wanted.page.expect_navigation():
        wanted.click()


def picture(page: Page, name: str) -> None:
    """Keep a picture of a page for a person to look at."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=PICTURES / f"{name}.png", full_page=True)


def fill_fuel(page: Page, gallons: str, note: str = "") -> None:
    """Fill the form of a fill-up in, and press its button."""
    form = page.locator("form[data-report=fuel]")
    form.evaluate(
        "form => { for (let at = form; at; at = at.parentElement) if (at.tagName === 'DETAILS') at.open = true }"
    )
    for fold in form.locator("details").all():
        fold.evaluate("fold => fold.open = true")
    form.locator("[name=machine]").first.check()
    form.locator("[name=gallons]").fill(gallons)
    form.locator("[name=note]").fill(note)
    form.locator("button:not([type=button])").last.click()
