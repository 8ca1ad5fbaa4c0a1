"""Making, storing and sending week plans."""

import datetime as dt
import itertools
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand, Machine
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, SaySo, WeekPlan
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import (
    current_plan,
    left_of_plan,
    sent_plan,
    tasks_of_hand,
    tasks_of_plan,
    worked_hours,
)
from scheduling.services import planning
from scheduling.services.passes import lay_out
from scheduling.services.planning import send_plan
from scheduling.services.work import call_off
from scheduling.solver import check, parse_problem, problem_hash
from scheduling.solver.plan import PlacedTask, from_json
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import (
    MONDAY,
    NEW_YORK,
    SUNDAY_EVENING,
    make_dry_spring,
    make_pivot,
)
from tests.scheduling.weeks import BED, DISK, made, working_farm

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    return working_farm()


def two_fields(farm: Farm) -> list[FieldPass]:
    other = make_field(farm, "river-60", planted_ac=Decimal(60), latitude_deg=Decimal("31.65"))
    return [
        *lay_out(season=make_season(make_field(farm)), steps=[DISK, BED]),
        *lay_out(season=make_season(other), steps=[DISK, BED]),
    ]


def test_a_plan_is_stored_with_what_it_answers_and_holds_by_the_independent_check(farm: Farm) -> None:
    passes = two_fields(farm)
    plan = made(farm)
    problem = parse_problem(plan.problem)
    assert check(problem, from_json(plan.plan)).violations == ()
    assert (plan.number, plan.state, plan.seed) == (1, PlanState.MADE, 1)
    assert plan.problem_hash == problem_hash(problem)
    weather = {"to": "2026-04-19", "forecast": None}
    assert plan.limits == {"seconds": 2, "rounds": 20, "workers": 1, "weather": weather}
    assert plan.cost_cents == plan.plan["cost"]
    assert {task.field_pass_id for task in tasks_of_plan(plan=plan)} == {one.pk for one in passes}
    assert set(FieldPass.objects.values_list("state", flat=True)) == {PassState.PLANNED}


def test_planned_tasks_say_the_same_as_the_plan(farm: Farm) -> None:
    two_fields(farm)
    plan = made(farm)
    horizon = Horizon(MONDAY, farm.zone, 7)
    stored = [
        (task.task_key, task.mode, horizon.after(task.starts_at), horizon.after(task.ends_at))
        for task in PlannedTask.objects.filter(plan=plan).order_by("task_key")
    ]
    told = sorted((row["id"], row["mode"], row["from"], row["to"]) for row in plan.plan["tasks"])
    assert stored == told
    for task in tasks_of_plan(plan=plan):
        assert task.machine is not None
        assert task.implement is not None
        assert task.hand is not None
        assert task.mode == f"{task.machine.code}+{task.implement.code}+{task.hand.code}"
        worked = sum(
            (ends - begins) // dt.timedelta(minutes=1) for begins, ends in worked_hours(plan=plan, task=task)
        )
        assert worked == task.work_min


def test_no_task_works_in_an_hour_that_the_windows_shut(farm: Farm) -> None:
    two_fields(farm)
    SaySo.objects.create(
        farm=farm,
        field=FieldPass.objects.all()[0].season.field,
        day=MONDAY.date(),
        word="not_today",
        said_at=SUNDAY_EVENING,
    )
    plan = made(farm)
    open_of = {row["pass"]: [(s["from"], s["to"]) for s in row["open"]] for row in plan.windows["passes"]}
    horizon = Horizon(MONDAY, farm.zone, 7)
    for task in tasks_of_plan(plan=plan):
        for begins, ends in worked_hours(plan=plan, task=task):
            first, last = horizon.after(begins), horizon.after(ends)
            covered = sum(max(0, min(last, t) - max(first, f)) for f, t in open_of[pass_key(task.field_pass)])
            assert covered == last - first
    pond = [task for task in tasks_of_plan(plan=plan) if task.field.code == "pond-40"]
    assert min(task.starts_at for task in pond) >= MONDAY + dt.timedelta(days=1)


def test_the_same_records_and_rounds_give_the_same_plan_and_numbers_have_no_gap(farm: Farm) -> None:
    two_fields(farm)
    other = make_farm("egret-run")
    first, second = made(farm), made(farm)
    assert (first.plan, first.problem_hash) == (second.plan, second.problem_hash)
    assert [first.number, second.number] == [1, 2]
    make_machine(other)
    make_implement(other)
    make_hand(other)
    make_dry_spring(other)
    make_pass(make_season(make_field(other)))
    assert made(other).number == 1


