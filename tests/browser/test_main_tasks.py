"""What each person comes for, done from beginning to end: on a phone with a pointer, at a desk with the keys alone.

Pictures come to `build/screens`.
"""

import datetime as dt
import json
import uuid
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db.models import QuerySet
from playwright.sync_api import Page, expect
from pytest_django.fixtures import Settings

from farmops.desk import long_exports, morning
from farmops.farms.models import Field, Machine
from ledger.models import Bill, BudgetLine, PeriodMark, ShareOut
from ledger.services.posting import post_pending
from scheduling.models import (
    FieldPass,
    FieldReport,
    FuelFill,
    HourReading,
    OrderLaying,
    ParkedReport,
    ParkedState,
    PlanState,
    ReportPhoto,
    SaySo,
    WeekPlan,
    WorkDay,
    WorkRecord,
)
from scheduling.services.receiving import receive_report
from scheduling.services.work import record_hour_reading
from tests.browser.by_keyboard import Doer
from tests.browser.conftest import Hour, Opened
from tests.browser.test_day_page import open_all
from tests.browser.test_queue import KEPT, queue, signal_comes_back
from tests.factories import make_field, make_season
from tests.farmops.pages.conftest import MONDAY, Yard
from tests.ledger.makers import Place, make_bill, set_rates
from tests.scheduling import pictures
from tests.scheduling.ground import make_dry_spring
from tests.scheduling.weeks import made

pytestmark = pytest.mark.browser
FARM = "/farms/heron-slough/"
SCREENS = Path(__file__).resolve().parents[2] / "build" / "screens"
WORKING_OUT_MS = 60_000
WIDTHS = [390, 1280]
DESK = 1280


def screen(page: Page, task: str) -> None:
    """Keep a picture of how a task ended, for a person to look at; nothing of it runs off the screen."""
    SCREENS.mkdir(parents=True, exist_ok=True)
    width = page.viewport_size["width"] if page.viewport_size else 0
    page.screenshot(path=SCREENS / f"{task}-{width}.png", full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{task} is wider than {width}"


def square(west: float, name: str) -> dict[str, object]:
    """Return a field of about 40 acres, 400 m a side, of GeoJSON (RFC 7946: longitude first, counterclockwise)."""
    east, south, north = west + 0.0042, 31.6, 31.6036
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {
        "type": "Feature",
        "properties": {"name": name},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }


def wait_for(page: Page, rows: QuerySet[Any]) -> None:
    """Wait until the server has kept what the page sends: what the page says of the report before looks the same."""
    for _ in range(100):
        if rows.exists():
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"no {rows.model.__name__} was kept")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_hand_reads_the_day_and_reports_all_of_it(
    open_day: Opened, yard: Yard, settings: Settings, tmp_path: Path, width: int
) -> None:
    settings.PHOTO_DIR = str(tmp_path / "photos")
    page = open_day(width=width)
    do = Doer(page, by_keys=width == DESK)
    expect(page.locator("details.job > summary").first).to_contain_text("8:00 a.m.")
    expect(page.locator("main")).to_contain_text("Pond 40")
    screen(page, "hand-morning-sheet")

    work = page.locator("form[data-report=work]").first
    page.context.set_offline(True)
    if not do.by_keys:
        open_all(page)
    do.write(work.locator("[name=hours]"), "4.5")
    do.press(work.locator("button:not([type=button])").last)
    expect(queue(page)).to_contain_text("1 reporte en espera")
    assert not WorkRecord.objects.exists()
    screen(page, "hand-report-offline")
    signal_comes_back(page)
    expect(queue(page)).to_contain_text(KEPT)
    assert WorkRecord.objects.get().hand_min == 270
    screen(page, "hand-report")

    meter = page.locator("form[data-report=meter]")
    if not do.by_keys:
        open_all(page)
    do.tick(meter.locator("[name=machine]").first)
    do.write(meter.locator("[name=reading]"), "2412.5")
    do.press(meter.locator("button:not([type=button])").last)
    wait_for(page, HourReading.objects.all())
    expect(queue(page)).not_to_contain_text("en espera")
    assert str(HourReading.objects.get(reading_h="2412.5").machine) == str(Machine.objects.get())
    screen(page, "hand-meter")

    photo = tmp_path / "tire.jpg"
    photo.write_bytes(pictures.picture())
    flat = page.locator("form[data-report=incident]").last
    do.tick(flat.locator("[name=kind]").first)
    do.write(flat.locator("[name=note]"), "clavo")
    flat.locator("[name=photos]").set_input_files(photo)
    do.press(flat.locator("button:not([type=button])").last)
    wait_for(page, ReportPhoto.objects.all())
    expect(queue(page)).not_to_contain_text("en espera")
    assert ReportPhoto.objects.get().incident.note == "clavo"
    screen(page, "hand-incident")

    hours = page.locator("form[data-report=day]")
    do.write(hours.locator("[name=starts]"), "07:00", keys="0700AM")
    do.write(hours.locator("[name=ends]"), "17:30", keys="0530PM")
    do.press(hours.locator("button:not([type=button])").last)
    wait_for(page, WorkDay.objects.all())
    expect(queue(page)).not_to_contain_text("en espera")
    assert WorkDay.objects.get().hand == yard.hand
    screen(page, "hand-hours")
    assert FieldReport.objects.count() == 4


