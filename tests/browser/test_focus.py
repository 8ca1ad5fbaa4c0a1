"""Where the keyboard is after a part of a page was put in the place of another: never nowhere.

The week's own script is in `test_week_moves.py`, the copied address in `test_door_sheets.py`.
"""

import pytest
from playwright.sync_api import expect

from farmops.core.models import LongWork, LongWorkState, User
from scheduling.models import FuelFill
from tests.browser.by_keyboard import SEEN, tab_to
from tests.browser.conftest import Opened, fill_fuel
from tests.browser.test_queue import KEPT, queue, signal_comes_back
from tests.browser.test_queue_put_right import refuse_once
from tests.farmops.pages.conftest import MONDAY, Yard

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("where", ["in the part that changes", "elsewhere", "nowhere yet"])
def test_the_page_of_long_work_keeps_the_keyboard_where_it_is_until_the_work_ends(
    open_day: Opened, yard: Yard, where: str
) -> None:
    work = LongWork.objects.create(
        farm=yard.farm,
        kind="plan",
        key="a",
        asked={"first_on": "2026-04-20"},
        asked_by=User.objects.get(username="mona"),
        asked_at=MONDAY,
        state=LongWorkState.UNDER_WAY,
        done=4,
        of=10,
        words="laying out the days",
    )
    page = open_day("mona", width=1280)
    page.goto(f"/farms/heron-slough/long-work/{work.pk}/")
    call_off = page.get_by_role("button", name="Call it off")
    elsewhere = page.get_by_role("link", name="Week", exact=True).first
    if where != "nowhere yet":
        tab_to(page, call_off if where == "in the part that changes" else elsewhere)
    LongWork.objects.update(done=7)
    expect(page.locator("#now")).to_contain_text("70 %")
    if where != "nowhere yet":
        expect(call_off if where == "in the part that changes" else elsewhere).to_be_focused()
    LongWork.objects.update(state=LongWorkState.STOPPED, began_at=MONDAY, ended_at=MONDAY)
    expect(call_off).to_have_count(0)
    if where == "elsewhere":
        expect(elsewhere).to_be_focused()
        return
    if where == "in the part that changes":
        expect(page.locator("#work h1")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement !== document.body"), "from there one goes on"


def test_what_waits_to_be_sent_keeps_the_keyboard_as_it_comes_and_goes(open_day: Opened, yard: Yard) -> None:
    page = open_day()
    page.on("dialog", lambda asked: asked.accept())
    refuse_once(page)
    fill_fuel(page, "24")
    expect(queue(page)).to_contain_text("Diga cuánto.")
    page.context.set_offline(True)
    fill_fuel(page, "31")
    expect(queue(page)).to_contain_text("2 reportes en espera")
    expect(queue(page).get_by_role("button")).to_have_count(3)  # sending is over

    away = page.get_by_role("button", name="Tirar").first
    tab_to(page, away, back=True)
    page.evaluate("dispatchEvent(new Event('online'))")  # all is drawn anew, twice
    page.wait_for_timeout(300)
    expect(away).to_be_focused()
    page.keyboard.press("Enter")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    expect(queue(page)).to_be_focused()
    page.keyboard.press("Tab")
    again = queue(page).get_by_role("button")
    expect(again).to_be_focused()
    signal_comes_back(page)
    expect(queue(page)).to_contain_text(KEPT)
    expect(queue(page)).to_be_focused()
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["31.0"]

    refuse_once(page)
    fill_fuel(page, "25")
    expect(queue(page).get_by_role("button")).to_have_count(3)
    tab_to(page, page.get_by_role("button", name="Corregir"), back=True)
    page.keyboard.press("Enter")
    expect(page.locator("form[data-report=fuel] :focus")).to_have_count(1)
    page.set_viewport_size({"width": 390, "height": 400})
    for _stop in range(12):
        page.keyboard.press("Shift+Tab")
        assert "hidden" not in page.evaluate(SEEN), page.evaluate("document.activeElement.outerHTML")
