"""A report that was not taken is put right: nothing of it is lost on the way, nor moved to another day."""

import datetime as dt
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pytest_django.fixtures import Settings

from farmops.pages import day_page
from scheduling.models import FuelFill, Incident, ReportPhoto
from tests.browser.conftest import Hour, Opened, fill_fuel
from tests.browser.test_queue import DOOR, KEPT, queue, wait_until, wait_until_all_is_sent
from tests.farmops.pages.conftest import MONDAY
from tests.scheduling import pictures

pytestmark = pytest.mark.browser


def refuse_once(page: Page) -> None:
    page.route(
        DOOR,
        lambda route: route.fulfill(
            status=422, content_type="application/problem+json", body='{"detail": "Diga cuánto."}'
        ),
        times=1,
    )


def send_form(page: Page, kind: str) -> None:
    page.locator(f"form[data-report={kind}]").last.locator("button:not([type=button])").last.click()


def test_what_is_being_put_right_waits_until_it_is_sent_again(open_day: Opened) -> None:
    page = open_day()
    refuse_once(page)
    fill_fuel(page, "24")
    expect(queue(page)).to_contain_text("Diga cuánto.")
    page.get_by_role("button", name="Corregir").click()
    page.reload()  # the telephone rang in the middle of it
    expect(queue(page)).to_contain_text("Diga cuánto.")
    page.get_by_role("button", name="Corregir").click()
    page.locator("form[data-report=fuel] [name=gallons]").fill("24.5")
    send_form(page, "fuel")
    expect(queue(page)).to_contain_text(KEPT)
    wait_until_all_is_sent(page)
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["24.5"]


def test_what_is_put_right_a_day_later_is_of_its_own_day(open_day: Opened, hour: Hour) -> None:
    page = open_day()
    refuse_once(page)
    fill_fuel(page, "25")
    expect(queue(page)).to_contain_text("Diga cuánto.")
    hour.at += dt.timedelta(days=1)
    page.context.clock.set_fixed_time(hour.at)
    page.goto("/farms/heron-slough/day/?day=2026-04-21")
    page.get_by_role("button", name="Corregir").click()
    send_form(page, "fuel")
    wait_until_all_is_sent(page)
    assert FuelFill.objects.get().filled_at == MONDAY + dt.timedelta(hours=19)
    fill_fuel(page, "26")
    wait_until_all_is_sent(page)
    assert FuelFill.objects.get(gallons=26).filled_at == hour.at


def test_the_photo_of_what_is_put_right_goes_along(
    open_day: Opened, settings: Settings, tmp_path: Path
) -> None:
    settings.PHOTO_DIR = tmp_path
    page = open_day()
    refuse_once(page)
    form = page.locator("form[data-report=incident]").last
    form.evaluate(
        "form => { for (let at = form; at; at = at.parentElement) if (at.tagName === 'DETAILS') at.open = true }"
    )
    form.locator("[name=kind]").first.check()
    form.locator("[name=photos]").set_input_files(
        {"name": "tire.jpg", "mimeType": "image/jpeg", "buffer": pictures.picture()}
    )
    send_form(page, "incident")
    expect(queue(page)).to_contain_text("Diga cuánto.")
    page.get_by_role("button", name="Corregir").click()
    send_form(page, "incident")
    wait_until_all_is_sent(page)
    assert (Incident.objects.count(), ReportPhoto.objects.count()) == (1, 1)


def test_a_farm_that_stumbles_over_the_page_leaves_the_hand_the_last_one(
    open_day: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = open_day(worker=True)
    wait_until(
        page, "() => caches.open('day-pages').then((all) => all.keys()).then((keys) => keys.length > 0)"
    )

    def stumble(**facts: object) -> None:
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(day_page, "day_facts", stumble)
    page.reload()
    assert page.locator("form[data-report]").count() > 3
