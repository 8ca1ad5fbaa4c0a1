"""The hand's page as it is used: by keyboard, by who cannot see well."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from farmops.farms.models import Hand
from scheduling.models import WorkRecord
from tests.browser.conftest import Opened, picture
from tests.browser.test_queue import KEPT, queue
from tests.farmops.pages.conftest import Yard

pytestmark = pytest.mark.browser
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def open_all(page: Page) -> None:
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_the_page_breaks_no_rule_of_access(open_day: Opened, yard: Yard, language: str, dark: bool) -> None:
    Hand.objects.filter(pk=yard.hand.pk).update(language=language)
    page = open_day(dark=dark)
    open_all(page)
    picture(page, f"day-{language}-{'dark' if dark else 'light'}")
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": RULES}})
    assert found.response["violations"] == [], found.generate_report()


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_is_wider_than_the_screen(open_day: Opened, width: int) -> None:
    page = open_day(width=width)
    open_all(page)
    picture(page, f"day-{width}")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_report_is_made_without_a_mouse(open_day: Opened, yard: Yard) -> None:
    page = open_day()
    hours = page.locator("form[data-report=work] [name=hours]")
    for _ in range(60):
        page.keyboard.press("Tab")
        if hours.evaluate("box => box === document.activeElement"):
            break
        if page.evaluate(
            "document.activeElement.tagName === 'SUMMARY' && !document.activeElement.parentElement.open"
        ):
            page.keyboard.press("Enter")
    assert hours.evaluate("box => box === document.activeElement")
    page.keyboard.type("4.5")
    page.keyboard.press("Enter")
    expect(queue(page)).to_contain_text(KEPT)
    assert WorkRecord.objects.get().hand_min == 270
