"""Service by starts, of pivots, and of machines whose meter was replaced, read wrong or not at all."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Pivot
from scheduling.care import TooFast
from scheduling.models import FieldPass, FieldReport, ParkedReport, ReadingSetAside, Watering
from scheduling.selectors.care import CareDue, care_due
from scheduling.selectors.meters import meter_states, shown_h
from scheduling.selectors.pivot_runs import pivot_runs
from scheduling.solver import parse_problem, solve
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.scheduling.care_facts import (
    make_done,
    make_pivot,
    make_reading,
    make_replaced,
    make_rule,
    make_seen,
    make_work,
)
from tests.scheduling.ground import MONDAY, NEW_YORK, SUNDAY_EVENING
from tests.scheduling.problems import built, resource, task

pytestmark = pytest.mark.django_db


def april(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 4, day, hour, tzinfo=NEW_YORK)


def due(farm: Farm, code: str) -> CareDue:
    return next(one for one in care_due(farm=farm, at=MONDAY) if one.rule.code == code)


@pytest.fixture
def tractor(farm: Farm) -> Machine:
    return Machine.objects.get(farm=farm)


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return Hand.objects.get(farm=farm)


@pytest.fixture
def field(farm: Farm) -> Field:
    return make_field(farm)


@pytest.fixture
def disking(field: Field) -> FieldPass:
    return make_pass(make_season(field))


@pytest.fixture
def pivot(field: Field) -> Pivot:
    return make_pivot(field)


def water(field: Field, day: int, depth_in: str = "0.50", **facts: object) -> Watering:
    return Watering.objects.create(
        farm=field.farm,
        client_id=uuid.uuid4(),
        field=field,
        water_on=dt.date(2026, 4, day),
        depth_in=Decimal(depth_in),
        recorded_at=SUNDAY_EVENING,
        **facts,
    )


def test_starts_are_the_days_on_which_a_thing_went_out(farm: Farm, disking: FieldPass, hand: Hand) -> None:
    """Twice on the 6th and once on the 8th are two starts; what did not come about on the 9th is none."""
    disk = Implement.objects.get(farm=farm)
    make_rule(disk, "bolts", every_starts=5, counts_from_on=dt.date(2026, 4, 5))
    for day, minutes in ((3, 60), (6, 60), (6, 90), (8, 120), (9, 0)):
        make_work(disking, hand, dt.date(2026, 4, day), implement=disk, machine_min=minutes)
    found = due(farm, "bolts")
    assert (found.run.starts, found.left.starts) == (2, 3)
    assert [row["id"] for row in built(farm).problem["tasks"]] == ["pond-40/disk", "care:bolts"]


def test_service_counts_on_where_the_meter_was_replaced(
    tractor: Machine, disking: FieldPass, hand: Hand
) -> None:
    """Oil at 2,500.0; the old meter ended at 2,620.0, the new one shows 12.5; 2 h worked since: 134.5 h of 250."""
    make_done(make_rule(tractor), april(1), meter_h=Decimal("2500.0"))
    make_replaced(tractor, april(10), "2620.0")
    make_reading(tractor, "12.5", april(15))
    make_work(disking, hand, dt.date(2026, 4, 17), machine=tractor, machine_min=120)
    found = due(tractor.farm, "oil")
    assert (found.run.hours, found.left.hours, found.meter_h) == (
        Decimal("134.5"),
        Decimal("115.5"),
        Decimal("14.5"),
    )


def test_a_service_on_the_new_meter_counts_from_it(tractor: Machine) -> None:
    rule = make_rule(tractor)
    make_replaced(tractor, april(10), "2620.0")
    make_done(rule, april(12), meter_h=Decimal("5.0"))
    make_reading(tractor, "12.5", april(15))
    assert due(tractor.farm, "oil").run.hours == Decimal("7.5")


def test_a_count_that_began_on_the_new_meter_names_its_day(tractor: Machine) -> None:
    """Meter 2.0 on April 12 is of the new one; without a day 2,500.0 is of the first."""
    make_replaced(tractor, april(10), "2620.0")
    make_reading(tractor, "12.5", april(15))
    make_rule(tractor, "new", counts_from_h=Decimal("2.0"), counts_from_on=dt.date(2026, 4, 12))
    make_rule(tractor, "first", counts_from_h=Decimal("2500.0"))
    assert due(tractor.farm, "new").run.hours == Decimal("10.5")
    assert due(tractor.farm, "first").run.hours == Decimal("132.5")


def test_a_reading_that_was_set_aside_counts_no_more(tractor: Machine) -> None:
    make_reading(tractor, "2410.0", april(14))
    wrong = make_reading(tractor, "2433.0", april(15))
    assert shown_h(machine=tractor, at=MONDAY) == Decimal("2433.0")
    ReadingSetAside.objects.create(
        farm=tractor.farm, reading=wrong, why="read on the other tractor", recorded_at=SUNDAY_EVENING
    )
    assert shown_h(machine=tractor, at=MONDAY) == Decimal("2410.0")


def test_a_meter_tells_what_is_wrong_with_it(tractor: Machine, disking: FieldPass, hand: Hand) -> None:
    (fine,) = meter_states(farm=tractor.farm, at=MONDAY)
    assert (fine.shows_h, fine.newest, fine.is_odd) == (Decimal("2400.0"), None, False)
    make_reading(tractor, "2405.0", april(10, 8))
    make_reading(tractor, "2425.0", april(10, 18))
    report = FieldReport.objects.create(
        farm=tractor.farm,
        client_id=uuid.uuid4(),
        hand=hand,
        kind="meter",
        body={"machine": tractor.code, "reading": "2411.0"},
        body_hash="-",
        received_at=SUNDAY_EVENING,
    )
    parked = ParkedReport.objects.create(farm=tractor.farm, report=report, code="meter_runs_backwards")
    (state,) = meter_states(farm=tractor.farm, at=MONDAY)
    (fast,) = state.disagreements
    assert isinstance(fast, TooFast)
    assert (fast.gained_h, fast.passed_h) == (20, 10)
    assert (state.waiting, state.is_odd) == ((parked,), True)
    assert state.newest is not None
    assert state.newest.hours == Decimal("2425.0")
    (later,) = meter_states(farm=tractor.farm, at=MONDAY + dt.timedelta(days=90))
    assert later.disagreements == ()


def test_a_pivots_hours_and_starts_come_from_what_was_seen_and_from_water(pivot: Pivot) -> None:
    """Seen running for 30 h from the 10th; water on the 11th is of that turn; on the 14th it is one of its own.

    Half an inch on 40 acres at 900 gal/min: 0.5 x 40 x 452.57 / 900 is 10.06 h, less than a dry round of 1,048 min.
    """
    make_seen(pivot, april(10, 6), is_running=True)
    make_seen(pivot, april(11, 12), is_running=False)
    for day in (11, 14):
        water(pivot.field, day)
    water(pivot.field, 16, supersedes=water(pivot.field, 16), is_taken_back=True)
    ran = pivot_runs(farm=pivot.farm, pivots=[pivot], at=MONDAY)[pivot.pk]
    assert [
        (begins.astimezone(NEW_YORK).day, (ends - begins) // dt.timedelta(minutes=1)) for begins, ends in ran
    ] == [
        (10, 1_800),
        (14, 1_048),
    ]
    make_rule(pivot, "gearboxes", every_h=Decimal(100), every_starts=3, counts_from_on=dt.date(2026, 4, 1))
    found = due(pivot.farm, "gearboxes")
    assert found.run.hours == Decimal(2_848) / 60
    assert (found.run.starts, found.left.starts, found.run.days) == (2, 1, 19)
    make_done(found.rule, april(12))
    again = due(pivot.farm, "gearboxes")
    assert (again.run.hours, again.run.starts) == (Decimal(1_048) / 60, 1)


def test_a_pivot_is_served_where_it_stands_while_it_stands_still(pivot: Pivot, disking: FieldPass) -> None:
    make_rule(pivot, "tires", every_days=30, counts_from_on=dt.date(2026, 3, 22), place="field", is_must=True)
    result = built(pivot.farm)
    row = task(result, "care:tires")
    assert row["place"] == "pond-40"
    assert [mode["resources"] for mode in row["modes"]] == [["pivot:pond-40", "imani"]]
    assert resource(result, "pivot:pond-40")["roams"] is False
    plan = solve(parse_problem(result.problem), seconds=2, rounds=10, seed=1)
    assert {one.id for one in plan.tasks} == {"care:tires", "pond-40/disk"}


def test_only_who_serves_a_pivot_is_sent_there(farm: Farm, pivot: Pivot, disking: FieldPass) -> None:
    rosa = make_hand(farm, "rosa")
    make_rule(pivot, "tires", rosa, every_days=1, place="field")
    assert [mode["id"] for mode in task(built(farm), "care:tires")["modes"]] == ["pivot:pond-40+rosa"]


def test_a_pivot_that_no_pass_can_run_does_not_fall_due_by_hours(
    farm: Farm, pivot: Pivot, disking: FieldPass
) -> None:
    make_rule(pivot, "gearboxes", every_h=Decimal(10), place="field")
    assert [row["id"] for row in built(farm).problem["tasks"]] == ["pond-40/disk"]
