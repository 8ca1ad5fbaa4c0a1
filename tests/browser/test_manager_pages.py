"""The manager's pages as they are used: by who cannot see well, on a phone, and by keyboard alone."""

from decimal import Decimal

import pytest
from playwright.sync_api import Page

from farmops.core.models import LongWork, User
from farmops.digests.models import OutboxRow
from farmops.farms.models import Hand, Machine
from scheduling.models import FuelFill, Incident, PassState, WorkDay
from tests.browser.conftest import Hour, Opened
from tests.browser.lived_farm import LATER, live_a_day
from tests.browser.test_day_page import open_all
from tests.farmops.pages.conftest import Yard

pytestmark = pytest.mark.browser
FARM = "/farms/heron-slough/"


@pytest.fixture
def lived(yard: Yard, hour: Hour) -> Yard:
    """Return the yard after a day of which something stands on every page."""
    hour.at = LATER
    return live_a_day(yard)


def addresses() -> list[str]:
    return [
        "morning/",
        "fields/",
        "stations/",
        f"hands/{Hand.objects.first().pk}/",  # type: ignore[union-attr]
        "waiting/",
        "week/",
        "incidents/",
        f"incidents/{Incident.objects.first().pk}/",  # type: ignore[union-attr]
        "debris/",
        "debris/pond-40/",
        "care/",
        "fleet/",
        f"fleet/machine/{Machine.objects.get().pk}/",
        "share-outs/",
        "machine-years/",
        "fuel/",
        "long-work/",
        f"long-work/{LongWork.objects.order_by('pk')[0].pk}/",
        f"long-work/{LongWork.objects.order_by('pk')[1].pk}/",
        "exports/",
        "sprays/",
        "sprays/new/",
        "sprays/paper/?year=2026",
        "hours/?week=2026-04-20",
        "links/",
        "mail/?day=2026-04-20",
        f"mail/{OutboxRow.objects.first().pk}/",  # type: ignore[union-attr]
        "mail/undelivered/",
        "mail/times/",
        "mail/times/people/",
        f"mail/preview/digest/user/{User.objects.get(username='mona').pk}/?day=2026-04-20",
    ]


def opened(page: Page, address: str) -> None:
    answer = page.goto(FARM + address)
    assert answer is not None
    assert answer.status == 200, address
    open_all(page)


# A drawing may repeat for the pointer what a table beside it links to; only then it may be passed over by the keys.
REACHABLE = """() => [...document.querySelectorAll(
    'main a[href], main button, main input:not([type=hidden]), main select, main textarea, main summary'
)].filter(one => !one.disabled && one.checkVisibility() && !(one.type === 'radio' && one !== (
    one.form.querySelector(`[name="${one.name}"]:checked`) ?? one.form.querySelector(`[name="${one.name}"]`))))
  .filter(one => !(one.matches('svg a[tabindex="-1"]')
    && document.querySelector(`main a[href="${one.getAttribute('href')}"]:not([tabindex="-1"])`)))
  .map((one, at) => { one.dataset.at = at; return one.outerHTML.slice(0, 120); })"""


NOTED = """() => {
  const style = one => getComputedStyle(one);
  const ringed = one => one && style(one).outlineStyle !== 'none' && parseFloat(style(one).outlineWidth) > 0;
  window.noted = {};
  document.addEventListener('focusin', event => {
    const one = event.target, around = one.closest('label');
    if (one.dataset.at !== undefined)
      window.noted[one.dataset.at] = Boolean(ringed(one) || ringed(around) || ringed(around?.querySelector('span')));
  });
}"""


def test_all_that_can_be_pressed_is_reached_by_the_tab_key_and_seen_to_be(
    open_day: Opened, lived: Yard
) -> None:
    page, wrong = open_day("mona", width=1280), []
    for address in addresses():
        opened(page, address)
        there = page.evaluate(REACHABLE)
        assert there, address
        page.evaluate(NOTED)
        for _turn in range(4):  # a date or an hour takes several steps
            for _step in range(len(there) + 10):
                page.keyboard.press("Tab")
            noted = {int(at): is_seen for at, is_seen in page.evaluate("noted").items()}
            if len(noted) == len(there):
                break
        reached, unseen = set(noted), {at for at, is_seen in noted.items() if not is_seen}
        wrong += [f"{address} not reached: {one}" for at, one in enumerate(there) if at not in reached]
        wrong += [f"{address} not seen to be reached: {there[at]}" for at in sorted(unseen)]
    assert wrong == []


def tab_to(page: Page, selector: str) -> None:
    for _step in range(120):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached by the tab key")


def test_of_kinds_of_which_none_is_chosen_the_arrows_choose(open_day: Opened, lived: Yard) -> None:
    """The tab key stops once at a group of kinds: at the chosen one, or the first."""
    page = open_day("mona", width=390)
    page.goto(f"{FARM}incidents/")
    assert not page.query_selector("[name=kind]:checked")
    tab_to(page, "[name=kind]")
    page.keyboard.press("ArrowDown")
    kinds = [one.get_attribute("value") for one in page.query_selector_all("[name=kind]")]
    assert page.evaluate("document.activeElement.value") == kinds[1]
    assert page.evaluate("document.activeElement.checked")


def test_a_fill_up_a_reason_and_a_walk_called_off_take_no_mouse(open_day: Opened, lived: Yard) -> None:
    page = open_day("mona", width=390)
    page.goto(f"{FARM}fuel/")
    tab_to(page, "form[action$='/fuel/fill/'] [name=gallons]")
    page.keyboard.type("1,040.5")
    page.keyboard.press("Enter")
    page.wait_for_selector(".wrong")
    assert page.evaluate("document.activeElement.value") == "1,040.5", "what was typed stands, and is at hand"
    page.keyboard.press("Control+A")
    page.keyboard.type("40.5")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{FARM}fuel/")
    assert FuelFill.objects.filter(gallons=Decimal("40.5")).count() == 1
    page.goto(f"{FARM}hours/?week=2026-04-20")
    tab_to(page, "[name=why]")
    page.keyboard.type("rain")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Kept for Rosa")
    assert WorkDay.objects.get().why_fewer == "rain"
    page.goto(f"{FARM}debris/pond-40/")
    tab_to(page, "form[action$='/no-walk/'] button")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=is not walked after all")
    assert lived.field_pass.season.passes.get(operation="debris_walk").state == PassState.CALLED_OFF
