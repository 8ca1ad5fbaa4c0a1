"""The week page's reasons, cost and changes, holding passes, machines and hands, what clashes and what would help."""

import datetime as dt
import re
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Farm, Hand, HandAway, Machine, Membership
from scheduling.models import FieldPass, PassState, WeekPlan
from scheduling.services.planning import send_plan
from tests.factories import make_farm, make_field, make_hand, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.farmops.pages.two_fields import two_fields_to_disk
from tests.scheduling.care_facts import make_done, make_reading, make_rule
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

AT = "/farms/heron-slough/"
OUTFIT = "tractor-2+disk-1+teo"
SIX = MONDAY + dt.timedelta(hours=6)


@pytest.fixture
def farm(db: None, monkeypatch: pytest.MonkeyPatch) -> Farm:
    """A farm with two tractors, one disk and two hands, and two fields to disk and bed; Monday, 6 am."""
    monkeypatch.setattr(clock, "now", lambda: SIX)
    farm = working_farm()
    farm.boss_name = "M. Ott"
    farm.save()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    two_fields_to_disk(farm)
    return farm


def page_of(address: str) -> str:
    answer = signed_in("mona").get(f"{AT}{address}")
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def pressed(address: str, **boxes: str) -> tuple[int, str]:
    answer = signed_in("mona").post(f"{AT}{address}", boxes, follow=True)
    page = answer.content.decode()
    assert Document(page).wrong == []
    return answer.status_code, unescape(page)


def plan_of(farm: Farm, **asked: Any) -> WeekPlan:
    plan = made(farm, now=SIX, as_of=MONDAY.date(), rounds=60, **asked)
    return WeekPlan.objects.get(pk=plan.pk)


def disk_of(code: str) -> FieldPass:
    return FieldPass.objects.get(season__field__code=code)


def test_each_pass_opens_to_why_then_and_what_the_next_best_would_cost(farm: Farm) -> None:
    plan_of(farm)
    page = page_of("week/").partition('class="week-list"')[0]
    whys = re.findall(r'<details class="why">.*?</details>', page, re.S)
    assert len(whys) == 2
    assert sum(re.search(r"taken by disk on (Pond 40|Hill 20)", why) is not None for why in whys) == 1, (
        "one waits for the other's disk"
    )
    assert all(
        "<b>Next best:</b>" in why and re.search(r"would cost \$[\d.]+ more|the same", why) for why in whys
    )
    assert "tractor-1+disk-1" not in re.sub("<[^>]*>", "", page), "ids are for the script, not for reading"


def test_the_cost_stands_by_its_parts_with_the_whole_and_the_least_there_can_be(farm: Farm) -> None:
    plan = plan_of(farm)
    cost = page_of("week/").partition('id="cost"')[2].partition("</section>")[0]
    parts = [int(text.replace(",", "").replace(".", "")) for text in re.findall(r'fig">\$([\d,.]+)<', cost)]
    assert parts[-1] == plan.cost_cents
    assert sorted(parts[:-1]) == sorted(cents for cents in plan.plan["cost_parts"].values() if cents)
    assert len(plan.plan["cost_parts"]) == 7
    if plan.status == "best":
        assert "No plan for these days can cost less: that is proved." in cost
    else:
        assert "No plan for these days can cost less than $" in cost


@pytest.mark.parametrize(
    ("status", "cost", "bound", "says"),
    [
        ("good", 10_001, 10_000, "at most 1 in 100 above"),
        ("good", 10_400, 10_000, "at most 4 in 100 above"),
        ("good", 10_401, 10_000, "at most 5 in 100 above"),
        ("good", 25_000, 10_000, "perhaps far above"),
        ("good", 25_000, 0, "not known how far above"),
        ("good", 25_000, None, "not known how far above"),
        ("best", 25_000, 25_000, "proved the cheapest"),
    ],
)
def test_how_far_a_plan_can_be_from_the_least_is_never_told_too_small(
    farm: Farm, status: str, cost: int, bound: int | None, says: str
) -> None:
    plan = plan_of(farm)
    WeekPlan.objects.filter(pk=plan.pk).update(status=status, cost_cents=cost, bound_cents=bound)
    assert says in page_of("week/")