@pytest.mark.parametrize("width", WIDTHS)
def test_the_bookkeeper_takes_a_month_from_the_first_bill_to_the_file(
    open_day: Opened, yard: Yard, hour: Hour, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    hour.at = MONDAY + dt.timedelta(days=14, hours=12)
    set_rates(yard.farm)
    make_season(make_field(yard.farm, "slip-10", planted_ac=10))
    make_bill(Place(yard.farm, yard.field_pass.season, yard.field_pass, None, None, yard.hand), "40.00")  # type: ignore[arg-type]
    page = open_day("bo", width=width)
    do = Doer(page, by_keys=width == DESK)

    page.goto(f"{FARM}bills/")
    page.keyboard.type("Plain Mutual")
    for text in ("A-1", "4/18", "100.01"):
        page.keyboard.press("Tab")
        page.keyboard.type(text)
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("ins")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("[role=status]")
    bill = Bill.objects.get(number="A-1")
    assert (bill.cents, bill.category) == (10_001, "insurance")
    screen(page, "bookkeeper-bill")
    post_pending(farm=yard.farm, now=hour.at)

    do.open(f"{FARM}share-outs/")
    do.choose(page.locator("[name=pool]"), "overhead")
    do.choose(page.locator("[name=shared_by]"), "acres")
    do.write(page.locator("[name=crop_year]"), "2026")
    do.write(page.locator("[name=first_on]"), "2026-01-01", keys="01012026")
    do.write(page.locator("[name=last_on]"), "2026-04-30", keys="04302026")
    do.write(page.locator("[name=why]"), "end of April")
    do.press(page.get_by_role("button", name="Look first"))
    expect(page.locator("main")).to_contain_text("80.00 %")
    assert not ShareOut.objects.exists()
    screen(page, "bookkeeper-share-out")
    do.press(page.get_by_role("button", name="Share it out"))
    expect(page.locator("main")).to_contain_text("went to two seasons by acres")
    assert ShareOut.objects.get().why == "end of April"

    do.open(f"{FARM}periods/")
    expect(page.locator("main")).to_contain_text("Before April 2026 closes")
    screen(page, "bookkeeper-close-list")
    do.press(page.get_by_role("button", name="Close April 2026"))
    expect(page.locator("main")).to_contain_text("April 2026 is closed")
    assert PeriodMark.objects.count() == 1

    monkeypatch.setattr(long_exports, "MOST_AT_ONCE", -1)
    do.open(f"{FARM}exports/")
    do.press(page.get_by_role("button", name="Have it written: ").last)
    page.wait_for_url("**/long-work/*/")
    expect(page.locator("main")).to_contain_text("written")
    screen(page, "bookkeeper-export")
    with page.expect_download() as got:
        do.press(page.locator("main a[href$='/file/']").first)
    assert got.value.path().stat().st_size > 100

    do.open(f"{FARM}budgets/")
    do.choose(page.locator("[name=category]"), "tires")
    do.write(page.locator("[name=usd_per_ac]"), "20")
    do.press(page.get_by_role("button", name="Keep the budget"))
    expect(page.locator("main")).to_contain_text("20")
    assert BudgetLine.objects.get(category="tires").cents_per_ac == 2000
    screen(page, "bookkeeper-budget")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_manager_goes_from_the_morning_word_to_what_waits(
    open_day: Opened, yard: Yard, hour: Hour, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setattr(morning, "SHORT_SECONDS", 1.0)
    hour.at = MONDAY + dt.timedelta(hours=6)
    make_dry_spring(yard.farm)
    made(yard.farm, now=hour.at, as_of=MONDAY.date())
    page = open_day("mona", width=width)
    do = Doer(page, by_keys=width == DESK)

    do.open(f"{FARM}morning/")
    do.tick(page.locator("form.round input[type=radio][name^=word-][value=fit]").first)
    do.press(page.get_by_role("button", name="Keep it all and plan again"))
    page.wait_for_url("**/week/**", timeout=WORKING_OUT_MS)
    assert SaySo.objects.get().word == "fit"
    plan = WeekPlan.objects.latest("number")
    assert plan.number == 3
    expect(page.locator("main")).to_contain_text("Plan 3 is made. Read it, then send it.")
    screen(page, "manager-morning")

    way = page.get_by_role("link", name="move disk on Pond 40", exact=True).locator("visible=true").first
    do.open(str(way.get_attribute("href")))  # at a desk a click picks the pass up; the form stands behind it
    do.write(page.get_by_label("Begins on"), "2026-04-22", keys="04222026")
    do.press(page.get_by_role("button", name="What would it cost?"))
    keep = page.get_by_role("button", name="Keep it there")
    expect(keep).to_be_visible(timeout=WORKING_OUT_MS)
    screen(page, "manager-move")
    do.press(keep)
    page.wait_for_url("**/week/?plan=4", timeout=WORKING_OUT_MS)
    fixed = FieldPass.objects.get(pk=yard.field_pass.pk).fixed_from
    assert fixed is not None
    assert fixed.astimezone(MONDAY.tzinfo).date() == dt.date(2026, 4, 22)
    do.press(page.locator("main .act a.button"))
    page.wait_for_url("**/people/")
    screen(page, "manager-send")
    do.press(page.locator("main form[action$='/send/'] button").first)
    expect(page.locator("main")).to_contain_text("Plan 4 is sent")
    assert WeekPlan.objects.get(number=4).state == PlanState.SENT

    do.open(f"{FARM}start/boundaries/")
    fields = [square(-83.54, "River Forty"), square(-83.55, "Mill Forty")]
    content = json.dumps({"type": "FeatureCollection", "features": fields}).encode()
    page.set_input_files(
        "[name=file]", {"name": "new.geojson", "mimeType": "application/geo+json", "buffer": content}
    )
    do.press(page.get_by_role("button", name="Look at the file"))
    expect(page.get_by_label("name of field 1")).to_have_value("River Forty")
    assert Field.objects.count() == 1
    screen(page, "manager-boundaries")
    do.choose(page.locator("[name=texture]"), "sandy_loam")
    do.press(page.locator("button[name=then][value=keep]"))
    page.wait_for_url("**/start/fields/**")
    river = Field.objects.get(name="River Forty")
    assert 38 < river.planted_ac < 41
    assert Field.objects.count() == 3

    season = make_season(river, area_ac=river.planted_ac)
    do.open(f"{FARM}orders/")
    do.press(page.locator("form:has([name=key][value=cotton-disk-and-bed]) button"))
    page.wait_for_url("**/orders/of/**")
    do.open(page.url.split("?")[0] + "lay/?year=2026")
    do.tick(page.locator(f"[name=season][value='{season.pk}']"))
    do.press(page.get_by_role("button", name="Look at the passes"))
    page.wait_for_selector("#preview")
    do.press(page.get_by_role("button", name="Lay out all of it"))
    expect(page.locator("main")).to_contain_text("Laid out. The passes wait for the next plan.")
    assert FieldPass.objects.filter(season=season).count() > 3
    assert OrderLaying.objects.count() == 1
    screen(page, "manager-order")

    tractor = Machine.objects.get()
    record_hour_reading(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        machine=tractor,
        reading_h=Decimal(2401),
        read_at=MONDAY,
        read_by=yard.hand,
        now=hour.at,
    )
    receive_report(
        farm=yard.farm,
        hand=yard.hand,
        kind="fuel",
        body={"machine": tractor.code, "gallons": "50", "meter": "9000"},
        client_id=uuid.uuid4(),
        sent_by=None,
        now=hour.at,
    )
    assert ParkedReport.objects.get().state == ParkedState.WAITING
    do.open(f"{FARM}waiting/")
    screen(page, "manager-waiting")
    do.write(page.locator("form[action$='/take/'] [name=value-meter]"), "2405")  # the hand read another clock
    do.press(page.locator("form[action$='/take/'] button").first)
    expect(page.locator("main")).to_contain_text("No report waits for you.")
    assert ParkedReport.objects.get().state != ParkedState.WAITING
    assert FuelFill.objects.get().gallons == 50
    screen(page, "manager-settled")
