"""What is told of stored plans: reasons and changes in names, worked out once, and none of what is stored in an older form."""

import datetime as dt
import json
from typing import Any

import pytest
from django.core.cache import cache

from farmops.desk.week_table import cost_lines
from farmops.farms.models import Farm, Field, Hand, Implement, Machine
from scheduling.models import FieldPass, PlanState, WeekPlan
from scheduling.selectors import reasons
from scheduling.selectors.changes import changes_of, plan_before
from scheduling.selectors.left import left_in_words
from scheduling.selectors.passes import field_names
from scheduling.selectors.plan_documents import (
    made_once,
    told_once,
    with_documents,
    without_documents,
)
from scheduling.selectors.plans import uncounted_in_words
from scheduling.selectors.reasons import reasons_of, why_each
from scheduling.selectors.spoken import ids_in_words, names_of
from scheduling.services.planning import send_plan
from scheduling.solver import check, from_json, parse_problem, solve
from scheduling.solver.explain import moment
from scheduling.solver.plan import to_json
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import made, working_farm


@pytest.fixture
def farm(db: None) -> Farm:
    cache.clear()
    farm = working_farm()
    for code in ("pond-40", "hill-20"):
        make_pass(make_season(make_field(farm, code)), leave_cents=90_000, late_cents_per_day=4_000)
    Hand.objects.filter(code="teo").update(name="Teo Marsh")
    return farm


def test_reasons_are_told_by_the_names_of_the_records(farm: Farm) -> None:
    plan = made(farm)
    told = why_each(plan=plan)
    assert set(told) == {"pond-40/disk", "hill-20/disk"}
    words = " ".join(f"{why.says} {' '.join(why.next_best)}" for why in told.values())
    assert "Imani" in words
    assert "tractor-1+disk-1" not in words
    assert all(why.says[0].isupper() for why in told.values())


