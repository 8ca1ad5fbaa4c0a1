"""Every page that can be asked for, taken from the addresses themselves: whoever adds one has it looked at here.

Outside: the rules of axe-core (target size, 2.5.8, among them); WCAG 2.2 success criteria 1.4.10 (no scrolling in two
directions) and 2.4.11 (what has the focus is not hidden, forward and backward); the browser's own report of what a
content security policy stopped (the event `securitypolicyviolation` of CSP level 3).
"""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import axe_playwright_python
import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, reverse
from playwright.sync_api import Browser, Page
from pytest_django.fixtures import Settings
from pytest_django.live_server_helper import LiveServer

from farmops.core.models import User
from farmops.farms.models import Hand
from farmops.pages.urls import urlpatterns
from tests.browser.conftest import Hour, picture, wait_for_the_last_answers
from tests.browser.lived_farm import LATER, lay_the_rest, live_a_day, rows_of
from tests.browser.test_day_page import RULES
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.browser

NO_PAGES = {
    "live": "for a monitor",
    "ready": "for a monitor",
    "metrics": "for a monitor",
    "sign_out": "answers a press only",
    "start_welcome": "answers a press only",
    "start_template": "a file",
    "calendar_feed": "a file",
    "mail_as_sent": "a file",
    "mail_as_shown": "a mail, in a frame of its page",
    "mail_preview_shown": "a mail, in a frame of its page",
    "move_ways": "figures for the script of the week",
    "hours_file": "a file",
    "outline": "a drawing",
    "photo": "a picture",
    "day_worker": "a script",
    "field_shape": "a drawing",
    "general_ledger_file": "a file",
    "schedule_f_file": "a file",
    "journal_file": "a file",
    "bill_photo": "a picture",
    "download": "a file",
    "statement": "a file",
    "order_file": "a file",
    "farm_home": "the way to what a role opens with",
    "long_work_clash": "the page on which no plan is possible; in the tests of long work",
    "long_work_file": "a file",
}
"""Addresses that answer a GET with something else than a page, each with what it is."""
QUERIES = {
    "hours": "?week=2026-04-20",
    "sprays_on_paper": "?year=2026",
    "mail": "?day=2026-04-20",
    "mail_preview": "?day=2026-04-20",
    "day": "?day=2026-04-20",
    "door_sheets": "?day=2026-04-21",
    "pool_lines": "?pool=tractor-1&side=left",
    "costs": "?by=category",
}
ALSO = {"costs": ["?by=operation&field=sand-60", ""], "cost_lines": ["?field=sand-60&category=tires"]}
"""Questions to a page that show another part of it."""
STRANGERS = {"sign_in", "welcome", "enter", "type_code", "enter_code", "stop_mail"}
HANDS = {"day", "my_mail"}
SUPERUSERS = {"begin_farm"}
BOOKKEEPERS = {
    *("bills", "bill", "payees", "stock", "costs", "field_costs", "cost_lines", "pool_lines", "cost_source"),
    *("budgets", "periods", "trial_balance", "account", "schedule_f", "landlords", "entry"),
    *("share_outs", "share_out", "machine_years", "exports"),
}

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js")
TELL_WHAT_WAS_STOPPED = """document.addEventListener('securitypolicyviolation', told =>
  console.error(`stopped by the policy: ${told.violatedDirective} ${told.blockedURI}`));"""
ALL_RULES = {"type": "tag", "values": [*RULES, "best-practice"]}
ONLY = {
    "en": {"runOnly": ALL_RULES},
    "es": {"runOnly": ALL_RULES, "rules": {"color-contrast": {"enabled": False}}},
    "at night": {"runOnly": {"type": "rule", "values": ["color-contrast"]}},
}
LOOK = """async only => (await axe.run({resultTypes: ['violations'], ...only})).violations
  .map(one => `${one.id}: ${one.nodes[0].html.slice(0, 160)}`)"""
HIDDEN = """() => {
  const wrong = [], all = [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]')].filter(
    one => !one.disabled && one.tabIndex >= 0 && one.checkVisibility() && !one.matches('.skip'));
  const within = (low, at, high) => Math.min(Math.max(low, at), high);
  const shows = (one, x, y) => { const over = document.elementFromPoint(within(0, x, innerWidth - 1), within(0, y, innerHeight - 1));
    return over && (one.contains(over) || over.closest('label')?.contains(one) || over.closest('svg a') === one); };
  for (const row of [all, all.toReversed()]) for (const one of row) {
    one.focus();
    const rects = [...one.getClientRects()];
    if (document.activeElement === one && !rects.some(box => [box.left + 2, box.left + box.width / 2, box.right - 2].some(
        x => [box.top + 2, box.top + box.height / 2, box.bottom - 2].some(y => shows(one, x, y)))))
      {
      const box = rects[0], over = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
      wrong.push(`focused is hidden: ${one.outerHTML.slice(0, 120)} under ${over && over.outerHTML.slice(0, 80)}`);
    }
  }
  return wrong.slice(0, 3);
}"""
OPEN_ALL = "for (const fold of document.querySelectorAll('details')) fold.open = true"


