"""Pages of work that no tractor does, and of work that calls for other cautions than tillage."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation

from farmops.farms.operations import ALONE, SPRAYING, WORDS, Operation
from farmops.pages.board import week_board
from farmops.pages.day_page import day_facts
from scheduling.models import FieldPass, PlannedTask
from tests.farmops.pages.conftest import MONDAY, Yard


def planned_as(yard: Yard, operation: str, **facts: Any) -> None:
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(operation=operation)
    PlannedTask.objects.filter(plan=yard.plan).update(operation=operation, **facts)


@pytest.mark.parametrize(
    ("operation", "facts", "name"),
    [
        ("disk", {}, "tractor-1 + disk-1"),
        ("debris_walk", {"machine": None, "implement": None}, "On foot"),
        ("spread", {"machine": None, "implement": None, "hand": None}, "Hired"),
        ("irrigate", {"machine": None, "implement": None, "hand": None}, "Pivots"),
        ("pivot_start", {"machine": None, "implement": None}, "Pivots"),
    ],
)
def test_the_board_names_who_does_the_work(
    yard: Yard, operation: str, facts: dict[str, Any], name: str
) -> None:
    planned_as(yard, operation, **facts)
    board = week_board(farm=yard.farm, plan=yard.plan, today=MONDAY.date(), working=MONDAY.date())
    assert [row.name for row in board.rows] == [name]
    [cell] = board.rows[0].days[0][1]
    assert cell.work == WORDS[Operation(operation)].english


def facts_of(yard: Yard) -> dict[str, Any]:
    with translation.override("es"):
        return day_facts(farm=yard.farm, hand=yard.hand, day=MONDAY.date(), now=MONDAY)


@pytest.mark.parametrize("operation", sorted(set(Operation) - ALONE))
def test_a_hands_page_says_checks_and_cautions_of_every_kind_of_work(yard: Yard, operation: str) -> None:
    planned_as(yard, operation)
    facts = facts_of(yard)
    assert WORDS[Operation(operation)].spanish in facts["headline"]
    assert facts["cautions"]
    [task] = facts["tasks"]
    assert task["forms"]["checks"].ticks
    assert ("spray" in task["forms"]) is (Operation(operation) in SPRAYING)


def test_whoever_starts_a_pivot_reads_how_much_water_it_puts_on(yard: Yard) -> None:
    planned_as(yard, "pivot_start", machine=None, implement=None)
    [dry] = facts_of(yard)["tasks"]
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(part="water", depth_in=Decimal("0.50"))
    [wet] = facts_of(yard)["tasks"]
    says = "con agua, 0.5 pulgadas"
    assert [says in str(one["said"].lines) for one in (dry, wet)] == [False, True]


def test_a_hand_who_sprays_reads_that_the_label_wins_and_one_who_walks_reads_of_no_shafts(yard: Yard) -> None:
    planned_as(yard, "burndown")
    spraying = " ".join(facts_of(yard)["cautions"])
    assert "La etiqueta manda." in spraying
    assert "flecha que gira" in spraying
    planned_as(yard, "debris_walk", machine=None, implement=None, area_ac=Decimal(40))
    walking = " ".join(facts_of(yard)["cautions"])
    assert "víboras" in walking
    assert "flecha que gira" not in walking
