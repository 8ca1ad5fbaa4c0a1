"""The hand's page as it is used by keyboard."""

import pytest
from playwright.sync_api import Page, expect

from scheduling.models import WorkRecord
from tests.browser.conftest import Opened
from tests.browser.test_queue import KEPT, queue
from tests.farmops.pages.conftest import Yard

pytestmark = pytest.mark.browser
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def open_all(page: Page) -> None:
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")


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