def test_sending_replaces_the_plan_sent_before_and_gives_passes_back(farm: Farm) -> None:
    passes = two_fields(farm)
    first = made(farm)
    assert current_plan(farm=farm) == first
    assert sent_plan(farm=farm) is None
    send_plan(plan=first, now=SUNDAY_EVENING)
    assert set(FieldPass.objects.values_list("state", flat=True)) == {PassState.SENT}
    Machine.objects.filter(farm=farm).update(down_until=MONDAY + dt.timedelta(days=30))
    FieldPass.objects.filter(pk=passes[0].pk).update(state=PassState.FINISHED)
    Machine.objects.filter(farm=farm, code="tractor-1").update(down_until=None)
    FieldPass.objects.filter(pk=passes[2].pk).update(earliest_on=dt.date(2026, 5, 4))
    second = made(farm)
    assert FieldPass.objects.get(pk=passes[2].pk).state == PassState.SENT, (
        "still on the sheets until the new is sent"
    )
    assert current_plan(farm=farm) == first
    send_plan(plan=second, now=SUNDAY_EVENING)
    first.refresh_from_db()
    assert (first.state, second.state, second.sent_at) == (PlanState.REPLACED, PlanState.SENT, SUNDAY_EVENING)
    states = [FieldPass.objects.get(pk=one.pk).state for one in passes]
    assert states == [PassState.FINISHED, PassState.SENT, PassState.WAITING, PassState.WAITING]
    assert send_plan(plan=second, now=SUNDAY_EVENING + dt.timedelta(hours=1)).sent_at == SUNDAY_EVENING
    with pytest.raises(planning.PlanIsReplaced):
        send_plan(plan=first, now=SUNDAY_EVENING)


def test_an_old_page_does_not_send_its_plan_over_a_later_one(farm: Farm) -> None:
    two_fields(farm)
    first, second, third = (made(farm) for _ in range(3))
    send_plan(plan=second, now=SUNDAY_EVENING)
    with pytest.raises(planning.PlanIsReplaced, match="Plan 1 is older than plan 2, which is sent"):
        send_plan(plan=first, now=SUNDAY_EVENING)
    send_plan(plan=third, now=SUNDAY_EVENING)
    states = WeekPlan.objects.order_by("number").values_list("state", flat=True)
    assert list(states) == [PlanState.MADE, PlanState.REPLACED, PlanState.SENT]


def test_a_plan_made_anew_gives_planned_passes_that_it_leaves_back_to_waiting(farm: Farm) -> None:
    passes = two_fields(farm)
    made(farm)
    FieldPass.objects.filter(pk=passes[2].pk).update(earliest_on=dt.date(2026, 5, 4))
    plan = made(farm)
    states = [FieldPass.objects.get(pk=one.pk).state for one in passes]
    assert states == [PassState.PLANNED, PassState.PLANNED, PassState.WAITING, PassState.WAITING]
    assert left_of_plan(plan=plan) == [
        ("river-60/disk", "It may not start before Monday, May 4."),
        ("river-60/rip_bed", "It waits for river-60/disk, which is not in this plan."),
    ]


def test_a_whole_pivot_season_is_planned_in_its_order(farm: Farm) -> None:
    field = make_field(farm, planted_ac=Decimal(100))
    make_pivot(field)
    lay_out(season=make_season(field), steps=[DISK], pivot_stands_at_deg=Decimal(120))
    plan = made(farm)
    begins = {task.task_key.removeprefix("pond-40/"): task for task in tasks_of_plan(plan=plan)}
    order = [
        "pivot_start",
        "pivot_walk",
        "pivot_stop",
        "disk",
        "pivot_start-2",
        "pivot_walk-2",
        "pivot_stop-2",
    ]
    order.append("disk/strip")
    assert set(begins) == set(order)
    for before, after in itertools.pairwise(order):
        assert begins[before].ends_at <= begins[after].starts_at
    walk = begins["pivot_walk"]
    assert (walk.machine, walk.implement, walk.hand) == (None, None, None)
    assert walk.starts_at - begins["pivot_start"].ends_at <= dt.timedelta(minutes=30)


def test_a_hand_s_day_holds_what_is_worked_on_it_and_no_more(farm: Farm) -> None:
    make_pass(make_season(make_field(farm, planted_ac=Decimal(300))), leave_cents=300_000)
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    days = [MONDAY.date() + dt.timedelta(days=number) for number in range(7)]
    hands = list(Hand.objects.filter(farm=farm))
    on_sheets = [
        task.task_key
        for hand in hands
        for day in days
        for task in tasks_of_hand(farm=farm, hand=hand, day=day)
    ]
    assert set(on_sheets) == {"pond-40/disk#1", "pond-40/disk#2", "pond-40/disk#3"}
    assert all(not tasks_of_hand(farm=farm, hand=hand, day=days[6]) for hand in hands), (
        "nobody works on Sunday"
    )
    for hand in hands:
        for day in days:
            for task in tasks_of_hand(farm=farm, hand=hand, day=day):
                worked = {
                    begins.astimezone(NEW_YORK).date() for begins, _ in worked_hours(plan=plan, task=task)
                }
                assert day in worked


