"""A farm from nothing, by the keys alone: from signing in to a service without farms to the first plan that is sent.

Outside: WCAG 2.2 success criterion 2.1.1 (all is done by keys). Files are chosen in the browser's own window, which a key opens.
"""

import datetime as dt
import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from pytest_django.live_server_helper import LiveServer

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Membership, Pivot, Season
from farmops.weather.models import DailyWeather
from ledger.models import Rate
from scheduling.models import FieldPass, PlanState, WeekPlan
from tests.browser.by_keyboard import Doer
from tests.browser.conftest import Hour, wait_for_the_last_answers
from tests.browser.test_main_tasks import WORKING_OUT_MS, screen, square
from tests.factories import make_farm, make_field, make_hand
from tests.farmops.pages.conftest import MONDAY

pytestmark = pytest.mark.browser
PASSWORD = "nine plain herons wade"
BOUNDARIES = {
    "type": "FeatureCollection",
    "features": [square(-83.54, "River Forty"), square(-83.55, "Mill Forty")],
}
WEATHER = "date,temp_min_f,temp_max_f,rain_in\n" + "".join(
    f"{MONDAY.date() - dt.timedelta(days=back)},55,80,0\n" for back in range(100, 0, -1)
)
ROWS = {
    "machines": "name,power_hp,meter_start_h\nbig tractor,250,2104.6",
    "implements": "name,does,width_ft,speed_min_mph,speed_mph,speed_max_mph,efficiency_pct,power_needed_hp\n"
    "disk,disk,28,4,5,6,80,175",
    "pumps": "name,flow_gpm\nriver pump,900",
    "pivots": "field,pump,name,last_tower_radius_ft,walk_ft_per_min,tower_count,parking_angle_deg\n"
    "Pond 40,river pump,north pivot,640,9.2,5,45",
    "hands": "name,may_do,days,from,to\nJose Prado,disk,mon-sat,7:00,6 pm",
}


@pytest.fixture
def page(transactional_db: None, browser: Browser, live_server: LiveServer, hour: Hour) -> Iterator[Page]:
    hour.at = MONDAY + dt.timedelta(hours=6)
    context = browser.new_context(
        viewport={"width": 1280, "height": 844},
        base_url=live_server.url,
        timezone_id="America/New_York",
        service_workers="block",
    )
    context.clock.set_fixed_time(hour.at)
    yield context.new_page()
    context.close()
    wait_for_the_last_answers()


def choose_file(do: Doer, box: Locator, name: str, content: str) -> None:
    with do.page.expect_file_chooser() as chooser:
        do.press(box)
    chooser.value.set_files(
        {"name": name, "mimeType": "application/octet-stream", "buffer": content.encode()}
    )


def sign_in(do: Doer, name: str) -> None:
    do.page.goto("/sign-in/")
    expect(do.page.locator("[name=username]")).to_be_focused()
    do.page.keyboard.type(name)
    do.write(do.page.locator("[name=password]"), PASSWORD)
    do.page.keyboard.press("Enter")
    do.page.wait_for_selector("[data-sign-out]")


def go_on(do: Doer, step: str) -> None:
    """Follow the page's own way to what comes next, which is that step, and pass over the head of its page."""
    link = do.page.locator("main a.button")
    expect(link).to_have_text(f"Go on: {step}")
    address = str(link.get_attribute("href"))
    do.press(link)
    do.page.wait_for_url(f"**{address}")


