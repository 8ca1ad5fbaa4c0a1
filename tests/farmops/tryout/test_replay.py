"""A day played from a sent plan: what rain, a puncture and unfinished work before it do to the records."""

import dataclasses
import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Shift
from farmops.tryout.replay import PACE_SPREAD, play_day
from farmops.tryout.scenario import Input, Puncture, Rain, Scenario, read_scenario
from scheduling.models import FieldPass, HourReading, Incident, PassLink, PassState, WeekPlan, WorkRecord
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.farmops.digests.planned import MONDAY, add_to_documents, at, make_plan, make_task

pytestmark = pytest.mark.django_db
EVENING = at(MONDAY, 20)
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def plan(farm: Farm) -> WeekPlan:
    """One pass of 40 ac, planned for Monday from 7 to 12 with tractor, disk and hand."""
    plan = make_plan(farm)
    field_pass = make_pass(make_season(make_field(farm)), state=PassState.SENT)
    make_task(plan, make_hand(farm), field_pass, machine=make_machine(farm), implement=make_implement(farm))
    return plan


@pytest.fixture
def dry() -> Scenario:
    """The demo's scenario without its rain and its puncture."""
    scenario = read_scenario()
    later = dataclasses.replace(scenario.puncture, on=MONDAY + dt.timedelta(days=30))
    return dataclasses.replace(scenario, rain=(), puncture=later)


def rain(*hours: tuple[int, int]) -> tuple[Rain, ...]:
    return tuple(Rain(MONDAY, dt.time(a), dt.time(b), "a storm") for a, b in hours)


def test_a_dry_day_does_what_the_plan_says_and_reads_the_meter(
    farm: Farm, plan: WeekPlan, dry: Scenario
) -> None:
    report = play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING)
    record = WorkRecord.objects.get()
    assert (record.done_ac, record.is_finished, record.work_on) == (40, True, MONDAY)
    assert record.hand_min == pytest.approx(300, abs=300 * PACE_SPREAD + 1)
    assert record.machine_min == record.hand_min
    assert record.starts_at == at(MONDAY, 7)
    assert FieldPass.objects.get().state == PassState.FINISHED
    reading = HourReading.objects.get()
    assert reading.reading_h == Decimal("2400.0") + round(Decimal(record.machine_min) / 60, 1)
    assert (report.records, report.stopped, report.puncture) == (1, [], None)


def test_the_same_day_played_again_adds_nothing(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING)
    again = play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING)
    assert again.records == 0
    assert WorkRecord.objects.count() == 1
    assert HourReading.objects.count() == 1


