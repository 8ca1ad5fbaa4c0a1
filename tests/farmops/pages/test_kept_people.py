"""The kept page of what goes to whom: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import CareRule, Farm, Field, Hand, Implement, Machine
from farmops.pages.people_page import people_facts, people_mark
from scheduling.models import FieldPass, PlannedCare, PlannedTask, PlanState, WeekPlan
from tests.factories import make_hand
from tests.farmops.pages.conftest import MONDAY, Yard, give_road, signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.scheduling.care_facts import make_rule, make_stop

OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')
TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')


@pytest.fixture
def made(yard: Yard) -> Yard:
    """A second plan, not sent yet, has Rosa change the oil before the same work."""
    of_plan(WeekPlan.objects.get(), pk=None, number=2, state="made", sent_at=None)
    of_plan(PlannedTask.objects.get(), pk=None, plan=WeekPlan.objects.get(number=2))
    stop = make_stop(make_rule(Machine.objects.get()), MONDAY + dt.timedelta(hours=6), hand=yard.hand)
    PlannedCare.objects.filter(pk=stop.pk).update(plan=WeekPlan.objects.get(number=2))
    return yard


def of_plan(row: Any, **facts: Any) -> None:
    for name, value in facts.items():
        setattr(row, name, value)
    row.save()


def seen() -> str:
    answer = signed_in("mona").get("/farms/heron-slough/week/2/people/")
    assert answer.status_code == 200
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def tasks(number: int, **facts: Any) -> None:
    PlannedTask.objects.filter(plan__number=number).update(**facts)


CHANGES: dict[str, Callable[[Yard], object]] = {
    "a hand is renamed": lambda yard: Hand.objects.update(name="Rosa Mae"),
    "a hand has an address": lambda yard: Hand.objects.update(email="rosa@heron.example"),
    "a field is renamed": lambda yard: Field.objects.update(name="Low pond"),
    "a machine is renamed": lambda yard: Machine.objects.update(name="Red tractor"),
    "an implement is renamed": lambda yard: Implement.objects.update(name="Old disk"),
    "a service is another": lambda yard: CareRule.objects.update(what="look at the oil"),
    "a task has other acres": lambda yard: tasks(2, area_ac=Decimal("31.5")),
    "a task is part of a pass": lambda yard: FieldPass.objects.update(part="strip"),
    "the sent plan had it later": lambda yard: tasks(1, starts_at=MONDAY + dt.timedelta(hours=9)),
    "somebody has none now": lambda yard: tasks(1, hand=make_hand(yard.farm, "ada", name="Ada")),
    "no service is planned": lambda yard: PlannedCare.objects.all().delete(),
    "the farm is renamed": lambda yard: Farm.objects.update(name="Long Slough"),
    "no plan was sent before": lambda yard: WeekPlan.objects.filter(number=1).update(state="replaced"),
    "the plan is sent": lambda yard: WeekPlan.objects.filter(number=2).update(state=PlanState.SENT),
}


def test_whatever_changes_is_shown_at_once(made: Yard) -> None:
    assert not unseen_changes(made, CHANGES, seen)


def test_each_table_that_the_page_reads_is_in_its_mark(made: Yard) -> None:
    before, plan = WeekPlan.objects.order_by("number")
    with CaptureQueriesContext(connection) as read:
        assert people_facts(plan=plan, before=before)["people"]
    with CaptureQueriesContext(connection) as marked:
        people_mark(plan=plan, before=before)
    assert tables(read) - {"farms_farm"} <= tables(marked)


def tables(asked: CaptureQueriesContext) -> set[str]:
    return {table for one in asked for table in TABLE.findall(one["sql"])}


def test_work_of_two_days_says_so_and_that_it_goes_on_the_day_after(made: Yard) -> None:
    plan, tuesday_min = WeekPlan.objects.get(number=2), 24 * 60
    plan.problem["resources"][2]["calendar"].append({"from": tuesday_min + 420, "to": tuesday_min + 720})
    plan.problem["tasks"][0]["open"].append({"from": tuesday_min + 480, "to": tuesday_min + 720})
    plan.plan["tasks"][0]["to"] = tuesday_min + 540
    plan.save()
    tasks(2, ends_at=MONDAY + dt.timedelta(days=1, hours=9))
    assert re.findall(r'<td class="n fig">([^<]+)</td>', seen()) == ["40.0 ac over 2 days", "goes on"]


@pytest.mark.parametrize(
    ("minutes", "told"), [(60, []), (95, ["leave by 6:25 am"]), (500, ["not there before 8:20 am"])]
)
def test_who_has_a_longer_way_than_the_plan_leaves_is_told_before_it_is_sent(
    made: Yard, minutes: int, told: list[str]
) -> None:
    """Rosa is at work from 7 am, the disking begins at 8 am, and nobody leaves before the plan begins."""
    give_road(WeekPlan.objects.get(number=2), minutes)
    assert re.findall(r"Pond 40 · disk[^<]*(?:<b>[^<]*</b>)? · <b>([^<]+)</b>", seen()) == told
