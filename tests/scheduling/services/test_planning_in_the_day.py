"""Planning anew in the midst of the day: the plan begins at midnight, and nothing new before the hour it is made."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand, Machine
from scheduling.models import FieldPass, PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.changes import changes_of
from scheduling.services.passes import Step, lay_out
from scheduling.services.planning import send_plan
from scheduling.services.work import record_work
from scheduling.solver import check, parse_problem
from scheduling.solver.plan import from_json
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.care_facts import make_done, make_reading, make_rule
from tests.scheduling.ground import MONDAY, SUNDAY, SUNDAY_EVENING, make_pivot
from tests.scheduling.weeks import DISK, made, working_farm

pytestmark = pytest.mark.django_db

DEAR = Step("disk", leave_cents=900_000, late_cents_per_day=100_000, due_on=dt.date(2026, 4, 19))


@pytest.fixture
def farm() -> Farm:
    return working_farm()


def at(hour: int, minute: int = 0) -> dt.datetime:
    return MONDAY + dt.timedelta(hours=hour, minutes=minute)


def reported(field_pass: FieldPass, *, now: dt.datetime, **facts: Any) -> None:
    record_work(
        farm=field_pass.farm,
        client_id=uuid.uuid4(),
        field_pass=field_pass,
        hand=Hand.objects.get(farm=field_pass.farm, code="teo"),
        work_on=MONDAY.date(),
        recorded_by=None,
        now=now,
        **{"hand_min": 60, "done_ac": Decimal(0), "is_finished": False, **facts},
    )


def anew(farm: Farm, now: dt.datetime, **asked: Any) -> WeekPlan:
    plan = made(farm, keep_sent=True, now=now, as_of=SUNDAY, **asked)
    assert not check(parse_problem(plan.problem), from_json(plan.plan)).violations
    return plan


def asked_for(plan: WeekPlan, key: str) -> dict[str, Any]:
    return next(row for row in plan.problem["tasks"] if row["id"] == key)


def standing(plan: WeekPlan, key: str) -> tuple[str, int]:
    return next((row["mode"], row["from"]) for row in plan.plan["tasks"] if row["id"] == key)


@pytest.mark.parametrize("is_reported", [True, False])
def test_what_is_at_work_goes_on_with_its_outfit_whatever_else_would_be_worth_more(
    farm: Farm, is_reported: bool
) -> None:
    """Sent for 7:15 am to 10:12 am; at 9:16 am comes a pass that loses 1,000 dollars a day."""
    (disk,) = lay_out(season=make_season(make_field(farm)), steps=[DISK])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    mode, start = standing(sent, "pond-40/disk")
    assert start < 9 * 60 < asked_for(sent, "pond-40/disk")["modes"][0]["minutes"] + start
    if is_reported:
        reported(disk, now=at(8), done_ac=Decimal(10))
    lay_out(season=make_season(make_field(farm, "field-9")), steps=[DEAR])
    again = anew(farm, at(9, 16))
    row = asked_for(again, "pond-40/disk")
    assert (row["was"]["mode"], row["was"]["from"]) == (mode, 570), "the next quarter of an hour"
    assert row["was"]["change_cents"] > 900_000
    assert standing(again, "pond-40/disk") == (mode, 570)
    assert again.plan["cost_parts"]["change"] == 0


def test_what_had_begun_and_should_be_over_goes_on_until_its_acres_are_done(farm: Farm) -> None:
    (disk,) = lay_out(season=make_season(make_field(farm)), steps=[DISK])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    reported(disk, now=at(8), done_ac=Decimal(10))
    lay_out(season=make_season(make_field(farm, "field-9")), steps=[DEAR])
    again = anew(farm, at(13))
    assert standing(again, "pond-40/disk") == (standing(sent, "pond-40/disk")[0], 13 * 60)


def test_what_should_be_over_and_of_which_nothing_was_reported_is_free(farm: Farm) -> None:
    lay_out(season=make_season(make_field(farm)), steps=[DISK])
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert asked_for(anew(farm, at(13)), "pond-40/disk")["was"]["change_cents"] == 0


def test_an_outfit_stands_where_it_worked_this_morning(farm: Farm) -> None:
    (disk,) = lay_out(season=make_season(make_field(farm)), steps=[DISK])
    lay_out(season=make_season(make_field(farm, "field-9")), steps=[DISK])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    task = PlannedTask.objects.get(plan=sent, task_key="pond-40/disk")
    reported(
        disk,
        now=at(12),
        done_ac=Decimal(40),
        is_finished=True,
        machine=task.machine,
        implement=task.implement,
        machine_min=180,
    )
    (row,) = [one for one in anew(farm, at(13)).problem["resources"] if one["id"] == task.machine.code]  # type: ignore[union-attr]
    assert (row["home"], row["setup_now"]) == ("pond-40", "disk-1")
    evening_before = made(farm, keep_sent=True, starts_at=MONDAY, now=SUNDAY_EVENING)
    (row,) = [one for one in evening_before.problem["resources"] if one["id"] == task.machine.code]  # type: ignore[union-attr]
    assert row["home"] == "yard"


@pytest.mark.parametrize("outfit", ["tractor-1+disk-1+teo", ""])
def test_a_fixed_hour_that_is_over_holds_nothing_any_more(farm: Farm, outfit: str) -> None:
    make_pass(make_season(make_field(farm)), fixed_from=at(8), fixed_outfit=outfit, leave_cents=None)
    assert standing(made(farm), "pond-40/disk")[1] == 8 * 60
    row = asked_for(anew(farm, at(9)), "pond-40/disk")
    assert ("fixed" in row, "latest" in row, row["earliest"]) == (False, False, 9 * 60)


def test_a_fixed_hour_to_come_holds_on(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), fixed_from=at(11), fixed_outfit="tractor-1+disk-1+teo")
    assert standing(anew(farm, at(9)), "pond-40/disk") == ("tractor-1+disk-1+teo", 11 * 60)


def test_a_turn_that_was_started_this_morning_is_not_run_again_in_full(farm: Farm) -> None:
    """0.50 in on 80 ac at 800 gal/min is 1,358 min; begun at 8 am, 1,118 of them are left at noon."""
    field = make_field(farm, planted_ac=Decimal(80))
    make_pivot(field)
    start, _water, _stop = lay_out(
        season=make_season(field), steps=[Step("irrigate", depth_in=Decimal("0.50"), leave_cents=50_000)]
    )
    FieldPass.objects.filter(pk=start.pk).update(fixed_from=at(7, 30), fixed_outfit="pivot:pond-40+teo")
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert standing(sent, "pond-40/irrigate")[1] == 8 * 60
    reported(start, now=at(8), hand_min=20, is_finished=True)
    row = asked_for(anew(farm, at(12)), "pond-40/irrigate")
    assert (row["was"]["from"], {mode["minutes"] for mode in row["modes"]}) == (12 * 60, {1358 - 240})


def test_a_service_made_this_morning_is_not_planned_again(farm: Farm) -> None:
    lay_out(season=make_season(make_field(farm)), steps=[DISK])
    tractor = Machine.objects.get(farm=farm, code="tractor-1")
    make_reading(tractor, "2648.0")
    rule = make_rule(tractor, is_must=True)
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    make_done(rule, at(7, 30), meter_h=Decimal("2648.0"))
    assert not PlannedCare.objects.filter(plan=anew(farm, at(9))).exists()


def test_a_service_that_is_being_made_goes_on(farm: Farm) -> None:
    lay_out(season=make_season(make_field(farm)), steps=[DISK])
    tractor = Machine.objects.get(farm=farm, code="tractor-1")
    make_reading(tractor, "2648.0")
    make_rule(tractor, takes_min=120)
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    stop = PlannedCare.objects.get(plan=sent)
    again = anew(farm, stop.starts_at + dt.timedelta(minutes=31))
    begun_min = (stop.starts_at - MONDAY) // dt.timedelta(minutes=1)
    assert standing(again, "care:oil") == (stop.mode, begun_min + 45)


def test_what_goes_on_is_told_as_no_change_and_what_it_pushes_aside_as_one(farm: Farm) -> None:
    for number in range(2):
        field = make_field(farm, f"field-{number}", latitude_deg=Decimal("31.60") + Decimal(number) / 100)
        lay_out(season=make_season(field), steps=[DISK])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    first = PlannedTask.objects.filter(plan=sent).order_by("starts_at")[0]
    reported(first.field_pass, now=at(8), done_ac=Decimal(10))
    told = changes_of(plan=anew(farm, at(9, 16)), before=sent)
    assert told is not None
    says = {row["id"]: (row["kind"], row["says"]) for row in told["tasks"]}
    goes_on = "It goes on with its outfit, at Mon Apr 20 9:30 am, until Mon Apr 20 11:43 am."
    assert says.pop(first.task_key) == ("same", goes_on)
    ((kind, why),) = says.values()
    assert (kind, told["changed"]) == ("hour", 1)
    assert "which now lasts until Mon Apr 20 11:43 am" in why
    assert told["old_stands"] == 1