def who_sees(name: str) -> str:
    if name in STRANGERS:
        return ""
    if name in SUPERUSERS:
        return "ada"
    if name in HANDS:
        return "rosa"
    return "bo" if name in BOOKKEEPERS else "mona"


def refuses_to_be_asked(pattern: URLPattern) -> bool:
    """Say whether an address is there to be pressed only."""
    some = {"IntConverter": 1, "SlugConverter": "x", "StringConverter": "x"}
    given = {name: some[type(one).__name__] for name, one in pattern.pattern.converters.items()}
    answer = Client().get(reverse(f"pages:{pattern.name}", kwargs=given))
    return answer.status_code == 302 and not answer.headers["Location"].startswith(reverse("pages:sign_in"))


def pages(yard: Yard) -> Iterator[tuple[str, str]]:
    """Yield the name and the address of each page."""
    rows = rows_of(yard)
    for pattern in urlpatterns:
        name = str(pattern.name)
        if name in NO_PAGES or refuses_to_be_asked(pattern):
            continue
        wanted = set(pattern.pattern.converters) - {"farm_code"}
        assert wanted == set(rows.get(name, ())), f"say in lived_farm.py which row {name} shows: {wanted}"
        farm = {"farm_code": yard.farm.code} if "farm_code" in pattern.pattern.converters else {}
        address = reverse(f"pages:{name}", kwargs={**rows.get(name, {}), **farm})
        yield name, address + QUERIES.get(name, "")
        yield from ((name, address + query) for query in ALSO.get(name, []))


class Look:
    """One person's browser, and all that it complains of."""

    def __init__(self, browser: Browser, site: str, username: str, language: str) -> None:
        self.site, self.wrong = site, list[str]()
        self.context = browser.new_context(
            viewport={"width": 1280, "height": 844},
            base_url=site,
            locale=f"{language}-US",
            service_workers="block",
        )
        self.context.clock.set_fixed_time(LATER)
        if username:
            cookie = signed_in(username).cookies[settings.SESSION_COOKIE_NAME].value
            self.context.add_cookies(
                [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": site, "httpOnly": True}]
            )
        self.context.add_init_script(TELL_WHAT_WAS_STOPPED)
        self.context.add_init_script(path=AXE)
        self.page: Page = self.context.new_page()
        self.page.on("pageerror", lambda error: self.wrong.append(f"{self.page.url} {error}"))
        self.page.on("console", self._said)
        self.page.on("request", self._asked)

    def _said(self, said: Any) -> None:
        is_of_tests = "blocked by Playwright" in said.text  # the worker of the day, which stays out here
        if said.type in ("error", "warning") and not is_of_tests:
            self.wrong.append(f"{self.page.url} says {said.text}")

    def _asked(self, request: Any) -> None:
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https") and not request.url.startswith(self.site):
            self.wrong.append(f"{self.page.url} asks {request.url}")

    def at(self, name: str, address: str, language: str) -> list[str]:
        """Look at one page by day, in English at night too; return what is wrong with it.

        Colors are looked at in English alone, by day and at night: no language has its own, and they take longest.
        """
        page = self.page
        by_day = 1280 if language == "en" else 390
        page.emulate_media(color_scheme="light")
        page.set_viewport_size({"width": by_day, "height": 844})
        answer = page.goto(address)
        if answer is None or answer.status != 200:
            return [f"{name} {address} answers {answer and answer.status}"]
        wrong: list[str] = []
        if page.get_attribute("html", "lang") != language:
            wrong.append(f"{name} speaks {page.get_attribute('html', 'lang')}")
        page.evaluate(OPEN_ALL)
        found = page.evaluate(LOOK, ONLY[language])
        found += page.evaluate(HIDDEN)
        page.set_viewport_size({"width": 390, "height": 844})
        if language == "en":
            page.emulate_media(color_scheme="dark")
            found += page.evaluate(LOOK, ONLY["at night"])
        if page.evaluate("document.documentElement.scrollWidth") > 390:
            wrong.append(f"{name} is wider than 390")
            picture(page, f"wide-{name}-{language}")
        return wrong + [f"{name} {one}" for one in found]


@pytest.fixture
def whole(yard: Yard, hour: Hour, settings: Settings) -> Yard:
    settings.SITE_ADDRESS = "https://farm.example.org"
    hour.at = LATER
    live_a_day(yard)
    lay_the_rest(yard)
    return yard


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_page_by_day_and_by_night(
    whole: Yard, browser: Browser, live_server: LiveServer, language: str
) -> None:
    there, wrong = list(pages(whole)), []
    assert len(there) > 70
    User.objects.update(language=language)
    Hand.objects.update(language=language)
    with ExitStack() as after:
        looks: dict[str, Look] = {}
        for name, address in there:
            who = who_sees(name)
            if who not in looks:
                looks[who] = Look(browser, live_server.url, who, language)
                after.callback(looks[who].context.close)
            wrong += looks[who].at(name, address, language)
        wrong += [said for look in looks.values() for said in look.wrong]
    wait_for_the_last_answers()
    assert wrong == [], "\n".join(wrong)
