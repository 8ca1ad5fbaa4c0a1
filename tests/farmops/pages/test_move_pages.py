"""Moving a pass by the plain form, what goes to whom, and the board with fields or hands down its side."""

import datetime as dt
import re
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Farm, Hand, Membership
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.selectors.versions import week_version
from scheduling.services.planning import send_plan
from tests.factories import make_field, make_pass, make_season
from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

WEEK = "/farms/heron-slough/week/"
SIX = MONDAY + dt.timedelta(hours=6)


@pytest.fixture
def farm(db: None, monkeypatch: pytest.MonkeyPatch) -> Farm:
    """A farm with a plan for two fields to disk, one disk and two hands; Monday, 6 am."""
    monkeypatch.setattr(clock, "now", lambda: SIX)
    farm = working_farm()
    Hand.objects.filter(code="teo").update(email="teo@example.org", language="es")
    user = User.objects.create_user("mona", password="x" * 12, language="en")
    Membership.objects.create(farm=farm, user=user, role="manager")
    for code in ("pond-40", "hill-20"):
        season = make_season(make_field(farm, code), area_ac=Decimal("70"))
        due = {"due_on": MONDAY.date() + dt.timedelta(days=1), "late_cents_per_day": 4_000}
        make_pass(season, "disk", area_ac=Decimal("70"), leave_cents=90_000, **due)
    made(farm, now=SIX, as_of=MONDAY.date(), rounds=20)
    return farm


def page_of(answer: Any, status: int = 200) -> str:
    assert answer.status_code == status
    page = answer.content.decode()
    assert Document(page).wrong == []
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]*>", " ", page.partition("<main")[2])))


def disk_of(code: str) -> FieldPass:
    return FieldPass.objects.get(season__field__code=code)


def test_the_form_tells_the_price_before_it_keeps_and_the_plan_after_costs_just_that(farm: Farm) -> None:
    client, row = signed_in("mona"), disk_of("pond-40")
    at = f"{WEEK}1/move/{row.pk}/"
    asked = {"outfit": PlannedTask.objects.get(field_pass=row).mode, "day": "2026-04-23", "hour": "08:00"}
    assert "Where should disk on Pond 40 go?" in page_of(client.get(at))
    priced = client.get(at, asked)
    told = re.search(r"\$([\d,.]+) more: nothing else moves\.", page_of(priced))
    assert told is not None
    version = week_version(farm=farm)
    assert priced["ETag"] == f'"{version}"'
    assert WeekPlan.objects.count() == 1

    kept = client.post(at, {**asked, "seen": version}, follow=True)
    page = page_of(kept)
    assert f"{told[0]} Plan 2 has it so" in page
    assert "Undo the move: go back to plan 1" in page
    old, new = (WeekPlan.objects.get(number=number).cost_cents or 0 for number in (1, 2))
    assert f"{(new - old) / 100:,.2f}" == told[1]

    page = page_of(client.post(at, {**asked, "hour": "09:00", "seen": version}), 412)
    assert "Plan 2, made by mona on Monday, April 20, 6:00 am." in page
    assert "Try my move in plan 2" in page
    shut = client.get(f"{WEEK}2/move/{row.pk}/", {**asked, "hour": "02:00"})
    assert "Disk on Pond 40 cannot go there." in page_of(shut, 422)
    assert client.post(f"{WEEK}2/undo/", {"seen": "2-old"}).status_code == 302
    assert WeekPlan.objects.count() == 2, "nothing is undone by an old version"


def test_a_second_press_of_keep_or_undo_answers_as_the_first(farm: Farm) -> None:
    client, row = signed_in("mona"), disk_of("pond-40")
    mode = PlannedTask.objects.get(field_pass=row).mode
    asked = {"outfit": mode, "day": "2026-04-23", "hour": "08:00", "seen": week_version(farm=farm)}
    told = [
        page_of(client.post(f"{WEEK}1/move/{row.pk}/", asked, follow=True)).partition("Plan 2 has it so")[0]
        for _press in range(2)
    ]
    assert told[0] == told[1] != ""
    assert WeekPlan.objects.count() == 2
    undo = {"seen": week_version(farm=farm)}
    for _press in range(2):
        page = page_of(client.post(f"{WEEK}2/undo/", undo, follow=True))
        assert "The move is undone: plan 3 is again as plan 1 was." in page
    assert WeekPlan.objects.count() == 3
    # The old press of the move is none of this week any more.
    page_of(client.post(f"{WEEK}1/move/{row.pk}/", asked), 412)


def test_sending_shows_first_what_goes_to_whom_and_what_is_new_to_them(farm: Farm) -> None:
    client = signed_in("mona")
    page = page_of(client.get(f"{WEEK}1/people/"))
    assert "No plan of these days was sent before." in page
    assert "in it any more" not in page
    first = WeekPlan.objects.get()
    send_plan(plan=first, now=SIX)
    had = {task.hand.name for task in PlannedTask.objects.filter(plan=first) if task.hand is not None}
    row = disk_of("pond-40")
    modes = {mode["id"] for mode in first.problem["tasks"][0]["modes"]}
    other = next(mode for mode in sorted(modes) if not mode.endswith(f"+{min(had).lower()}"))
    asked = {"outfit": other, "day": "2026-04-23", "hour": "08:00", "seen": week_version(farm=farm)}
    assert client.post(f"{WEEK}1/move/{row.pk}/", asked).status_code == 302
    page = page_of(client.get(f"{WEEK}2/people/"))
    assert "Beside plan 1, which is sent: what is new or changed says so." in page
    assert "Pond 40 · disk (changed)" in page
    assert "1 change " in page
    assert "Send to" in page
    assert re.search(r"Teo.{0,80}by mail to teo@example\.org, in Spanish", page)


def test_fields_or_hands_stand_down_the_side_and_lateness_and_roads_in_the_cells(farm: Farm) -> None:
    client = signed_in("mona")
    rows = {
        by: re.findall(r'<tr[^>]*><th scope="row">([^<]+)</th>', board(client.get(f"{WEEK}?by={by}")))
        for by in ("outfits", "fields", "hands", "moons")
    }
    assert rows["fields"] == ["Hill 20", "Pond 40"]
    drivers = {task.hand.name for task in PlannedTask.objects.all() if task.hand is not None}
    assert rows["hands"] == sorted(drivers)
    assert rows["outfits"] == rows["moons"]
    assert all(" + " in name for name in rows["outfits"])
    page = page_of(client.get(WEEK))
    assert re.search(r"\d+ min of road from the yard", page)
    assert "late" not in page.partition("Left for later")[0]
    row = disk_of("pond-40")
    asked = {
        "outfit": PlannedTask.objects.get(field_pass=row).mode,
        "day": "2026-04-24",
        "hour": "08:00",
        "seen": week_version(farm=farm),
    }
    client.post(f"{WEEK}1/move/{row.pk}/", asked)
    # Due at the end of Tuesday, and at work on Friday until the afternoon: by hand, three days late.
    assert "3 days late" in page_of(client.get(f"{WEEK}?plan=2"))


def board(answer: Any) -> str:
    return str(answer.content.decode()).partition('class="board"')[2].partition("</table>")[0]
