"""What things run by days, reported and planned, and the days on which services are likely to fall due."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.care import Use
from scheduling.models import FieldPass, PlannedTask
from scheduling.selectors.care_ahead import care_ahead, thing_key
from scheduling.selectors.machine_use import pace_of, planned_use, use_by_day
from scheduling.selectors.work_of_things import work_at_hand
from tests.factories import make_field, make_implement, make_machine, make_pass, make_season
from tests.scheduling.care_facts import make_pivot, make_rule, make_seen, make_stop, make_work
from tests.scheduling.ground import MONDAY, NEW_YORK

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 4, 20)


@pytest.fixture
def tractor(farm: Farm) -> Machine:
    return Machine.objects.get(farm=farm)


@pytest.fixture
def disking(farm: Farm) -> FieldPass:
    return make_pass(make_season(make_field(farm)))


def plan_task(
    disking: FieldPass, tractor: Machine | None, begins: dt.datetime, hours: float, **facts: object
) -> None:
    stop = make_stop(make_rule(tractor or Machine.objects.get(), f"rule-{begins:%d%H}"), begins)
    defaults = {
        "operation": "disk",
        "machine": tractor,
        "work_min": round(hours * 60),
        "area_ac": Decimal(30),
    }
    PlannedTask.objects.create(
        farm=disking.farm,
        plan=stop.plan,
        task_key=f"{disking.pk}-{begins:%d%H}",
        field_pass=disking,
        field=disking.season.field,
        mode="-",
        starts_at=begins,
        ends_at=begins + dt.timedelta(hours=hours),
        **{**defaults, **facts},
    )


def april(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 4, day, hour, tzinfo=NEW_YORK)


def test_reported_use_adds_up_by_day_and_a_day_is_one_outing(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    hand, disk = Hand.objects.get(farm=farm), Implement.objects.get(farm=farm)
    for day, minutes in ((16, 60), (17, 90), (17, 120), (18, 0)):
        make_work(
            disking,
            hand,
            dt.date(2026, 4, day),
            machine=tractor,
            implement=disk,
            machine_min=minutes,
            done_ac=Decimal(minutes) / 6,
        )
    used = use_by_day(farm=farm, since=dt.date(2026, 4, 17), at=MONDAY)
    whole = {dt.date(2026, 4, 17): Use(Decimal("3.5"), Decimal(35), Decimal(1))}
    assert used == {("Machine", tractor.pk): whole, ("Implement", disk.pk): whole}
    assert pace_of(whole, days=28) == Use(Decimal("0.125"), Decimal("1.25"), Decimal(1) / 28)


def test_a_pivot_that_runs_over_midnight_runs_on_both_days_and_starts_once(disking: FieldPass) -> None:
    pivot = make_pivot(disking.season.field)
    make_seen(pivot, april(17, 18), is_running=True)
    make_seen(pivot, april(18, 9), is_running=False)
    used = use_by_day(farm=disking.farm, since=dt.date(2026, 4, 1), at=MONDAY)
    assert used["Pivot", pivot.pk] == {
        dt.date(2026, 4, 17): Use(Decimal(6), Decimal(0), Decimal(1)),
        dt.date(2026, 4, 18): Use(Decimal(9), Decimal(0), Decimal(0)),
    }


def test_planned_use_is_shared_to_the_days_of_the_plan_from_today_on(
    disking: FieldPass, tractor: Machine
) -> None:
    """A turn of 30 h from Monday 6 pm has 6 h on Monday and 24 on Tuesday; what was planned for before now is past."""
    pivot = make_pivot(disking.season.field)
    plan_task(disking, tractor, april(20, 6), 2)
    plan_task(disking, tractor, april(21, 7), 5)
    plan_task(disking, None, april(20, 18), 30, operation="irrigate", area_ac=Decimal(0))
    days, planned = planned_use(farm=disking.farm, now=april(20, 9))
    assert (days[0], len(days)) == (TODAY, 7)
    assert planned["Machine", tractor.pk] == {dt.date(2026, 4, 21): Use(Decimal(5), Decimal(30), Decimal(1))}
    assert planned["Pivot", pivot.pk] == {
        TODAY: Use(Decimal(6), Decimal(0), Decimal(1)),
        dt.date(2026, 4, 21): Use(Decimal(24), Decimal(0), Decimal(0)),
    }
    assert planned_use(farm=disking.farm, now=april(28)) == ([], {})


def test_what_falls_due_goes_by_the_plan_and_then_by_the_pace(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    """14 h left: 5 planned on Tuesday; from Monday on 0.5 h a day (14 h in 28 days), so 9 h are 18 days: May 14."""
    hand = Hand.objects.get(farm=farm)
    plan_task(disking, tractor, april(21, 7), 5)
    for day in (1, 2):
        make_work(disking, hand, dt.date(2026, 4, day), machine=tractor, machine_min=420)
    make_rule(tractor, "a-grease", every_h=Decimal(28))
    make_rule(tractor, "b-filters", every_days=30, counts_from_on=dt.date(2026, 4, 1))
    make_rule(make_machine(farm, "tractor-2"), "c-idle")
    found = {one.due.rule.code: one for one in care_ahead(farm=farm, now=april(20, 6))}
    assert found["a-grease"].expected_on == dt.date(2026, 5, 14)
    assert found["b-filters"].expected_on == dt.date(2026, 5, 1)
    assert found["c-idle"].expected_on is None
    assert found["rule-2107"].stop is not None
    order = list(found)
    assert order.index("b-filters") < order.index("a-grease") < order.index("c-idle")


def test_the_services_of_one_thing_are_told_as_among_all(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    plan_task(disking, tractor, april(21, 7), 5)
    make_work(disking, Hand.objects.get(farm=farm), dt.date(2026, 4, 2), machine=tractor, machine_min=420)
    make_rule(tractor, "a-grease", every_h=Decimal(28))
    make_rule(tractor, "b-unused", is_used=False)
    make_rule(make_machine(farm, "tractor-2"), "c-idle")
    make_rule(make_implement(farm, "drill"), "d-oil", every_days=9)
    make_rule(make_pivot(disking.season.field), "e-gears", every_starts=3)
    whole = care_ahead(farm=farm, now=april(20, 6))
    for thing in {thing_key(one.due.rule) for one in whole}:
        alone = care_ahead(farm=farm, now=april(20, 6), only=thing)
        assert alone == [one for one in whole if thing_key(one.due.rule) == thing]
    assert len(whole) == 5


def test_many_services_are_told_in_as_many_queries_as_one(farm: Farm, tractor: Machine) -> None:
    make_rule(tractor)
    with CaptureQueriesContext(connection) as one:
        care_ahead(farm=farm, now=MONDAY)
    for number in range(5):
        make_rule(make_machine(farm, f"tractor-1{number}"), f"oil-{number}")
    with CaptureQueriesContext(connection) as many:
        care_ahead(farm=farm, now=MONDAY)
    assert len(many) <= len(one) + 1


def test_work_at_hand_is_read_again_when_there_is_more_even_with_an_older_number(
    farm: Farm, disking: FieldPass, tractor: Machine
) -> None:
    """A record may be seen after one with a higher number: its transaction took longer."""

    def minutes() -> list[int]:
        return [one.engine_min for one in work_at_hand(farm=farm).get(("Machine", tractor.pk), ())]

    hand = Hand.objects.get(farm=farm)
    assert minutes() == []
    newest = make_work(disking, hand, TODAY, machine=tractor, machine_min=20, pk=500)
    assert minutes() == [20]
    make_work(disking, hand, TODAY, machine=tractor, machine_min=30, pk=400)
    assert sorted(minutes()) == [20, 30]
    make_work(disking, hand, TODAY, machine=tractor, machine_min=45, supersedes=newest)
    assert sorted(minutes()) == [30, 45]
    with CaptureQueriesContext(connection) as asked:
        assert sorted(minutes()) == [30, 45]
    assert len(asked) == 1