def test_a_farm_comes_to_its_first_plan_by_the_keys_alone(page: Page) -> None:
    User.objects.create_superuser("ada", password=PASSWORD)
    do = Doer(page, by_keys=True)
    sign_in(do, "ada")
    do.press(page.get_by_role("link", name="Begin the farm"))

    page.wait_for_url("**/start/")
    do.write(page.locator("[name=name]"), "Heron Slough")
    do.press(page.get_by_role("button", name="Begin the farm"))
    expect(page.locator("main [role=alert]").first).to_be_visible()
    expect(page.locator("[name=zone]")).to_be_focused()
    page.keyboard.press("Home")
    page.keyboard.type("Eastern")
    do.write(page.locator("[name=place]"), "31.6, -83.54")
    do.write(page.locator("[name=elevation_ft]"), "300")
    do.press(page.get_by_role("button", name="Begin the farm"))
    page.wait_for_url("**/farms/heron-slough/start/")
    assert Farm.objects.get().zone == "America/New_York"
    start = page.url

    go_on(do, "The boundaries of the fields")
    choose_file(do, page.locator("[name=file]"), "new.geojson", json.dumps(BOUNDARIES))
    do.press(page.get_by_role("button", name="Look at the file"))
    do.write(page.get_by_label("name of field 2"), "Mill")
    do.choose(page.locator("[name=texture]"), "sandy_loam")
    do.press(page.locator("button[name=then][value=keep]"))
    page.wait_for_url("**/start/fields/**")
    river, mill = Field.objects.get(name="River Forty"), Field.objects.get(name="Mill")

    for field in (river, mill):
        do.choose(page.locator(f"[name=crop-{field.pk}]"), "cotton")
    do.choose(page.locator(f"[name=texture-{mill.pk}]"), "loamy_sand")
    do.press(page.get_by_role("button", name="Keep it"))
    page.wait_for_url(start)
    assert Season.objects.filter(crop="cotton", crop_year=2026).count() == 2
    assert mill.zones.get().texture == "loamy_sand"

    go_on(do, "Machines")
    for kind, table, then in (
        ("machines", Machine, f"{start}implements/"),
        ("implements", Implement, f"{start}hands/"),
        ("hands", Hand, start),
    ):
        do.write(page.locator("textarea[name=rows]:not([hidden])"), ROWS[kind])
        do.press(page.get_by_role("button", name="Look at the rows"))
        do.press(page.get_by_role("button", name="Keep them"))
        page.wait_for_url(then)
        assert table._default_manager.count() == 1

    go_on(do, "The weather of the last months")
    choose_file(do, page.locator("[name=file]"), "w.csv", WEATHER)
    do.press(page.get_by_role("button", name="Read it"))
    page.wait_for_url(start)
    assert DailyWeather.objects.count() == 100

    go_on(do, "Orders of work, with their planting windows")
    do.press(page.locator("form:has([name=key][value=cotton-disk-and-bed]) button"))
    page.wait_for_url("**/orders/of/**")
    do.press(page.locator("main a[href*='/lay/']").first)
    page.wait_for_url("**/lay/**")
    for season in Season.objects.all():
        do.tick(page.locator(f"[name=season][value='{season.pk}']"))
    do.press(page.get_by_role("button", name="Look at the passes"))
    page.wait_for_selector("#preview")
    do.press(page.get_by_role("button", name="Lay out all of it"))
    expect(page.locator("main")).to_contain_text("The passes wait for the next plan.")
    assert FieldPass.objects.filter(operation="disk").count() == 4, (
        "old stalks, and once more before the beds"
    )

    do.open(start)
    go_on(do, "The first plan of a week")
    do.write(page.locator("[name=first_on]"), "2026-04-20", keys="04202026")
    do.press(page.locator("#plan-again button"))
    page.wait_for_url("**/week/?plan=1", timeout=WORKING_OUT_MS)
    screen(page, "first-run-plan")
    do.press(page.locator("main .act a.button"))
    page.wait_for_url("**/people/")
    do.press(page.locator("main form[action$='/send/'] button").first)
    expect(page.locator("main")).to_contain_text("Plan 1 is sent")
    plan = WeekPlan.objects.get()
    assert plan.state == PlanState.SENT
    assert set(plan.tasks.values_list("operation", flat=True)) == {"disk"}
    do.open(start)
    expect(page.locator("h1")).to_have_text("The farm is set up: all that a plan needs is there.")


def test_what_can_wait_is_entered_and_a_bookkeeper_comes_in_by_the_keys_alone(page: Page) -> None:
    farm, ada = make_farm(), User.objects.create_superuser("ada", password=PASSWORD)
    Membership.objects.create(farm=farm, user=ada, role="manager")
    make_field(farm, "pond-40")
    make_hand(farm, "jose", name="Jose")
    do = Doer(page, by_keys=True)
    sign_in(do, "ada")
    start = f"/farms/{farm.code}/start/"

    do.open(start)
    do.press(page.get_by_role("link", name="Pumps and pivots"))
    for kind in ("pumps", "pivots"):
        page.wait_for_url(f"**{start}{kind}/")
        do.write(page.locator("textarea[name=rows]:not([hidden])"), ROWS[kind])
        do.press(page.get_by_role("button", name="Look at the rows"))
        do.press(page.get_by_role("button", name="Keep them"))
    page.wait_for_url(f"**{start}")
    assert Pivot.objects.get().pump.name == "river pump"

    do.press(page.get_by_role("link", name="Wages and prices"))
    do.write(
        page.locator("textarea[name=rows]"),
        f"kind,subject,unit,usd_per_unit,valid_from\nwage,jose,h,17.25,{MONDAY.date()}",
    )
    do.press(page.get_by_role("button", name="Keep them"))
    page.wait_for_url(f"**{start}")
    assert Rate.objects.get().hand == Hand.objects.get()

    do.press(page.get_by_role("link", name="Others who sign in"))
    do.write(page.locator("[name=name]"), "Bo")
    do.write(page.locator("[name=username]"), "bo")
    do.tick(page.locator("[name=roles][value=bookkeeper]"))
    do.press(page.get_by_role("button", name="Take on"))
    do.press(page.get_by_role("button", name="Make the link for Bo"))
    address = page.get_by_label("Address to hand over").input_value()
    do.press(page.get_by_role("button", name="Sign out"))
    page.wait_for_url("**/sign-in/**")

    do.open(address)
    do.write(page.locator("#id_new_password1"), "short")
    do.write(page.locator("#id_new_password2"), "short")
    page.keyboard.press("Enter")
    expect(page.locator("#wrong-both")).to_be_visible()
    expect(page.locator("#id_new_password1")).to_be_focused()
    page.keyboard.type(PASSWORD)
    do.write(page.locator("#id_new_password2"), PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sign-in/**")
    sign_in(do, "bo")
    page.wait_for_url(f"**/farms/{farm.code}/costs/**")
    screen(page, "first-run-bookkeeper")