def test_reasons_are_worked_out_once_until_a_name_or_the_plan_is_another(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = made(farm)
    asked: list[int] = []
    whole = reasons.explain

    def counted(*args: Any, **named: Any) -> Any:
        asked.append(1)
        return whole(*args, **named)

    monkeypatch.setattr(reasons, "explain", counted)
    assert reasons_of(plan=plan) == reasons_of(plan=plan)
    assert len(asked) == 1
    Hand.objects.filter(code="imani").update(name="Imani Voss")
    assert "Imani Voss" in str(reasons_of(plan=plan))
    plan.plan["tasks"] = plan.plan["tasks"][:1]
    plan.plan["left"] = [{"id": "hill-20/disk", "why": "x"}, {"id": "pond-40/disk", "why": "x"}][
        : 2 - len(plan.plan["tasks"])
    ]
    reasons_of(plan=plan)
    assert len(asked) == 3


def test_a_plan_of_an_older_form_has_no_reasons_and_is_laid_beside_none(farm: Farm) -> None:
    plan = made(farm)
    older = made(farm)
    older.problem = {"tasks": [], "resources": []}
    assert reasons_of(plan=older)["tasks"] == []
    assert changes_of(plan=plan, before=older) is None
    assert changes_of(plan=older, before=plan) is None


def test_a_plan_is_read_beside_the_sent_one_until_it_is_sent_itself(farm: Farm) -> None:
    first, second = made(farm), made(farm, keep_sent=True)
    assert plan_before(plan=second) is None
    send_plan(plan=first, now=SUNDAY_EVENING)
    third = made(farm, keep_sent=True)
    assert plan_before(plan=third) == first
    assert plan_before(plan=second) == first
    send_plan(plan=third, now=SUNDAY_EVENING)
    third.refresh_from_db()
    assert third.state == PlanState.SENT
    assert plan_before(plan=third) == first, "a sent plan still tells what it changed"
    later = made(farm, starts_at=MONDAY + dt.timedelta(days=7))
    assert plan_before(plan=later) is None, "the week before has nothing to do with this one"


def test_what_had_to_change_and_what_it_costs_is_told_of_the_two_stored_plans(farm: Farm) -> None:
    first = made(farm)
    send_plan(plan=first, now=SUNDAY_EVENING)
    task = first.tasks.order_by("starts_at").first()
    assert task is not None
    assert task.machine is not None
    Machine.objects.filter(code=task.machine.code).update(down_until=MONDAY + dt.timedelta(days=6))
    second = made(farm, keep_sent=True)
    told = changes_of(plan=second, before=first)
    assert told is not None
    moved = {row["id"]: row for row in told["tasks"] if row["kind"] != "same"}
    assert moved[task.task_key]["had_to"]
    assert told["changed"] == len(moved)
    assert told["new_cost"] == second.cost_cents
    assert task.machine.name in moved[task.task_key]["says"]


def test_shut_hours_are_told_by_the_limit_that_shuts_them(farm: Farm) -> None:
    """The limits stand in the windows that are stored with the plan; the latest before the start is the one that told."""
    plan = made(farm)
    task = next(one for one in plan.problem["tasks"] if one["id"] == "pond-40/disk")
    task["open"] = [{"from": 900, "to": 10_080}]
    for row in plan.windows["passes"]:
        row["shut"] = [
            {"from": 0, "to": 300, "limit": "power", "says": "the power supplier shuts the well"},
            {
                "from": 300,
                "to": 900,
                "limit": "sticks",
                "says": "sticks to the boot: topsoil 0.26; opens about 3 pm",
            },
        ]
    problem = parse_problem(plan.problem)
    plan.plan = to_json(solve(problem, seconds=1, rounds=20))
    told = why_each(plan=plan)["pond-40/disk"].says
    assert f"It is shut until {moment(problem, 900)}. Sticks to the boot: topsoil 0.26." in told
    assert "opens about" not in told
    task["open"] = [{"from": 900, "to": 910}]
    plan.plan = to_json(solve(parse_problem(plan.problem), seconds=1, rounds=20))
    told = why_each(plan=plan)["pond-40/disk"].says
    assert told.endswith(
        "of these days are open with its outfit at work. Shut for longest: sticks to the boot: topsoil 0.26."
    )
    (left,) = left_in_words(plan=plan)
    assert left.why == told, "the table of the command and the page say the same"


def test_what_nobody_can_do_any_more_is_told_as_left_and_not_as_gone(farm: Farm) -> None:
    make_pass(make_season(make_field(farm, "mill-30")), "rip_bed", leave_cents=90_000)
    first = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert first.tasks.filter(task_key="mill-30/rip_bed").exists()
    Implement.objects.filter(code="bedder").update(down_until=MONDAY + dt.timedelta(days=8))
    second = made(farm, keep_sent=True)
    told = changes_of(plan=second, before=first)
    assert told is not None
    row = next(one for one in told["tasks"] if one["id"] == "mill-30/rip_bed")
    assert uncounted_in_words(plan=first) == ""
    assert uncounted_in_words(plan=second).startswith("What it costs to leave 1 pass that cannot be planned")
    assert cost_lines(plan=second)[-1].strip() == uncounted_in_words(plan=second)
    assert (row["kind"], row["had_to"]) == ("left", True)
    assert "is now left. It had to: no tractor, implement and hand here can rip and bed" in row["says"]
    assert (told["changed"], told["had_to"]) == (1, 1)
    assert told["says"].startswith("1 task of 3 changes, and had to. The new plan costs $")


def test_a_pass_with_all_its_acres_reported_is_not_told_as_left(farm: Farm) -> None:
    first = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    one = FieldPass.objects.get(season__field__code="pond-40")
    FieldPass.objects.filter(pk=one.pk).update(done_ac=one.area_ac)
    second = made(farm, keep_sent=True)
    told = changes_of(plan=second, before=first)
    assert told is not None
    assert {row["id"]: row["kind"] for row in told["tasks"]} == {
        "hill-20/disk": "same",
        "pond-40/disk": "gone",
    }
    assert uncounted_in_words(plan=second) == ""


def test_ids_in_a_sentence_are_put_in_words_and_plain_words_are_not(farm: Farm) -> None:
    Field.objects.filter(code="pond-40").update(name="Pond 40 & Sons")
    Machine.objects.filter(code="tractor-1").update(name="the green one")
    names = names_of(farm=farm, problem=made(farm).problem)
    told = ids_in_words(
        "pond-40/disk: tractor-1+disk-1+teo can disk, tractor-1 is off; hill-20/disk#2. nobody-1 works-2.",
        names=names,
        fields=field_names(farm=farm),
    )
    assert told == (
        "“disk” on Pond 40 & Sons: the green one + disk-1 + Teo Marsh can disk, the green one is off; "
        "“disk, part 2” on Hill 20. nobody-1 works-2."
    )


def test_next_best_is_what_the_exact_cost_of_that_plan_comes_to(farm: Farm) -> None:
    """Worked again from the stored problem: the task put there by hand, and the whole costed by the check."""
    plan: WeekPlan = made(farm)
    problem = parse_problem(plan.problem)
    row = next(one for one in reasons_of(plan=plan)["tasks"] if one["next_best"] and one["next_best"]["mode"])
    best = row["next_best"]
    answer = from_json(plan.plan)
    moved = [
        {"id": one.id, "mode": one.mode, "from": one.start, "to": one.end}
        if one.id != row["id"]
        else {"id": one.id, "mode": best["mode"], "from": best["from"], "to": best["to"]}
        for one in answer.tasks
    ]
    from_hand = from_json({**plan.plan, "tasks": moved})
    result = check(problem, from_hand)
    assert {one.rule for one in result.violations} <= {"cost", "cost_parts", "bound"}
    assert result.cost is not None
    assert plan.cost_cents is not None
    assert abs(result.cost - plan.cost_cents - best["more_cents"]) <= 1, "each is rounded by itself"
    assert moment(problem, best["from"]) in best["says"] or "same hour" in best["says"]


def test_documents_at_hand_are_read_once_and_are_those_of_the_plan_alone(
    farm: Farm, django_assert_num_queries: Any
) -> None:
    plan = made(farm)
    light = without_documents().get(pk=plan.pk)
    with django_assert_num_queries(1):
        first = with_documents(plan=light)
    assert (first.problem, first.plan) == (plan.problem, plan.plan)
    assert json.dumps(first.windows) == json.dumps(WeekPlan.objects.get(pk=plan.pk).windows)
    again = without_documents().get(pk=plan.pk)
    with django_assert_num_queries(0):
        assert with_documents(plan=again).windows is first.windows
    asked: list[int] = []
    for one in (first, again):
        made_once(one, "a count", lambda: asked.append(1), of="one name")
    assert len(asked) == 1, "what is made of the same documents is made once"
    made_once(again, "a count", lambda: asked.append(1), of="another name")
    again.plan = {**again.plan, "tasks": []}
    made_once(again, "a count", lambda: asked.append(1), of="another name")
    assert len(asked) == 3, "documents that were put in their place are others"
    assert with_documents(plan=made(farm)).problem is not first.problem
    assert why_each(plan=first) == why_each(plan=plan)


def test_what_windows_say_again_is_one_object_and_says_what_it_said() -> None:
    text = (
        '{"a": [{"from": 60, "chance": 0.86}, {"from": 60, "chance": 0.86}, {"chance": 0.86, "from": 60}], '
        '"b": [1, 1.0, true, "1", 0, 0.0, -0.0, false, null, ""], "c": [[1], [1.0], [true], ["1"]], "d": [[], {}, [], {}]}'
    )
    found = told_once(json.loads(text))
    assert json.dumps(found) == text
    one, same, turned = found["a"]
    assert one is same
    assert turned is not one
    assert turned["chance"] is one["chance"]
    assert found["d"][0] is found["d"][2]
