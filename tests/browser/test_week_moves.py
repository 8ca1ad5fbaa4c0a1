"""The week as it is moved in a browser: by keyboard alone, with a pointer, and while somebody else changes it."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect

from farmops.core.models import User
from farmops.farms.models import Farm, Membership
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.services.fixing import fix_pass
from tests.browser.by_keyboard import skip_to_the_page, tab_to
from tests.browser.conftest import Hour, Opened, picture
from tests.browser.test_day_page import RULES
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

pytestmark = pytest.mark.browser
WEEK = "/farms/heron-slough/week/"
SIX = MONDAY + dt.timedelta(hours=6)
WORKING_OUT_MS = 60_000


@pytest.fixture
def yard(transactional_db: None, hour: Hour) -> Farm:
    """A farm with two tractors, one disk and two hands, two fields to disk and a plan for them; Monday, 6 am."""
    hour.at = SIX
    farm = working_farm()
    for name in ("mona", "moe"):
        Membership.objects.create(
            farm=farm, user=User.objects.create_user(name, password="x" * 12), role="manager"
        )
    for code in ("pond-40", "hill-20"):
        season = make_season(make_field(farm, code), area_ac=Decimal("70"))
        due = {"due_on": MONDAY.date() + dt.timedelta(days=1), "late_cents_per_day": 4_000}
        make_pass(season, "disk", area_ac=Decimal("70"), leave_cents=90_000, **due)
    made(farm, now=SIX, as_of=MONDAY.date(), rounds=20)
    return farm


@pytest.fixture
def open_week(open_day: Opened) -> Callable[..., Page]:
    def opened(**how: int | bool) -> Page:
        page = open_day("mona", **{"width": 1280, **how})
        page.goto(WEEK)
        return page

    return opened


def disk_of(code: str) -> FieldPass:
    return FieldPass.objects.get(season__field__code=code)


def task_of(code: str) -> PlannedTask:
    return PlannedTask.objects.get(plan__number=1, field__code=code)


def mover(page: Page, field: str) -> Locator:
    return page.get_by_role("link", name=f"move disk on {field}", exact=True).locator("visible=true")


def breaks(page: Page) -> list[str]:
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": RULES}})
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found.response["violations"]]


def test_a_pass_is_moved_and_the_move_undone_by_keyboard_alone(open_week: Callable[..., Page]) -> None:
    page = open_week()
    was = task_of("pond-40").starts_at.astimezone(MONDAY.tzinfo)
    said = page.locator("#said")
    skip_to_the_page(page)
    tab_to(page, mover(page, "Pond 40"))
    page.keyboard.press("Space")
    expect(said).to_contain_text("disk on Pond 40 is picked up: Mon Apr 20")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Escape")
    expect(said).to_have_text("disk on Pond 40 is back where it was.")
    expect(mover(page, "Pond 40")).to_be_focused()

    page.route("**/move/*/?outfit=*", lambda asked: asked.abort(), times=1)
    for key in ("Space", "Shift+ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(said).to_have_text("Nothing was heard from the farm. Try it again.")
    expect(mover(page, "Pond 40")).to_be_focused()

    page.keyboard.press("Space")
    for key in ("Shift+ArrowRight", "Shift+ArrowRight", "Shift+ArrowRight", "ArrowRight"):
        page.keyboard.press(key)
    expect(said).to_contain_text("Thu Apr 23")
    page.keyboard.press("Enter")
    asked = page.locator("#asked")
    expect(asked.get_by_role("heading").first).to_be_focused(timeout=WORKING_OUT_MS)
    expect(said).to_contain_text(" more: ")
    tab_to(page, page.get_by_role("link", name="Leave it where it is"))
    page.keyboard.press("Enter")
    expect(asked).to_be_empty()
    expect(mover(page, "Pond 40")).to_be_focused()

    for key in ("Space", "Shift+ArrowRight", "Shift+ArrowRight", "Shift+ArrowRight", "ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(asked.get_by_role("heading").first).to_be_focused(timeout=WORKING_OUT_MS)
    assert disk_of("pond-40").fixed_from is None, "asking keeps nothing"
    assert breaks(page) == []
    picture(page, "week-move-priced-1280")
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Keep it there")).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url("**/week/?plan=2", timeout=WORKING_OUT_MS)
    there = was + dt.timedelta(days=3, hours=1)
    assert disk_of("pond-40").fixed_from == there
    assert PlannedTask.objects.get(plan__number=2, field__code="pond-40").starts_at == there
    expect(page.locator("main")).to_contain_text("Plan 2 has it so: read it, then send it.")

    undo = page.get_by_role("button", name="Undo the move: go back to plan 1")
    tab_to(page, undo)
    page.keyboard.press("Enter")
    page.wait_for_url("**/week/?plan=3")
    assert disk_of("pond-40").fixed_from is None
    assert WeekPlan.objects.get(number=3).plan == WeekPlan.objects.get(number=1).plan


def test_a_pass_is_dragged_to_another_day_and_priced_before_it_is_kept(
    open_week: Callable[..., Page],
) -> None:
    page = open_week()
    was = task_of("pond-40").starts_at.astimezone(MONDAY.tzinfo)
    cell = page.locator(f".cell[data-pass='{disk_of('pond-40').pk}']")
    column = cell.locator("xpath=ancestor::td")
    cell.scroll_into_view_if_needed()
    box, wide = cell.locator(".strip").bounding_box(), column.bounding_box()
    assert box is not None
    assert wide is not None
    x, y = box["x"] + box["width"] / 4, box["y"] + box["height"] / 2

    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 3)
    expect(page.locator(".ghost")).to_be_visible()
    page.mouse.move(5, 5, steps=4)
    page.mouse.up()
    expect(page.locator("#said")).to_have_text("disk on Pond 40 is back where it was.")
    expect(page.locator("#asked")).to_be_empty()

    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 3)
    expect(page.locator(".ghost")).to_be_visible()
    page.mouse.move(x + 2 * wide["width"], y, steps=8)
    expect(page.locator(".ghost")).to_contain_text("Wed Apr 22")
    picture(page, "week-dragged-1280")
    page.mouse.up()
    expect(page.locator("#asked").get_by_role("heading").first).to_be_focused(timeout=WORKING_OUT_MS)
    page.get_by_role("button", name="Keep it there").click()
    page.wait_for_url("**/week/?plan=2", timeout=WORKING_OUT_MS)
    moved = disk_of("pond-40").fixed_from
    assert moved is not None
    half_hour = dt.timedelta(minutes=30)
    assert abs(moved - (was + dt.timedelta(days=2))) <= half_hour, (
        "the same hour, two days on, to the half hour"
    )


def test_who_moves_in_a_week_that_another_changed_meets_both_versions(
    open_week: Callable[..., Page], yard: Farm
) -> None:
    page = open_week()
    mover(page, "Pond 40").focus()
    page.keyboard.press("Space")
    expect(page.locator("#said")).to_contain_text("is picked up")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Keep it there")).to_be_visible(timeout=WORKING_OUT_MS)

    friday = MONDAY + dt.timedelta(days=4, hours=9)
    fix_pass(field_pass=disk_of("hill-20"), starts_at=friday, not_before=SIX, as_of=MONDAY.date())
    with page.expect_response(lambda answer: answer.request.method == "POST") as answered:
        page.get_by_role("button", name="Keep it there").click()
    assert answered.value.status == 412
    assert answered.value.request.headers["if-match"].strip('"')
    asked = page.locator("#asked")
    expect(asked).to_contain_text("Nothing of yours is kept yet.")
    expect(asked.get_by_role("heading").first).to_be_focused()
    expect(asked).to_contain_text("Your move")
    expect(asked).to_contain_text("The week now")
    expect(asked).to_contain_text("Disk on Hill 20: Friday, April 24, 9:00 am")
    assert disk_of("pond-40").fixed_from is None
    assert WeekPlan.objects.count() == 1
    assert breaks(page) == []
    picture(page, "week-both-versions-1280")

    page.get_by_role("link", name="Try my move in plan 1").click()
    page.get_by_role("button", name="Keep it there").click()
    page.wait_for_url("**/week/?plan=2", timeout=WORKING_OUT_MS)
    assert disk_of("pond-40").fixed_from is not None


def test_on_a_phone_the_week_is_a_list_by_day_whose_passes_move_by_a_form(
    open_week: Callable[..., Page],
) -> None:
    page = open_week(width=390, dark=True)
    expect(page.locator(".board")).to_be_hidden()
    days = page.locator(".week-list h2")
    expect(days.first).to_have_text("Mon Apr 20")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert breaks(page) == []
    picture(page, "week-list-390")
    mover(page, "Pond 40").click()
    page.get_by_label("Begins on").fill("2026-04-22")
    page.get_by_role("button", name="What would it cost?").click()
    expect(page.get_by_role("button", name="Keep it there")).to_be_visible(timeout=WORKING_OUT_MS)
    assert breaks(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    picture(page, "week-move-390")