def test_what_sending_a_plan_changes_stands_before_the_button(farm: Farm) -> None:
    first = plan_of(farm)
    send_plan(plan=first, now=SIX)
    assert "changes against" not in page_of("week/")
    task = first.tasks.order_by("starts_at").first()
    assert task is not None
    assert task.machine is not None
    assert task.hand is not None
    status, page = pressed(
        f"fleet/machine/{task.machine_id}/down/", day="2026-04-29", hour="12:00", then="plan"
    )
    assert status == 200
    assert "is down until about Wednesday, April 29, 12:00 pm. Plan 2 is made from it." in page
    told = page.partition('id="changes"')[2].partition("</section>")[0]
    assert re.search(r"(One thing changes|Two things change) against plan 1, which is sent", told)
    assert "had to" in told
    assert f"{task.machine.name} + disk-1 + {task.hand}" in told
    assert page.index('id="changes"') < page.index("Send to")


def test_what_is_done_or_called_off_since_is_told_apart_from_what_is_no_longer_planned(farm: Farm) -> None:
    for code in ("mill-30", "lane-10"):
        make_pass(make_season(make_field(farm, code)), "disk", leave_cents=90_000)
    tractor = Machine.objects.get(code="tractor-1")
    make_reading(tractor, "2648.0")
    oil = make_rule(tractor, is_must=True)
    first = send_plan(plan=plan_of(farm), now=SIX)
    assert first.care_stops.exists()
    FieldPass.objects.filter(season__field__code="mill-30").update(state=PassState.FINISHED)
    FieldPass.objects.filter(season__field__code="lane-10").update(state=PassState.CALLED_OFF)
    oil.is_used = False
    oil.save()
    plan_of(farm, keep_sent=True)
    page = page_of("week/?plan=2")
    assert "Done since: disk on Mill 30." in page
    assert "Called off: disk on Lane 10." in page
    assert "No longer to be planned: change engine oil and filter, tractor-1." in page
    make_done(oil, SIX)
    page = page_of("week/?plan=2")
    assert "No longer to be planned" not in page
    assert re.search(r"Done since: [^.]*change engine oil and filter, tractor-1", page)


def test_a_plan_that_changes_nothing_says_so(farm: Farm) -> None:
    send_plan(plan=plan_of(farm), now=SIX)
    plan_of(farm, keep_sent=True)
    assert "Nothing changes against plan 1, which is sent." in page_of("week/?plan=2")


def test_rules_that_clash_stand_one_by_one_and_each_leads_to_its_pass(farm: Farm) -> None:
    FieldPass.objects.update(leave_cents=None, fixed_from=MONDAY + dt.timedelta(hours=33))
    status, page = pressed("week/plan/", first_on="2026-04-20", seen="0")
    assert status == 409
    assert re.search(r"<h1>No plan keeps every rule: these \w+ cannot all be kept.</h1>", page)
    rules = re.findall(r'<tr><th scope="row">(.*?)</th><td>(.*?)</td>', page)
    for about in ("Disk on Pond 40", "Disk on Hill 20"):
        assert any(one == about and says.startswith("It must be done. Without it ") for one, says in rules)
    assert "and what giving it up would allow" in page
    assert any("Tue Apr 21 9:00 am" in says for _about, says in rules)
    assert {about for about, _says in rules} <= {"Disk on Pond 40", "Disk on Hill 20", "The whole week"}
    assert "pond-40/disk" not in page.partition("<table")[2].partition("</table>")[0]
    for code in ("pond-40", "hill-20"):
        assert f'href="{AT}passes/{disk_of(code).pk}/hold/"' in page
    assert not WeekPlan.objects.exists()


def test_a_pass_is_held_from_its_page_and_the_next_plan_keeps_to_it(farm: Farm) -> None:
    plan_of(farm)
    row = disk_of("pond-40")
    page = page_of(f"passes/{row.pk}/hold/")
    assert "Disk on Pond 40: the plan chooses who does it and when." in page
    assert "Why then" in page
    status, page = pressed(
        f"passes/{row.pk}/hold/", outfit=OUTFIT, day="2026-04-21", hour="09:00", then="plan"
    )
    assert status == 200
    assert "Disk on Pond 40 is held. Plan 2 is made from it." in page
    assert "· fixed" in page
    assert "9:00 am to" in page
    assert "Tuesday, April 21, 9:00 am, Tractor-2 + disk-1, Teo." in page_of(f"passes/{row.pk}/hold/")
    status, page = pressed(f"passes/{row.pk}/let-go/", then="keep")
    assert "Disk on Pond 40 is let go. Plan again" in page
    row.refresh_from_db()
    assert (row.fixed_from, row.fixed_outfit) == (None, "")