def test_a_task_that_rests_over_sunday_is_on_the_sheets_of_saturday_and_monday(farm: Farm) -> None:
    make_pass(
        make_season(make_field(farm, planted_ac=Decimal(100))),
        fixed_from=dt.datetime(2026, 4, 25, 15, tzinfo=NEW_YORK),
        fixed_outfit="tractor-1+disk-1+teo",
    )
    send_plan(plan=made(farm, starts_at=MONDAY + dt.timedelta(days=2)), now=SUNDAY_EVENING)
    teo = Hand.objects.get(farm=farm, code="teo")
    days = [dt.date(2026, 4, 24) + dt.timedelta(days=number) for number in range(4)]
    assert [len(tasks_of_hand(farm=farm, hand=teo, day=day)) for day in days] == [0, 1, 0, 1]


def test_only_the_sent_plan_reaches_a_hand(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    made(farm)
    days = [MONDAY.date() + dt.timedelta(days=number) for number in range(7)]
    for hand in Hand.objects.filter(farm=farm):
        assert [task for day in days for task in tasks_of_hand(farm=farm, hand=hand, day=day)] == []


def test_without_an_open_pass_there_is_nothing_to_plan(farm: Farm) -> None:
    with pytest.raises(planning.NothingToPlan, match="no pass that is still to be done"):
        made(farm)
    only = make_pass(make_season(make_field(farm)))
    call_off(field_pass=only, why="sold the field", now=SUNDAY_EVENING)
    with pytest.raises(planning.NothingToPlan):
        made(farm)
    assert not WeekPlan.objects.exists()


def test_passes_that_all_must_wait_leave_nothing_to_plan_and_say_why(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), earliest_on=dt.date(2026, 6, 1))
    with pytest.raises(
        planning.NothingToPlan, match=r"pond-40/disk: It may not start before Monday, June 1\."
    ):
        made(farm)


def test_a_must_without_an_outfit_is_no_plan_and_says_so(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), "plant", leave_cents=None)
    with pytest.raises(planning.NoPlan, match="pond-40/plant: No tractor, implement and hand here can plant"):
        made(farm)
    assert not WeekPlan.objects.exists()


def test_a_must_that_no_shift_can_hold_is_no_plan_and_names_the_task(farm: Farm) -> None:
    season = make_season(make_field(farm))
    make_pass(season, leave_cents=None)
    with pytest.raises(planning.NoPlan, match="pond-40/disk"):
        made(farm, starts_at=dt.datetime(2026, 4, 26, tzinfo=NEW_YORK), days=1)
    assert not WeekPlan.objects.exists()
    assert FieldPass.objects.get().state == PassState.WAITING


def test_a_circle_of_waiting_is_refused(farm: Farm) -> None:
    season = make_season(make_field(farm))
    first, second = lay_out(season=season, steps=[DISK, BED])
    second.links_after.create(farm=farm, after=first)
    with pytest.raises(planning.NoPlan, match="pond-40"):
        made(farm)


@pytest.mark.parametrize("days", [0, 22])
def test_a_week_of_no_days_or_too_many_is_refused(farm: Farm, days: int) -> None:
    with pytest.raises(planning.BadWeek, match=f"not {days}"):
        made(farm, days=days)


def test_a_plan_that_fails_its_check_is_not_stored(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    make_pass(make_season(make_field(farm)))
    honest = planning.solve

    def broken(problem: Any, **limits: Any) -> Any:
        plan = honest(problem, **limits)
        at_night = tuple(PlacedTask(one.id, one.mode, 0, one.end) for one in plan.tasks)
        return type(plan)(**{**plan.__dict__, "tasks": at_night})

    monkeypatch.setattr(planning, "solve", broken)
    with pytest.raises(planning.PlanFailedCheck, match="nothing was stored"):
        made(farm)
    assert not WeekPlan.objects.exists()
    assert FieldPass.objects.get().state == PassState.WAITING


def test_a_pass_of_which_some_parts_are_left_stands_once_and_says_how_many(farm: Farm) -> None:
    make_pass(make_season(make_field(farm, planted_ac=Decimal(300))), leave_cents=300_000)
    plan = made(farm, days=2)
    assert plan.tasks.count() == 2
    ((key, why),) = left_of_plan(plan=plan)
    assert (key, why.startswith("1 of 3 parts left. ")) == ("pond-40/disk", True)


def test_wet_ground_all_week_is_told_as_the_reason(farm: Farm) -> None:
    one = make_pass(make_season(make_field(farm)))
    for number in range(7):
        day = MONDAY.date() + dt.timedelta(days=number)
        SaySo.objects.create(
            farm=farm, field=one.season.field, day=day, word="not_today", said_at=SUNDAY_EVENING
        )
    plan = made(farm)
    assert plan.plan["tasks"] == []
    ((key, why),) = left_of_plan(plan=plan)
    assert (key, why.startswith("The field is shut in all these days: ")) == ("pond-40/disk", True)
