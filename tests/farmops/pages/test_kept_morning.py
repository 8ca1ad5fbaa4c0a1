"""The kept page of the morning: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.desk.days import known_day
from farmops.farms.models import CareRule, Farm, Field, Hand, HandAway, Machine, Pivot, Shift
from farmops.pages.morning_kept import morning_mark
from farmops.pages.morning_page import morning_facts
from farmops.pages.today_people import people_of
from farmops.pages.today_waits import waits_of
from farmops.weather.models import GaugeReading
from scheduling.models import FieldPass, PassState, PivotPlace, PlannedCare, PlannedTask, SaySo, WeekPlan
from tests.factories import make_hand
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.scheduling.care_facts import make_pivot, make_rule, make_stop
from tests.scheduling.ground import SUNDAY, make_dry_spring

NOW = MONDAY + dt.timedelta(hours=5)
DAY = MONDAY.date()
OF_ONE_ANSWER = re.compile(r'name="(csrfmiddlewaretoken|client_id)" value="[^"]+"')
TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')
NOT_MARKED = {
    "weather_groundkept",
    "weather_fieldgroundkept",
    "farms_farm",
    "core_user",
}
"""The ground, which is worked out under the same mark; the farm, which is in it as it was read; and who set a limit,
which is read with it and not shown."""


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    rule = make_rule(Machine.objects.get(), place="yard")
    make_stop(rule, MONDAY + dt.timedelta(hours=9), hand=make_hand(yard.farm, "teo", name="Teo"))
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return yard


def seen() -> str:
    answer = signed_in("mona").get("/farms/heron-slough/morning/")
    assert answer.status_code == 200
    assert b"\0" not in answer.content
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def seen_running(yard: Yard) -> None:
    pivot = Pivot.objects.first() or make_pivot(yard.field)
    PivotPlace.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), pivot=pivot, seen_at=NOW, is_running=True, recorded_at=NOW
    )


def no_report_came(yard: Yard) -> None:
    FieldPass.objects.update(state=PassState.SENT)
    PlannedTask.objects.update(
        starts_at=MONDAY + dt.timedelta(hours=3), ends_at=MONDAY + dt.timedelta(hours=4)
    )


def another_plan(yard: Yard) -> None:
    plan = WeekPlan.objects.get()
    plan.pk, plan.number, plan.state, plan.sent_at = None, 2, "made", None
    plan.save()


CHANGES: dict[str, Callable[[Yard], object]] = {
    "the grower says a word": lambda yard: SaySo.objects.create(
        farm=yard.farm, field=yard.field, day=DAY, word="not_today", said_at=NOW
    ),
    "rain is told of": lambda yard: GaugeReading.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        recorded_at=NOW,
        field=yard.field,
        day=SUNDAY,
        rain_in=Decimal("0.4"),
    ),
    "a field is renamed": lambda yard: Field.objects.update(name="Low pond"),
    "a task begins later": lambda yard: PlannedTask.objects.update(starts_at=MONDAY + dt.timedelta(hours=9)),
    "the work is another": lambda yard: FieldPass.objects.update(operation="rip_bed"),
    "it is done": lambda yard: FieldPass.objects.update(state=PassState.FINISHED),
    "and was other work": lambda yard: FieldPass.objects.update(operation="shred"),
    "a shift begins later": lambda yard: Shift.objects.update(starts_at=dt.time(8, 45)),
    "a hand is renamed": lambda yard: Hand.objects.update(name="Rosa Mae"),
    "there is another hand": lambda yard: make_hand(yard.farm, "ada"),
    "a hand is away": lambda yard: HandAway.objects.create(
        farm=yard.farm, hand=yard.hand, first_on=DAY, last_on=DAY
    ),
    "a machine is down": lambda yard: Machine.objects.update(down_until=NOW + dt.timedelta(hours=2)),
    "a machine is renamed": lambda yard: Machine.objects.update(name="Red tractor"),
    "a service is another": lambda yard: CareRule.objects.update(what="look at the oil"),
    "a service begins later": lambda yard: PlannedCare.objects.update(
        starts_at=MONDAY + dt.timedelta(hours=9, minutes=30)
    ),
    "no service is planned": lambda yard: PlannedCare.objects.all().delete(),
    "a pivot is seen running": seen_running,
    "no report came of the work": no_report_came,
    "there is another plan": another_plan,
    "no plan is sent": lambda yard: WeekPlan.objects.update(state="made", sent_at=None),
    "the farm is renamed": lambda yard: Farm.objects.update(name="Long Slough"),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(spring: Yard) -> None:
    assert not unseen_changes(spring, CHANGES, seen)


def test_what_waits_is_told_of_the_instant(spring: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    Machine.objects.update(down_until=NOW + dt.timedelta(hours=2))
    assert "is down, back about" in seen()
    monkeypatch.setattr(clock, "now", lambda: NOW + dt.timedelta(hours=3))
    assert "is down, back about" not in seen()


def test_each_table_that_the_page_reads_is_in_its_mark(spring: Yard) -> None:
    known = known_day(farm=spring.farm, today=DAY)
    seen_running(spring)
    keeping: dict[str, Callable[[], object]] = {}

    def keep(name: str, of: object, make: Callable[[], Any]) -> Any:
        keeping[name] = make
        return make()

    assert waits_of(farm=spring.farm, now=NOW, keep=keep)
    seen()
    with CaptureQueriesContext(connection) as read:
        morning_facts(farm=spring.farm, today=DAY, known=known, now=NOW, typed={}, wrong={})
        assert people_of(farm=spring.farm, day=known.day)
        assert not keeping["unreported"]()
        assert keeping["pivots"]()
    with CaptureQueriesContext(connection) as marked:
        morning_mark(farm=spring.farm, known=known)
    assert tables(read) - NOT_MARKED <= tables(marked)


def tables(asked: CaptureQueriesContext) -> set[str]:
    return {table for one in asked for table in TABLE.findall(one["sql"])}


def test_a_pivot_that_is_seen_after_an_old_record_ended_is_in_the_mark(spring: Yard) -> None:
    known = known_day(farm=spring.farm, today=DAY + dt.timedelta(days=90))
    assert known.day < DAY + dt.timedelta(days=90)
    make_pivot(spring.field)
    before = morning_mark(farm=spring.farm, known=known)
    PivotPlace.objects.create(
        farm=spring.farm, client_id=uuid.uuid4(), pivot=Pivot.objects.get(), is_running=False, recorded_at=NOW,
        seen_at=NOW + dt.timedelta(days=90),
    )  # fmt: skip
    assert morning_mark(farm=spring.farm, known=known) != before