def test_an_hour_that_is_over_holds_a_pass_no_longer(farm: Farm) -> None:
    FieldPass.objects.update(fixed_from=MONDAY - dt.timedelta(days=1), fixed_outfit=OUTFIT)
    plan_of(farm)
    page = page_of(f"passes/{disk_of('pond-40').pk}/hold/")
    assert "was fixed: Sunday, April 19, 12:00 am" in page
    assert "That hour is over, and the plan chooses again." in page
    assert "· fixed" not in page_of("week/")


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({}, "an outfit, an hour, or both"),
        ({"outfit": "tractor-9"}, "cannot disk"),
        ({"outfit": "x" * 5_000}, "cannot disk"),
        ({"day": "2026-04-20", "hour": "05:59"}, "is over"),
        ({"day": "0001-01-01", "hour": "05:59"}, "is over"),
        ({"day": "9999-12-31", "hour": "23:59"}, "more than 60 days ahead"),
        ({"day": "2026-02-30", "hour": "08:00"}, "is not a day"),
        ({"day": "2026-04-21", "hour": "8 am"}, "is not an hour"),
        ({"outfit": OUTFIT, "day": "2026-04-26", "hour": "09:00"}, "Teo does not work on Sunday"),
    ],
)
def test_what_cannot_be_held_is_said_at_its_box_and_nothing_is_kept(
    farm: Farm, boxes: dict[str, str], says: str
) -> None:
    row = disk_of("pond-40")
    status, page = pressed(f"passes/{row.pk}/hold/", **boxes)
    assert status == 422
    assert says in " ".join(re.findall(r'class="wrong" role="alert">(.*?)</span>', page))
    row.refresh_from_db()
    assert (row.fixed_from, row.fixed_outfit) == (None, "")


def test_a_finished_pass_has_a_page_without_a_form(farm: Farm) -> None:
    FieldPass.objects.update(state=PassState.FINISHED)
    page = page_of(f"passes/{disk_of('pond-40').pk}/hold/")
    assert "there is nothing left to hold" in page
    assert "Hold it and plan again" not in page


def test_machines_and_hands_are_said_down_and_away_and_back_again(farm: Farm) -> None:
    assert "Everything works, and every hand is there." in page_of("fleet/")
    tractor, teo = Machine.objects.get(code="tractor-1"), Hand.objects.get(code="teo")
    pressed(f"fleet/machine/{tractor.pk}/down/", day="2026-04-21", hour="12:00", then="keep")
    _status, page = pressed(
        f"fleet/hands/{teo.pk}/away/", first="2026-04-21", last="2026-04-22", why="a wedding", then="keep"
    )
    assert "Tractor-1 is down until about Tuesday, April 21, 12:00 pm; Teo is away" in page
    assert "from Tuesday, April 21 to Wednesday, April 22: a wedding" in page
    away = HandAway.objects.get()
    for _ in range(2):
        pressed(f"fleet/machine/{tractor.pk}/works/", then="keep")
        _status, page = pressed(f"fleet/away/{away.pk}/back/", then="keep")
    assert "Everything works, and every hand is there." in page


@pytest.mark.parametrize(
    ("address", "boxes", "says"),
    [
        ("fleet/machine/{machine}/down/", {"day": "2026-04-20", "hour": "06:00"}, "an hour that is over"),
        ("fleet/machine/{machine}/down/", {"day": "9999-12-31", "hour": "06:00"}, "two years"),
        ("fleet/machine/{machine}/down/", {"day": "", "hour": ""}, "Give the day"),
        ("fleet/hands/{hand}/away/", {"first": "2026-04-22", "last": "2026-04-21"}, "before leaving"),
        ("fleet/hands/{hand}/away/", {"first": "2026-04-01", "last": "2026-04-19"}, "April 19, 2026 is over"),
        (
            "fleet/hands/{hand}/away/",
            {"first": "2026-04-21", "last": "2026-04-21", "why": "\0"},
            "cannot be kept",
        ),
    ],
)
def test_what_makes_no_sense_is_said_in_the_row_that_it_is_of(
    farm: Farm, address: str, boxes: dict[str, str], says: str
) -> None:
    machine, hand = Machine.objects.get(code="tractor-1"), Hand.objects.get(code="teo")
    status, page = pressed(address.format(machine=machine.pk, hand=hand.pk), **boxes)
    assert status == 422
    opened = page.partition("<details open>")[2].partition("</details>")[0]
    assert says in opened
    assert not HandAway.objects.exists()
    machine.refresh_from_db()
    assert machine.down_until is None