def test_rain_at_ten_leaves_two_fifths_undone_and_says_why(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    stormy = dataclasses.replace(dry, rain=rain((10, 16)))
    report = play_day(farm=farm, scenario=stormy, day=MONDAY, now=EVENING)
    record = WorkRecord.objects.get()
    assert (record.done_ac, record.is_finished) == (24, False)
    assert record.hand_min == pytest.approx(180, abs=180 * PACE_SPREAD + 1)
    assert record.not_done_why == "a storm"
    assert FieldPass.objects.get().state == PassState.UNDER_WAY
    assert report.stopped == ["pond-40/disk stopped: a storm"]


def test_rain_before_the_start_keeps_the_outfit_home(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    stormy = dataclasses.replace(dry, rain=rain((6, 8)))
    report = play_day(farm=farm, scenario=stormy, day=MONDAY, now=EVENING)
    assert WorkRecord.objects.count() == 0
    assert report.stopped == ["pond-40/disk did not start: a storm"]


def test_rain_that_is_over_before_the_start_hinders_nothing(
    farm: Farm, plan: WeekPlan, dry: Scenario
) -> None:
    wet_night = dataclasses.replace(dry, rain=rain((1, 5)))
    assert play_day(farm=farm, scenario=wet_night, day=MONDAY, now=EVENING).records == 1
    assert FieldPass.objects.get().state == PassState.FINISHED


def test_a_task_over_two_days_is_recorded_on_both(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    task = plan.tasks.get()
    task.ends_at = at(TUESDAY, 9)
    task.save()
    add_to_documents(plan, task, worked=[(7 * 60, 12 * 60), (31 * 60, 33 * 60)])
    play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING)
    assert FieldPass.objects.get().state == PassState.UNDER_WAY
    play_day(farm=farm, scenario=dry, day=TUESDAY, now=at(TUESDAY, 20))
    records = list(WorkRecord.objects.order_by("work_on"))
    assert [record.work_on for record in records] == [MONDAY, TUESDAY]
    assert [record.done_ac for record in records] == [Decimal("28.57"), Decimal("11.43")]
    assert FieldPass.objects.get().state == PassState.FINISHED
    readings = HourReading.objects.order_by("read_at").values_list("reading_h", flat=True)
    assert len(readings) == 2
    assert readings[0] < readings[1]


def test_what_waits_for_unfinished_work_is_not_begun(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    disk = FieldPass.objects.get()
    bed = make_pass(disk.season, "rip_bed", state=PassState.SENT)
    PassLink.objects.create(farm=farm, before=disk, after=bed)
    make_task(plan, make_hand(farm, "odell"), bed, hours=(13, 17), mode="tractor-1+bedder-1")
    stormy = dataclasses.replace(dry, rain=rain((10, 12)))
    play_day(farm=farm, scenario=stormy, day=MONDAY, now=EVENING)
    assert not WorkRecord.objects.filter(field_pass=bed).exists()
    assert FieldPass.objects.get(pk=bed.pk).state == PassState.SENT


def test_a_called_off_pass_is_not_worked(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    FieldPass.objects.update(state=PassState.CALLED_OFF)
    assert play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING).records == 0


def test_a_puncture_costs_the_hand_time_and_the_engine_none(
    farm: Farm, plan: WeekPlan, dry: Scenario
) -> None:
    flat = Puncture(MONDAY, "disk", "left rear", "bone", 75, TUESDAY, "Tire Shop", "17", Decimal("212.60"))
    report = play_day(farm=farm, scenario=dataclasses.replace(dry, puncture=flat), day=MONDAY, now=EVENING)
    incident = Incident.objects.get()
    assert report.puncture == incident
    assert (incident.kind, incident.met, incident.lost_min) == ("puncture", "bone", 75)
    assert incident.season == FieldPass.objects.get().season
    assert (incident.places.get().placed_by, incident.mendings.get().mending) == ("phone", "repair")
    record = WorkRecord.objects.get()
    assert record.hand_min == record.machine_min + 75


def test_inputs_go_by_the_acres_done(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    lime = Input("cotton", "disk", "lime", Decimal("0.5"), "ton")
    other = Input("corn", "disk", "lime-for-corn", Decimal("0.5"), "ton")
    stormy = dataclasses.replace(dry, rain=rain((10, 16)), inputs=(lime, other))
    play_day(farm=farm, scenario=stormy, day=MONDAY, now=EVENING)
    uses = WorkRecord.objects.get().inputs.values_list("input_code", "quantity", "unit")
    assert list(uses) == [("lime", Decimal("12.000"), "ton")]


def test_hours_in_an_evening_shift_count_as_overtime(farm: Farm, plan: WeekPlan, dry: Scenario) -> None:
    task = plan.tasks.get()
    Shift.objects.create(
        farm=farm, hand=task.hand, weekday=0, starts_at=dt.time(18), ends_at=dt.time(20), is_overtime=True
    )
    task.starts_at, task.ends_at = at(MONDAY, 16), at(MONDAY, 19)
    task.save()
    add_to_documents(plan, task)
    play_day(farm=farm, scenario=dry, day=MONDAY, now=EVENING)
    assert WorkRecord.objects.get().overtime_min == 60


def test_a_pivot_walks_in_the_rain_and_nobody_is_paid_for_it(
    farm: Farm, plan: WeekPlan, dry: Scenario
) -> None:
    season = FieldPass.objects.get().season
    start = make_pass(season, "pivot_start", area_ac=0, state=PassState.SENT)
    walk = make_pass(season, "pivot_walk", area_ac=0, state=PassState.SENT)
    rosa = make_hand(farm, "rosa")
    make_task(plan, rosa, start, hours=(8, 9), mode="rosa")
    make_task(plan, None, walk, hours=(9, 15), mode="pivot:pond-40")
    play_day(farm=farm, scenario=dataclasses.replace(dry, rain=rain((8, 16))), day=MONDAY, now=EVENING)
    record = WorkRecord.objects.get(field_pass=walk)
    assert (record.hand, record.hand_min, record.is_finished) == (rosa, 0, True)
