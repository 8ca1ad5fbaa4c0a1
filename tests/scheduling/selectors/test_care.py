"""What service is due when, and the stops that a problem has for it."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import CareRule, Farm, Hand, Implement, Machine
from scheduling.models import FieldPass
from scheduling.selectors.care import CareDue, care_due
from scheduling.selectors.meters import shown_h
from scheduling.solver import parse_problem, solve
from tests.factories import make_field, make_hand, make_machine, make_pass, make_season
from tests.scheduling.care_facts import make_done, make_reading, make_rule, make_work
from tests.scheduling.ground import MONDAY, NEW_YORK, SUNDAY_EVENING
from tests.scheduling.problems import built, resource, task

pytestmark = pytest.mark.django_db


def april(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 4, day, hour, tzinfo=NEW_YORK)


def due(farm: Farm, code: str = "oil") -> CareDue:
    return next(one for one in care_due(farm=farm, at=MONDAY) if one.rule.code == code)


@pytest.fixture
def tractor(farm: Farm) -> Machine:
    return Machine.objects.get(farm=farm)


@pytest.fixture
def disking(farm: Farm) -> FieldPass:
    return make_pass(make_season(make_field(farm)))


def test_hours_run_since_the_last_service_come_from_readings_and_from_work_since(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    """The meter began at 2,400; oil at 2,500.0; 2,690.5 read on the 15th, 150 minutes worked after it: 193.0 h run."""
    rule = make_rule(tractor)
    make_done(rule, april(1), meter_h=Decimal("2500.0"))
    make_reading(tractor, "2690.5", april(15, 18))
    hand = Hand.objects.get(farm=farm)
    for day, minutes in ((10, 400), (15, 90), (17, 150)):
        make_work(disking, hand, dt.date(2026, 4, day), machine=tractor, machine_min=minutes)
    found = due(farm)
    assert (found.meter_h, found.run.hours, found.left.hours) == (
        Decimal("2693.0"),
        Decimal("193.0"),
        Decimal("57.0"),
    )
    assert shown_h(machine=tractor, at=MONDAY) == Decimal("2693.0")


def test_work_that_is_at_hand_is_read_anew_when_there_is_more_of_it(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    make_rule(tractor)
    hand = Hand.objects.get(farm=farm)
    reported = make_work(disking, hand, dt.date(2026, 4, 15), machine=tractor, machine_min=60)
    assert due(farm).run.hours == 1
    with CaptureQueriesContext(connection) as asked:
        assert due(farm).run.hours == 1
    assert sum("scheduling_workrecord" in one["sql"] for one in asked) == 1
    make_work(disking, hand, dt.date(2026, 4, 16), machine=tractor, machine_min=120)
    assert due(farm).run.hours == 3
    make_work(disking, hand, dt.date(2026, 4, 15), machine=tractor, machine_min=240, supersedes=reported)
    assert due(farm).run.hours == 6


def test_before_any_service_is_recorded_the_rule_says_where_it_counts_from(tractor: Machine) -> None:
    make_reading(tractor, "2600.0")
    make_rule(tractor, "from-entry")
    make_rule(tractor, "from-meter", counts_from_h=Decimal("2390.0"))
    make_rule(tractor, "from-day", counts_from_on=dt.date(2026, 4, 19), every_days=30)
    run = {one.rule.code: one.run for one in care_due(farm=tractor.farm, at=MONDAY)}
    assert run["from-entry"].hours == Decimal("200.0")
    assert run["from-meter"].hours == Decimal("210.0")
    assert run["from-day"].days == 1


def test_a_service_that_was_taken_back_or_corrected_counts_no_more(tractor: Machine) -> None:
    rule = make_rule(tractor, every_days=100)
    first = make_done(rule, april(1))
    wrong = make_done(rule, april(18))
    make_done(rule, april(18), supersedes=wrong, is_taken_back=True)
    assert due(tractor.farm).run.days == 19
    make_done(rule, april(2), supersedes=first)
    assert due(tractor.farm).run.days == 18


def test_an_implement_counts_the_hours_and_acres_it_went_out_for(farm: Farm, disking: FieldPass) -> None:
    disk = Implement.objects.get(farm=farm)
    rule = make_rule(disk, "bearings", every_h=Decimal(50), every_ac=Decimal(500))
    hand = Hand.objects.get(farm=farm)
    make_work(disking, hand, dt.date(2026, 4, 3), implement=disk, done_ac=Decimal(30))
    make_done(rule, april(4))
    make_work(disking, hand, dt.date(2026, 4, 6), implement=disk, machine_min=600, done_ac=Decimal(120))
    found = due(farm, "bearings")
    assert (found.run.hours, found.run.acres, found.meter_h) == (Decimal(10), Decimal(120), None)
    assert (found.left.hours, found.left.acres) == (Decimal(40), Decimal(380))


def test_many_rules_are_read_in_as_many_queries_as_one(farm: Farm, tractor: Machine) -> None:
    make_rule(tractor)
    with CaptureQueriesContext(
        connection,
    ) as one:
        care_due(farm=farm, at=MONDAY)
    for number in range(6):
        make_rule(make_machine(farm, f"tractor-1{number}"), f"oil-{number}", Hand.objects.get(farm=farm))
    with CaptureQueriesContext(connection) as many:
        care_due(farm=farm, at=MONDAY)
    assert len(many) <= len(one) + 1


def near_its_limit(tractor: Machine, **facts: Any) -> CareRule:
    """Eight hours are left of 250."""
    make_reading(tractor, "2642.0")
    return make_rule(tractor, **facts)


def test_a_service_that_must_be_done_starts_before_the_hours_left_can_have_been_run(
    tractor: Machine, disking: FieldPass
) -> None:
    """Eight hours of Monday's shift, 7 am to noon and from 12:30, end at 3:30 pm; less the hour that it takes."""
    near_its_limit(tractor, is_must=True)
    result = built(tractor.farm)
    row = task(result, "care:oil")
    assert (row["latest"], row["leave_cents"], "due" in row) == (15 * 60 + 30 - 60, None, False)
    assert row["modes"] == [
        {"id": "tractor-1+imani", "resources": ["tractor-1", "imani"], "minutes": 60, "cents": 1_800}
    ]
    assert (row["place"], row["operation"]) == ("yard", "care")
    plan = solve(parse_problem(result.problem), seconds=2, rounds=10, seed=1)
    planned = {one.id: one for one in plan.tasks}
    assert set(planned) == {"care:oil", "pond-40/disk"}
    assert planned["care:oil"].start <= 14 * 60 + 30


