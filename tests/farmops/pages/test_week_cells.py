"""The board of the week as it is drawn: what people typed is escaped in it, and a change shows at the next look."""

import pytest
from django.urls import reverse

from farmops.farms.models import Field, Hand, Machine
from farmops.pages import board
from scheduling.models import FieldPass, PassState, WeekPlan
from scheduling.selectors.reasons import Why
from tests.farmops.pages.conftest import Yard, signed_in

MARKUP = '<b>"O\'Hara" & sons</b>'
ESCAPED = "&lt;b&gt;&quot;O&#x27;Hara&quot; &amp; sons&lt;/b&gt;"


def week(yard: Yard, query: str = "") -> str:
    answer = signed_in("mona").get(reverse("pages:week", args=[yard.farm.code]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_names_that_look_like_markup_are_escaped_in_table_list_and_ground(yard: Yard) -> None:
    Field.objects.filter(pk=yard.field.pk).update(name=MARKUP)
    Machine.objects.filter(farm=yard.farm).update(name=MARKUP)
    Hand.objects.filter(pk=yard.hand.pk).update(name=MARKUP)
    ground = {
        "field": yard.field.code,
        "zone": MARKUP,
        "texture": "loam",
        "days": [{"topsoil_8am_m3_m3": 0.2, "workable_below_m3_m3": 0.25, "soil_temp_8am_c": 9.0}],
    }
    windows = {**yard.plan.windows, "ground": [ground]}
    WeekPlan.objects.filter(pk=yard.plan.pk).update(windows=windows)
    for query in ("", "?by=fields", "?by=hands"):
        told = week(yard, query)
        assert MARKUP not in told
        assert f"disk on {ESCAPED}" in told
        assert f"<small>{ESCAPED}, loam</small>" in told
        assert told.count(ESCAPED) > 8


def test_a_new_name_and_an_ended_pass_show_at_the_next_look(yard: Yard) -> None:
    before = week(yard)
    assert before.count("Rosa") == 2  # in the table and in the list by day
    assert ">hold<" in before
    Hand.objects.filter(pk=yard.hand.pk).update(name="Rosalind")
    Field.objects.filter(pk=yard.field.pk).update(name="Heron 40")
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(state=PassState.FINISHED)
    after = week(yard)
    assert after.count("Rosalind") == 2
    assert "Heron 40" in after
    assert ">hold<" not in after


def test_why_then_stands_in_the_list_by_day_too(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    why = Why("It must be done by Tuesday.", ("On Wednesday it costs $40 more.",))
    task = yard.plan.tasks.get()
    monkeypatch.setattr(board, "why_each", lambda plan: {task.task_key: why})
    told = week(yard).partition('class="week-list"')
    for part in (told[0], told[2]):
        assert part.count("<summary>why then") == 1
        assert "It must be done by Tuesday." in part
        assert "On Wednesday it costs $40 more." in part


def test_a_held_pass_says_so_in_the_table_and_in_the_list(yard: Yard) -> None:
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(fixed_outfit="tractor-1+disk-1+rosa")
    told = week(yard)
    assert told.count('class="cell fixed"') == 2
    assert told.count(" · fixed") == 2
    assert told.count(">held</a>") == 2


def test_a_plan_of_machines_that_costs_nothing_says_that_no_price_stands(yard: Yard) -> None:
    WeekPlan.objects.filter(pk=yard.plan.pk).update(plan={**yard.plan.plan, "cost_parts": {"direct": 0}})
    assert "No wage and no price stands for these days" in week(yard)