@pytest.mark.parametrize("role", ["hand", "bookkeeper"])
def test_only_a_manager_decides_on_passes_machines_and_hands(farm: Farm, role: str) -> None:
    row, machine, hand = (
        disk_of("pond-40"),
        Machine.objects.get(code="tractor-1"),
        Hand.objects.get(code="teo"),
    )
    plan_of(farm)
    user = User.objects.create_user("other", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role=role, hand=hand if role == "hand" else None)
    client = signed_in("other")
    for address in (
        f"passes/{row.pk}/hold/",
        f"passes/{row.pk}/let-go/",
        "fleet/",
        f"fleet/machine/{machine.pk}/down/",
        f"fleet/machine/{machine.pk}/works/",
        f"fleet/hands/{hand.pk}/away/",
        "fleet/away/1/back/",
        "week/1/help/",
    ):
        assert client.post(f"{AT}{address}", {"outfit": OUTFIT}).status_code == 403, address
    row.refresh_from_db()
    assert row.fixed_outfit == ""


def test_another_farms_rows_are_not_there(farm: Farm) -> None:
    other = make_farm("other-bend")
    theirs = make_pass(make_season(make_field(other)))
    machine, hand = make_machine(other), make_hand(other)
    away = HandAway.objects.create(farm=other, hand=hand, first_on=MONDAY.date(), last_on=MONDAY.date())
    client = signed_in("mona")
    for address in (
        f"passes/{theirs.pk}/hold/",
        f"passes/{theirs.pk}/let-go/",
        f"fleet/machine/{machine.pk}/down/",
        f"fleet/implement/{machine.pk}/works/",
        f"fleet/plow/{machine.pk}/works/",
        f"fleet/hands/{hand.pk}/away/",
        "week/1/help/",
    ):
        assert client.post(f"{AT}{address}", {}).status_code == 404, address
    client.post(f"{AT}fleet/away/{away.pk}/back/", {})
    assert HandAway.objects.filter(pk=away.pk).exists()


def test_one_question_is_answered_in_dollars_and_nothing_is_stored(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("farmops.pages.views.helping.ONE_SECONDS", 2.0)
    plan_of(farm)
    page = page_of("week/1/help/")
    assert "What would help in the days of plan 1?" in page
    status, page = pressed("week/1/help/", what="disk:+1", day="", usd_per_h="", then="one")
    assert status == 200
    worth = re.search(
        r"<h1>One more implement to disk on all days: (saves \$[\d.]+|worth nothing)\.</h1>", page
    )
    assert worth, page.partition("<h1>")[2][:200]
    assert "saves" in worth[1], "two disks at once end both fields on the day they are due"
    assert WeekPlan.objects.count() == 1


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"what": "fly"}, "Choose what to suppose"),
        ({"what": "hand:+1", "day": "2026-05-20"}, "Choose a day of the plan"),
        ({"what": "hand:+1", "usd_per_h": "1e9"}, "is not a number"),
        ({"what": "hand:+1", "usd_per_h": "10001"}, "is 0 to 10,000 dollars"),
        ({"what": "teo:-1", "usd_per_h": "10"}, "Only what is added"),
        ({"what": "hand:+1", "day": "2026-04-26"}, "at work"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused_at_its_box(
    farm: Farm, boxes: dict[str, str], says: str
) -> None:
    plan_of(farm)
    status, page = pressed("week/1/help/", **boxes)
    assert status == 422
    assert says in " ".join(re.findall(r'class="wrong" role="alert">(.*?)</span>', page))


def test_the_way_to_plan_again_leads_to_other_pages_only(yard: Yard) -> None:
    """Its words stand on the week and on the page of machines and hands, which is where it leads to."""
    fleet = "/farms/heron-slough/fleet/"
    pages = {at: signed_in("mona").get(at).text for at in (fleet, "/farms/heron-slough/week/")}
    ends = {at: page.split('id="plan-again"')[1].split("</section>")[0] for at, page in pages.items()}
    assert [f'href="{fleet}"' in end for end in ends.values()] == [False, True]
    assert "or above what is down and who is away" in ends[fleet]
