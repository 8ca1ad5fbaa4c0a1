"""Reports of a telephone with a poor signal: kept in the browser, sent until stored, and stored once."""

import re

import pytest
from django.conf import settings
from playwright.sync_api import Page, Route, expect

from farmops.farms.models import Membership
from scheduling.models import FieldReport, FuelFill
from tests.browser.conftest import Opened, fill_fuel, picture
from tests.factories import make_hand
from tests.farmops.pages.conftest import Yard, signed_in

pytestmark = pytest.mark.browser
DOOR = re.compile(r"/day/send/")
KEPT = "Reporte guardado"


def queue(page: Page):
    return page.locator("#queue")


NOTHING_WAITS = """() => new Promise((done) => {
  const ask = indexedDB.open("field-reports", 1);
  ask.onsuccess = () => {
    const count = ask.result.transaction("waiting").objectStore("waiting").count();
    count.onsuccess = () => { ask.result.close(); done(count.result === 0); };
  };
})"""


def wait_until(page: Page, says_yes: str, seconds: int = 60) -> None:
    """Wait until a function of the page, which may take its time, says yes."""
    for _ in range(10 * seconds):
        if page.evaluate(says_yes):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"not within {seconds} s: {says_yes}")


def wait_until_all_is_sent(page: Page) -> None:
    wait_until(page, NOTHING_WAITS)


def signal_comes_back(page: Page) -> None:
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")


def test_a_report_is_stored_and_its_receipt_shown(open_day: Opened) -> None:
    page = open_day()
    fill_fuel(page, "41.5")
    expect(queue(page)).to_contain_text(KEPT)
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["41.5"]


def test_without_a_signal_reports_wait_in_sight_and_go_out_when_it_is_back(open_day: Opened) -> None:
    page = open_day()
    page.context.set_offline(True)
    fill_fuel(page, "10")
    fill_fuel(page, "11")
    expect(queue(page)).to_contain_text("2 reportes en espera")
    expect(queue(page)).not_to_contain_text(KEPT)
    picture(page, "queue-390")
    signal_comes_back(page)
    expect(queue(page)).not_to_contain_text("en espera")
    assert sorted(str(fill.gallons) for fill in FuelFill.objects.all()) == ["10.0", "11.0"]


def test_the_page_opens_without_a_signal_and_what_waits_is_still_there(open_day: Opened) -> None:
    page = open_day(worker=True)
    wait_until(
        page, "() => caches.open('day-pages').then((all) => all.keys()).then((keys) => keys.length > 0)"
    )
    page.context.set_offline(True)
    fill_fuel(page, "12")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    page.reload()
    expect(queue(page)).to_contain_text("1 reporte en espera")
    assert page.locator("form[data-report]").count() > 3
    signal_comes_back(page)
    expect(queue(page)).to_contain_text(KEPT)
    assert FuelFill.objects.count() == 1


def test_a_page_opened_again_without_a_signal_takes_another_report_beside_the_first(open_day: Opened) -> None:
    """The copy that a phone keeps of the page holds the ids that the server gave it, the same at every opening."""
    page = open_day(worker=True)
    wait_until(
        page, "() => caches.open('day-pages').then((all) => all.keys()).then((keys) => keys.length > 0)"
    )
    page.context.set_offline(True)
    fill_fuel(page, "12")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    page.reload()
    expect(queue(page)).to_contain_text("1 reporte en espera")
    fill_fuel(page, "13")
    expect(queue(page)).to_contain_text("2 reportes en espera")
    signal_comes_back(page)
    wait_until_all_is_sent(page)
    page.context.set_offline(True)
    page.reload()
    fill_fuel(page, "14")
    signal_comes_back(page)
    wait_until_all_is_sent(page)
    assert sorted(str(fill.gallons) for fill in FuelFill.objects.all()) == ["12.0", "13.0", "14.0"]


def test_an_answer_that_was_lost_is_asked_for_again_and_the_report_stored_once(open_day: Opened) -> None:
    page = open_day()

    def lose_the_answer(route: Route) -> None:
        route.fetch()  # the farm has it
        route.abort()

    page.route(DOOR, lose_the_answer, times=1)
    fill_fuel(page, "13")
    expect(queue(page)).to_contain_text("Sin señal")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    assert FuelFill.objects.count() == 1
    queue(page).locator("button").click()
    expect(queue(page)).not_to_contain_text("en espera")
    assert FuelFill.objects.count() == FieldReport.objects.count() == 1


@pytest.mark.parametrize("status", [401, 429, 500, 503])
def test_answers_that_may_change_keep_the_report(open_day: Opened, status: int) -> None:
    page = open_day()
    page.route(DOOR, lambda route: route.fulfill(status=status, body="no"), times=1)
    with page.expect_response(DOOR):  # a page that is left earlier takes back what it was sending
        fill_fuel(page, "14")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    page.reload()
    expect(queue(page)).to_contain_text(KEPT)
    assert FuelFill.objects.count() == 1