def test_another_service_is_due_when_the_hours_left_are_likely_to_have_been_run(
    tractor: Machine, disking: FieldPass
) -> None:
    """Eight hours at three fifths of the time take 800 minutes of shift: 630 of Monday, 170 of Tuesday from 7 am."""
    near_its_limit(tractor)
    row = task(built(tractor.farm), "care:oil")
    assert (row["due"], row["late_cents_per_hour"], row["leave_cents"]) == (1440 + 420 + 170, 500, 30_000)
    assert "latest" not in row


def test_a_service_that_is_over_is_done_as_soon_as_it_can_be(tractor: Machine, disking: FieldPass) -> None:
    make_reading(tractor, "2700.0")
    make_rule(tractor, is_must=True)
    row = task(built(tractor.farm), "care:oil")
    assert row["latest"] == 7 * 60
    plan = solve(parse_problem(built(tractor.farm).problem), seconds=2, rounds=10, seed=1)
    assert next(one for one in plan.tasks if one.id == "care:oil").start == 7 * 60


def test_what_has_days_left_is_due_at_the_end_of_its_day(tractor: Machine, disking: FieldPass) -> None:
    make_rule(tractor, every_days=30, counts_from_on=dt.date(2026, 3, 24))
    assert task(built(tractor.farm), "care:oil")["due"] == 3 * 1440, "30 days are up as April 23 begins"


def test_what_is_not_due_in_these_days_is_not_in_the_plan(tractor: Machine, disking: FieldPass) -> None:
    make_rule(tractor)
    make_rule(tractor, "unused", every_days=1, is_used=False)
    assert [row["id"] for row in built(tractor.farm).problem["tasks"]] == ["pond-40/disk"]


def test_a_machine_that_no_pass_can_use_runs_no_hours_but_what_is_over_is_done(
    farm: Farm, disking: FieldPass
) -> None:
    idle = make_machine(farm, "tractor-small", power_hp=Decimal(60))
    make_reading(idle, "2645.0")
    make_rule(idle)
    assert [row["id"] for row in built(farm).problem["tasks"]] == ["pond-40/disk"]
    make_rule(idle, "grease", every_h=Decimal(10))
    assert task(built(farm), "care:grease")["due"] == 0


def test_only_who_does_a_service_does_it_and_nobody_is_a_clash_where_it_must_be(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    rosa = make_hand(farm, "rosa")
    make_rule(tractor, "oil", rosa, every_days=1, is_must=True)
    assert [mode["id"] for mode in task(built(farm), "care:oil")["modes"]] == ["tractor-1+rosa"]
    Hand.objects.filter(pk=rosa.pk).update(works=False)
    (refused,) = built(farm).not_offered
    assert (refused.key, refused.is_a_clash) == ("care:oil", True)
    assert refused.why == "Nobody here can do this in these days: change engine oil and filter, tractor-1."


def test_a_thing_that_is_down_all_week_is_not_served(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    make_rule(tractor, every_days=1, is_must=True)
    make_machine(farm, "tractor-2")
    Machine.objects.filter(pk=tractor.pk).update(down_until=MONDAY + dt.timedelta(days=30))
    (refused,) = built(farm).not_offered
    assert (refused.why, refused.is_a_clash) == ("tractor-1 does no field work in these days.", False)


def test_grease_is_put_in_where_the_implement_stands_and_oil_where_the_yard_is(
    farm: Farm, tractor: Machine, disking: FieldPass
) -> None:
    """A disk that rests in the field is greased there by a hand alone; to be served at the yard it has to be pulled."""
    disk, hand = Implement.objects.get(farm=farm), Hand.objects.get(farm=farm)
    make_work(disking, hand, dt.date(2026, 4, 18), machine=tractor, implement=disk, done_ac=Decimal(5))
    make_rule(disk, "grease", every_days=1, place="field", takes_min=20)
    make_rule(disk, "blades", every_days=1)
    result = built(farm)
    grease, blades = task(result, "care:grease"), task(result, "care:blades")
    assert (grease["place"], grease["modes"][0]["resources"]) == ("pond-40", ["disk-1", "imani"])
    assert (blades["place"], blades["modes"][0]["resources"]) == ("yard", ["tractor-1", "disk-1", "imani"])
    assert blades["modes"][0]["setup"] == "disk-1"
    assert resource(result, "disk-1")["home"] == "pond-40"


def test_a_stop_is_not_before_the_present(tractor: Machine, disking: FieldPass) -> None:
    make_rule(tractor, every_days=1, is_must=True)
    tuesday = MONDAY + dt.timedelta(days=1, hours=9, minutes=7)
    row = task(built(tractor.farm, now=tuesday), "care:oil")
    assert row["earliest"] == 1440 + 547
    assert row["latest"] == 1440 + 555
    assert tuesday > SUNDAY_EVENING
