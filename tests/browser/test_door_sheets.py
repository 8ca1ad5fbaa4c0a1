"""The sheets for the shop door as they come out of the printer."""

import datetime as dt
import io
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from pytest_django.fixtures import Settings

from farmops.farms.models import Hand
from scheduling.models import FieldPass, PlannedTask
from tests.browser.by_keyboard import tab_to
from tests.browser.conftest import Hour, Opened, follow
from tests.factories import make_field, make_pass, make_season
from tests.farmops.digests.planned import add_to_documents
from tests.farmops.pages.conftest import MONDAY, Yard

pytestmark = pytest.mark.browser
DOOR = "/farms/heron-slough/mail/door/"
LETTER_PT = (612, 792)


@pytest.fixture(autouse=True)
def _reachable(settings: Settings, hour: Hour) -> None:
    settings.SITE_ADDRESS = "https://farm.example.org"
    hour.at = MONDAY + dt.timedelta(hours=4)


def more_work(yard: Yard, count: int) -> None:
    """Give the hand that many tasks on Monday, one after the other."""
    first = PlannedTask.objects.get(plan=yard.plan)
    for number in range(1, count):
        field = make_field(
            yard.farm, f"long-named-bottom-field-{number}", entrance="chain gate on the dirt road"
        )
        one: FieldPass = make_pass(make_season(field))
        begins = first.ends_at + dt.timedelta(minutes=20 * number)
        task = PlannedTask.objects.create(
            farm=yard.farm,
            plan=yard.plan,
            hand=first.hand,
            field_pass=one,
            task_key=f"extra-{number}",
            field=field,
            operation="disk",
            area_ac=10,
            mode=first.mode,
            starts_at=begins,
            ends_at=begins + dt.timedelta(minutes=15),
            work_min=15,
            machine=first.machine,
            implement=first.implement,
        )
        add_to_documents(yard.plan, task)


def at_the_door(open_day: Opened) -> Page:
    page = open_day("mona")
    page.goto(DOOR)
    return page


def printed(page: Page) -> PdfReader:
    return PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))


def more_said(count: int, language: str) -> str:
    if language == "es":
        return f"Hay {count} trabajo{'s' if count > 1 else ''} más en su página."
    return f"{count} more {'tasks are' if count > 1 else 'task is'} on your page."


def smallest_pt(page: Page) -> float:
    """Return the smallest type on a hand's sheet as it prints, in points, but for the cautions, which are read up close."""
    page.emulate_media(media="print")
    sizes_px = page.evaluate(
        "[...document.querySelectorAll('section.door:not(.all) *')]"
        ".filter(one => !one.closest('.cautions, svg')).map(one => parseFloat(getComputedStyle(one).fontSize))"
    )
    return round(min(sizes_px) * 0.75, 1)


@pytest.mark.parametrize(("count", "language"), [(1, "en"), (6, "es"), (14, "en")])
def test_each_hands_sheet_is_one_sheet_of_letter_paper(
    yard: Yard, open_day: Opened, count: int, language: str
) -> None:
    Hand.objects.update(language=language)
    more_work(yard, count)
    page = at_the_door(open_day)
    follow(page.locator("form[action$='/print/'] button"))
    shown = page.locator("section.door:not(.all) .far li").count()
    assert min(count, 5) <= shown <= count
    more = page.locator("section.door:not(.all) > p:not(.foot) > b")
    assert more.all_inner_texts() == ([] if shown == count else [more_said(count - shown, language)])
    pdf = printed(page)
    assert smallest_pt(page) >= 18
    sides = {tuple(round(float(side)) for side in one.mediabox[2:]) for one in pdf.pages}
    assert sides == {LETTER_PT}
    assert count > 6 or len(pdf.pages) == 2
    last = "".join(pdf.pages[-1].extract_text().split()).casefold()
    assert last.startswith(page.locator(".door:not(.all) h2").inner_text().casefold())
    code = page.locator(".signs").inner_text()
    words = " ".join(pdf.pages[-1].extract_text().split())
    assert code in words
    assert words.count("555-") == 1
    assert all(code not in one.extract_text() for one in pdf.pages[:-1])


def test_the_picture_on_the_page_is_read_by_a_camera(yard: Yard, open_day: Opened, tmp_path: Path) -> None:
    page = at_the_door(open_day)
    follow(page.locator("form[action$='/print/'] button"))
    code = page.locator(".signs").inner_text().replace("-", "")
    picture = Image.open(io.BytesIO(page.locator(".picture").screenshot()))
    [found] = zxingcpp.read_barcodes(picture)
    assert found.text == f"https://farm.example.org/c/{code}/"


@pytest.mark.parametrize("width_px", [390, 1280])
def test_nothing_of_it_is_wider_than_the_screen(yard: Yard, open_day: Opened, width_px: int) -> None:
    more_work(yard, 3)
    page = at_the_door(open_day)
    follow(page.locator("form[action$='/print/'] button"))
    page.set_viewport_size({"width": width_px, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width_px
    page.locator("main summary").first.click()
    copy = page.locator("[data-copy]").first
    tab_to(page, copy)
    page.keyboard.press("Enter")
    expect(copy).to_have_text("Copied")
    expect(copy).to_be_focused()
