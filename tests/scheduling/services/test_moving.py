"""Moving a pass by hand: priced as the plans themselves cost, kept as a hold and a plan of its own, undone, never over another's change."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm
from scheduling.models import FieldPass, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.versions import week_version
from scheduling.services.fixing import BadFixing, fix_pass
from scheduling.services.moving import (
    CannotMove,
    Priced,
    WeekChanged,
    keep_move,
    price_move,
    undo_move,
)
from scheduling.services.passes import lay_out
from scheduling.services.planning import send_plan
from scheduling.solver import check, from_json, parse_problem
from tests.factories import make_field, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import BED, DISK, made, working_farm

BASE: dict[str, Any] = {"not_before": SUNDAY_EVENING, "as_of": SUNDAY_EVENING.date()}


@pytest.fixture
def farm(db: None) -> Farm:
    farm = working_farm()
    season = make_season(make_field(farm, "pond-40"), area_ac=Decimal("40"))
    lay_out(season=season, steps=[DISK, BED])
    return farm


def of(operation: str) -> FieldPass:
    return FieldPass.objects.get(operation=operation)


def at(day: int, hour: int) -> dt.datetime:
    return MONDAY + dt.timedelta(days=day, hours=hour)


def task(plan: WeekPlan, operation: str) -> PlannedTask:
    return PlannedTask.objects.get(plan=plan, operation=operation)


def priced(plan: WeekPlan, operation: str, when: dt.datetime, outfit: str = "") -> Priced:
    outfit = outfit or task(plan, operation).mode
    return price_move(plan=plan, field_pass=of(operation), outfit=outfit, starts_at=when, **BASE)


def kept(farm: Farm, move: Priced, seen: str = "") -> WeekPlan:
    seen = seen or week_version(farm=farm)
    return keep_move(priced=move, seen=seen, made_by=None, now=SUNDAY_EVENING, **BASE)


def test_a_move_costs_what_the_two_plans_differ_by_and_what_waits_for_it_gives_way(farm: Farm) -> None:
    plan = made(farm)
    was = task(plan, "disk"), task(plan, "rip_bed")
    assert was[0].ends_at <= was[1].starts_at < at(3, 8), "the bed follows the disk, before Thursday"
    move = priced(plan, "disk", at(3, 8))
    assert [one.task for one in move.shifts] == ["pond-40/rip_bed"]
    # Due on Wednesday at $40.00 a day: from Thursday at midnight on, by hand.
    late_h = (task_end(move) - at(3, 0)).total_seconds() / 3600
    late_cents = move.plan.cost_parts["late"] if move.plan.cost_parts else 0
    assert late_cents == pytest.approx(late_h * round(4_000 / 24), abs=1)
    assert not WeekPlan.objects.exclude(pk=plan.pk).exists(), "a price stores nothing"
    assert of("disk").fixed_from is None

    new = kept(farm, move)
    assert (new.number, new.state) == (plan.number + 1, PlanState.MADE)
    assert new.cost_cents is not None
    assert plan.cost_cents is not None
    assert new.cost_cents - plan.cost_cents == move.more_cents > 0
    judged = check(parse_problem(new.problem), from_json(new.plan))
    assert (judged.violations, judged.cost) == ((), new.cost_cents)
    assert (task(new, "disk").starts_at, of("disk").fixed_from) == (at(3, 8), at(3, 8))
    assert task(new, "rip_bed").starts_at >= task(new, "disk").ends_at
    assert task(plan, "disk").starts_at == was[0].starts_at, "the plan before is as it was"


def task_end(move: Priced) -> dt.datetime:
    return MONDAY + dt.timedelta(minutes=next(one.end for one in move.plan.tasks if one.id == move.task))


def test_undoing_goes_back_through_every_move_and_its_hold(farm: Farm) -> None:
    plan = made(farm)
    fix_pass(field_pass=of("disk"), outfit=task(plan, "disk").mode, **BASE)
    first = kept(farm, priced(plan, "disk", at(1, 8)))
    second = kept(farm, priced(first, "disk", at(2, 8)))
    for undone, back_to, held in ((second, first, at(1, 8)), (None, plan, None)):
        newest = undone or WeekPlan.objects.latest("number")
        again = undo_move(plan=newest, seen=week_version(farm=farm), made_by=None, now=SUNDAY_EVENING)
        assert (again.problem, again.plan) == (back_to.problem, back_to.plan)
        assert rows(again) == rows(back_to)
        assert (of("disk").fixed_from, of("disk").fixed_outfit) == (held, task(plan, "disk").mode)
    with pytest.raises(CannotMove, match="no move that can be undone"):
        undo_move(
            plan=WeekPlan.objects.latest("number"),
            seen=week_version(farm=farm),
            made_by=None,
            now=SUNDAY_EVENING,
        )


def rows(plan: WeekPlan) -> list[tuple[Any, ...]]:
    told = PlannedTask.objects.filter(plan=plan)
    return list(told.values_list("task_key", "mode", "starts_at", "ends_at", "area_ac", "work_min", "hand"))


def test_nobody_moves_over_what_somebody_else_did_meanwhile(farm: Farm) -> None:
    plan = made(farm)
    seen = week_version(farm=farm)
    move = priced(plan, "disk", at(1, 8))
    fix_pass(field_pass=of("rip_bed"), starts_at=at(4, 9), **BASE)
    with pytest.raises(WeekChanged):
        kept(farm, move, seen)
    assert of("disk").fixed_from is None
    assert WeekPlan.objects.count() == 1
    assert week_version(farm=farm) != seen
    send_plan(plan=plan, now=SUNDAY_EVENING)
    assert len({seen, week_version(farm=farm)}) == 2


@pytest.mark.parametrize(
    ("day", "hour", "says"),
    [(0, 3, "works"), (0, -12, "is over"), (8, 8, "none of the days of plan 1")],
    ids=["nobody at work", "over", "another week"],
)
def test_where_it_cannot_stand_a_move_is_refused_in_a_sentence(
    farm: Farm, day: int, hour: int, says: str
) -> None:
    plan = made(farm)
    with pytest.raises((BadFixing, CannotMove), match=says):
        priced(plan, "disk", at(day, hour))


def test_what_has_begun_stays_when_a_sent_plan_is_moved_in(farm: Farm) -> None:
    plan = made(farm)
    plan = send_plan(plan=plan, now=SUNDAY_EVENING)
    begun = task(plan, "disk").starts_at + dt.timedelta(minutes=20)
    asked = {"not_before": begun, "as_of": MONDAY.date()}
    with pytest.raises(CannotMove, match="to begin before now"):
        price_move(
            plan=plan,
            field_pass=of("disk"),
            outfit=task(plan, "disk").mode,
            starts_at=at(2, 8),
            **asked,
        )
    move = price_move(
        plan=plan,
        field_pass=of("rip_bed"),
        outfit=task(plan, "rip_bed").mode,
        starts_at=at(4, 9),
        **asked,
    )
    assert move.shifts == ()
    new = keep_move(priced=move, seen=week_version(farm=farm), made_by=None, now=begun, **asked)
    assert (new.against, new.state) == (plan, PlanState.MADE)
    assert task(new, "disk").starts_at == task(plan, "disk").starts_at


def test_no_move_takes_the_disk_away_from_work_that_has_begun(farm: Farm) -> None:
    lay_out(season=make_season(make_field(farm, "river-60"), area_ac=Decimal("20")), steps=[DISK])
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    first, later = PlannedTask.objects.filter(plan=plan, operation="disk").order_by("starts_at")
    move: dict[str, Any] = {
        "plan": plan,
        "field_pass": later.field_pass,
        "outfit": later.mode,
        "starts_at": first.starts_at + dt.timedelta(hours=1),
    }
    before = price_move(**move, **BASE)
    assert "pond-40/disk" in {one.task for one in before.shifts}, "the evening before, the other gives way"
    begun = first.starts_at + dt.timedelta(minutes=20)
    with pytest.raises(CannotMove):
        price_move(**move, not_before=begun, as_of=MONDAY.date())
