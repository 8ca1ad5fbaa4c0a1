"""Reports of a page that was left open: its forms are too old for the farm, and the queue mends that by itself."""

import re

import pytest
from django.conf import settings
from playwright.sync_api import Page, Route, expect

from farmops.farms.models import Membership
from scheduling.models import FieldReport, FuelFill
from tests.browser.conftest import Opened, fill_fuel
from tests.browser.test_queue import wait_until_all_is_sent
from tests.factories import make_hand
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.browser
DOOR = re.compile(r"/day/send/")
KEPT = "Reporte guardado"
SIGNED_OUT = "Abra el enlace de su hoja más nueva"


def queue(page: Page):
    return page.locator("#queue")


def answers_of(page: Page) -> list[int]:
    """Return a list that grows by the status of each answer to a report."""
    seen: list[int] = []
    page.on("response", lambda answer: seen.append(answer.status) if DOOR.search(answer.url) else None)
    return seen


def sign_in_as(page: Page, name: str) -> None:
    """Sign somebody in beside the open page, as in another tab: the browser has one cookie for both."""
    cookie = signed_in(name).cookies[settings.SESSION_COOKIE_NAME].value
    origin = page.evaluate("location.origin")
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": origin}])
    page.context.clear_cookies(name=settings.CSRF_COOKIE_NAME)


def test_a_form_that_is_too_old_gets_a_new_secret_and_the_report_goes_out(open_day: Opened) -> None:
    page = open_day()
    page.evaluate(
        "() => document.querySelectorAll('[name=csrfmiddlewaretoken]').forEach((one) => { one.value = 'a'.repeat(64); })"
    )
    seen = answers_of(page)
    fill_fuel(page, "21")
    wait_until_all_is_sent(page)
    fill_fuel(page, "22")
    wait_until_all_is_sent(page)
    assert sorted(str(fill.gallons) for fill in FuelFill.objects.all()) == ["21.0", "22.0"]
    assert seen == [403, 201, 201]  # the second report has the new secret at once


def test_a_door_that_stays_shut_is_knocked_at_twice_and_the_report_waits(open_day: Opened) -> None:
    page = open_day()
    knocks: list[str] = []

    def shut(route: Route) -> None:
        knocks.append(route.request.method)
        route.fulfill(status=403, body="no")

    page.route(DOOR, shut)
    fill_fuel(page, "23")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    expect(queue(page)).to_contain_text(SIGNED_OUT)
    assert knocks == ["POST", "POST"]
    assert FieldReport.objects.count() == 0


def test_a_page_on_which_somebody_else_signed_in_sends_nothing_in_that_name(
    open_day: Opened, yard: Yard
) -> None:
    page = open_day()
    Membership.objects.filter(user__username="mona").update(role="hand", hand=make_hand(yard.farm, "odell"))
    sign_in_as(page, "mona")
    fill_fuel(page, "24")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    expect(queue(page)).to_contain_text(SIGNED_OUT)
    assert FieldReport.objects.count() == 0
    sign_in_as(page, "rosa")
    page.goto(page.url)
    expect(queue(page)).to_contain_text(KEPT)
    assert [fill.hand for fill in FuelFill.objects.all()] == [yard.hand]


def test_of_many_receipts_the_last_three_stay_in_sight(open_day: Opened) -> None:
    page = open_day()
    for gallons in ("41", "42", "43", "44"):
        fill_fuel(page, gallons)
    wait_until_all_is_sent(page)
    expect(queue(page).locator(".done")).to_have_count(3)
    assert FuelFill.objects.count() == 4
