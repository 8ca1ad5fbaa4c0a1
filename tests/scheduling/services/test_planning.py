"""Making, storing and sending week plans."""

import datetime as dt
import itertools
import uuid
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
from scheduling.services.passes import Step, lay_out
from scheduling.services.planning import make_plan, send_plan
from scheduling.services.work import call_off, record_work
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
    prices_of,
)

pytestmark = pytest.mark.django_db

DISK = Step("disk", leave_cents=90_000, late_cents_per_day=4_000, due_on=dt.date(2026, 4, 22))
BED = Step("rip_bed", leave_cents=90_000)


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_machine(farm, "tractor-2")
    make_implement(farm)
    make_implement(farm, "bedder", operations=("rip_bed",))
    make_hand(farm)
    make_hand(farm, "teo")
    make_dry_spring(farm)
    return farm


def made(farm: Farm, **asked: Any) -> WeekPlan:
    asked.setdefault("starts_at", MONDAY)
    asked.setdefault("now", SUNDAY_EVENING)
    asked.setdefault("as_of", SUNDAY_EVENING.date())
    return make_plan(
        farm=farm,
        prices=prices_of(farm),
        **{"days": 7, "seconds": 2, "seed": 1, "rounds": 20, "workers": 1, "made_by": None, **asked},
    )


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
    assert plan.limits == {"seconds": 2, "rounds": 20, "workers": 1}
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


def test_planning_anew_after_a_wet_field_keeps_the_rest_of_the_sent_plan(farm: Farm) -> None:
    """The grower says 'not today' for one field: what the sent plan has elsewhere stays as it is."""
    for number in range(3):
        field = make_field(farm, f"field-{number}", latitude_deg=Decimal("31.60") + Decimal(number) / 100)
        lay_out(season=make_season(field), steps=[DISK, BED])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    before = {row["id"]: (row["mode"], row["from"]) for row in sent.plan["tasks"]}
    wet = min(sent.plan["tasks"], key=lambda row: row["from"])["id"].partition("/")[0]
    field = FieldPass.objects.filter(season__field__code=wet)[0].season.field
    SaySo.objects.create(farm=farm, field=field, day=MONDAY.date(), word="not_today", said_at=MONDAY)
    anew = made(farm, keep_sent=True)
    after = {row["id"]: (row["mode"], row["from"]) for row in anew.plan["tasks"]}
    moved = {key for key in before if before[key] != after.get(key)}
    assert f"{wet}/disk" in moved
    assert after[f"{wet}/disk"][1] >= 1440
    assert anew.plan["cost_parts"]["change"] > 0
    free = made(farm, keep_sent=False)
    assert "was" not in str(free.problem["tasks"])
    assert len(moved) <= len(before) // 2


def test_what_was_sent_has_its_place_as_was_and_what_has_begun_goes_on(farm: Farm) -> None:
    season = make_season(make_field(farm))
    disk, _ = lay_out(season=season, steps=[DISK, BED])
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    task = PlannedTask.objects.get(plan=plan, task_key="pond-40/disk")
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=disk,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=60,
        done_ac=Decimal(10),
        is_finished=False,
        recorded_by=None,
        now=MONDAY + dt.timedelta(hours=20),
    )
    middle = task.starts_at + dt.timedelta(minutes=60)
    anew = made(farm, starts_at=middle, now=middle, as_of=MONDAY.date(), days=6, keep_sent=True)
    rows = {row["id"]: row for row in anew.problem["tasks"]}
    assert rows["pond-40/disk"]["under_way"] == {
        "mode": task.mode,
        "minutes_left": 133,  # 30 ac at 13.58 ac/h, after the 10 reported
        "cents_left": 17_290,
        "held_for": 60,
    }
    assert rows["pond-40/rip_bed"]["was"]["from"] == (
        PlannedTask.objects.get(plan=plan, task_key="pond-40/rip_bed").starts_at - middle
    ) // dt.timedelta(minutes=1)
    standing = next(row for row in anew.plan["tasks"] if row["id"] == "pond-40/disk")
    assert (standing["mode"], standing["from"]) == (task.mode, 0)
    assert PlannedTask.objects.get(plan=anew, task_key="pond-40/disk").work_min == 133


def test_what_rests_overnight_is_free_to_go_elsewhere_and_was_to_be_taken_up_in_the_morning(
    farm: Farm,
) -> None:
    """100 ac take 442 min: fixed to start at 3 pm they rest from 6 pm until the shift begins at 7 am."""
    outfit = "tractor-1+disk-1+teo"
    disk = make_pass(
        make_season(make_field(farm, planted_ac=Decimal(100))),
        fixed_from=MONDAY + dt.timedelta(hours=15),
        fixed_outfit=outfit,
    )
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=disk,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=180,
        done_ac=Decimal(40),
        is_finished=False,
        recorded_by=None,
        now=MONDAY + dt.timedelta(hours=20),
    )
    tuesday = MONDAY + dt.timedelta(days=1)
    evening = MONDAY + dt.timedelta(hours=20)
    anew = made(farm, starts_at=tuesday, now=evening, as_of=MONDAY.date(), days=6, keep_sent=True)
    (row,) = anew.problem["tasks"]
    assert "under_way" not in row
    assert row["was"] == {"mode": outfit, "from": 420, "change_cents": 10_000}
    ((start, mode),) = [(one["from"], one["mode"]) for one in anew.plan["tasks"]]
    assert (start, mode) == (420, outfit)
    assert anew.plan["cost_parts"]["change"] == 0


def test_a_pivot_that_walks_at_midnight_walks_on(farm: Farm) -> None:
    """180 degrees at 1,210 ft and 9 ft/min are 423 min: started at 5:30 pm, it walks from 6 pm past midnight."""
    field = make_field(farm, planted_ac=Decimal(100))
    make_pivot(field)
    start, *_ = lay_out(season=make_season(field), steps=[DISK])
    FieldPass.objects.filter(pk=start.pk).update(
        fixed_from=MONDAY + dt.timedelta(hours=17, minutes=30), fixed_outfit="pivot:pond-40+teo"
    )
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    evening = MONDAY + dt.timedelta(hours=20)
    tuesday = MONDAY + dt.timedelta(days=1)
    asked: dict[str, Any] = {
        "starts_at": tuesday,
        "now": evening,
        "as_of": MONDAY.date(),
        "days": 6,
        "keep_sent": True,
    }
    nobody_said = made(farm, **asked)
    rows = {row["id"]: row for row in nobody_said.problem["tasks"]}
    assert "under_way" not in rows["pond-40/pivot_walk"], "nobody reported that it was started"
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=start,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=20,
        done_ac=Decimal(0),
        is_finished=True,
        recorded_by=None,
        now=evening,
    )
    rows = {row["id"]: row for row in made(farm, **asked).problem["tasks"]}
    assert rows["pond-40/pivot_walk"]["under_way"] == {
        "mode": "pivot:pond-40",
        "minutes_left": 63,
        "cents_left": 0,
        "held_for": 360,
    }


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