@pytest.mark.parametrize("status", [409, 413, 415, 422])
def test_answers_that_stay_park_the_report_with_a_sentence(open_day: Opened, status: int) -> None:
    page = open_day()
    page.route(
        DOOR,
        lambda route: route.fulfill(
            status=status, content_type="application/problem+json", body='{"detail": "Diga los galones."}'
        ),
    )
    fill_fuel(page, "15", "por la tarde")
    expect(queue(page)).to_contain_text("Diga los galones.")
    page.reload()
    expect(queue(page)).to_contain_text("Diga los galones.")
    page.unroute(DOOR)
    page.get_by_role("button", name="Corregir").click()
    form = page.locator("form[data-report=fuel]")
    expect(form.locator("[name=gallons]")).to_have_value("15")
    expect(form.locator("[name=note]")).to_have_value("por la tarde")
    form.locator("[name=gallons]").fill("16")
    form.locator("button:not([type=button])").last.click()
    expect(queue(page)).to_contain_text(KEPT)
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["16.0"]


def test_a_report_that_the_farm_stumbles_over_holds_up_none_behind_it(open_day: Opened) -> None:
    page = open_day()
    page.context.set_offline(True)
    fill_fuel(page, "18", "stone")
    fill_fuel(page, "19")
    expect(queue(page)).to_contain_text("2 reportes en espera")

    def stumble(route: Route) -> None:
        if "stone" in (route.request.post_data or ""):
            route.fulfill(status=500, body="no")
        else:
            route.continue_()

    page.route(DOOR, stumble)
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(queue(page)).to_contain_text(KEPT)
    expect(queue(page)).to_contain_text("1 reporte en espera")
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["19.0"]


def test_a_form_takes_the_next_report_at_once_and_a_second_tap_is_none(open_day: Opened) -> None:
    page = open_day()
    page.context.set_offline(True)
    form = page.locator("form[data-report=fuel]")
    fill_fuel(page, "21")
    # Two presses in one turn of the page: nothing of the first has been kept when the second comes.
    form.evaluate(
        """form => {
            const type = (gallons) => {
                form.querySelector("[name=machine]").checked = true;
                const box = form.querySelector("[name=gallons]");
                box.value = gallons;
                box.dispatchEvent(new Event("input", { bubbles: true }));
            };
            const button = [...form.querySelectorAll("button:not([type=button])")].at(-1);
            type("22");
            form.requestSubmit(button);
            type("23");
            form.requestSubmit(button);
            form.noValidate = true;
            form.requestSubmit(button); // the second tap of one press
            form.noValidate = false;
        }"""
    )
    signal_comes_back(page)
    wait_until_all_is_sent(page)
    assert sorted(str(fill.gallons) for fill in FuelFill.objects.all()) == ["21.0", "22.0", "23.0"]
    assert FieldReport.objects.count() == 3


def test_where_the_phone_has_no_room_a_report_goes_out_as_a_plain_form(open_day: Opened) -> None:
    page = open_day()
    page.evaluate(
        "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('', 'QuotaExceededError'); } }"
    )
    fill_fuel(page, "31", "sin espacio")
    expect(page.locator("main")).to_contain_text("guardado")
    assert [(str(fill.gallons), fill.note) for fill in FuelFill.objects.all()] == [("31.0", "sin espacio")]


def test_an_answer_of_something_in_between_is_no_receipt(open_day: Opened) -> None:
    page = open_day()
    page.route(
        DOOR, lambda route: route.fulfill(status=200, content_type="text/html", body="<p>Welcome"), times=1
    )
    fill_fuel(page, "17")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    assert FuelFill.objects.count() == 0


def test_two_tabs_send_what_waits_once(open_day: Opened) -> None:
    page = open_day()
    page.context.set_offline(True)
    for gallons in range(20, 25):
        fill_fuel(page, str(gallons))
    expect(queue(page)).to_contain_text("5 reportes en espera")
    page.context.set_offline(False)
    other = page.context.new_page()
    other.goto(page.url)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(queue(other)).not_to_contain_text("en espera")
    wait_until_all_is_sent(page)
    assert FieldReport.objects.count() == FuelFill.objects.count() == 5


def test_what_waits_outlives_signing_out_and_is_not_sent_as_another_person(
    open_day: Opened, yard: Yard
) -> None:
    page = open_day(worker=True)
    origin = page.evaluate("location.origin")
    page.context.set_offline(True)
    fill_fuel(page, "31")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    page.evaluate("() => { window.fetch = () => Promise.reject(new Error('cut')); }")  # no signal to the last
    page.context.set_offline(False)
    page.locator("form[data-sign-out] button").click()
    page.wait_for_url("**/sign-in/**")
    page.goto("/farms/heron-slough/day/")
    assert "sign-in" in page.url  # no copy of the day is left to look at
    Membership.objects.filter(user__username="mona").update(role="hand", hand=make_hand(yard.farm, "odell"))
    other = signed_in("mona").cookies[settings.SESSION_COOKIE_NAME].value
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": other, "url": origin}])
    page.goto("/farms/heron-slough/day/")
    page.wait_for_timeout(1500)
    expect(queue(page)).to_be_hidden()
    assert FuelFill.objects.count() == 0
    mine = signed_in("rosa").cookies[settings.SESSION_COOKIE_NAME].value
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": mine, "url": origin}])
    page.goto("/farms/heron-slough/day/")
    expect(queue(page)).to_contain_text(KEPT)
    assert [fill.hand for fill in FuelFill.objects.all()] == [yard.hand]
