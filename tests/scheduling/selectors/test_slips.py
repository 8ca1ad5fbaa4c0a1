"""The slips of a day, read from a farm's records."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import CareRule, Farm, Hand, Implement, Machine
from farmops.farms.operations import Operation
from scheduling.models import (
    CheckTicked,
    FieldPass,
    PassState,
    PlannedTask,
    SaySo,
    Spraying,
    WeekPlan,
    WorkLook,
    WorkRecord,
    WorkSetting,
)
from scheduling.selectors.passes import pass_key
from scheduling.selectors.slips import slips_of_day, slips_of_farm
from scheduling.slips.facts import NewHand
from scheduling.slips.slip import JobSlip
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.farmops.digests.planned import MONDAY, add_to_documents, at, make_plan, make_task, windows_document
from tests.farmops.weather.makers import make_issue
from tests.scheduling.ground import make_pivot

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5)
DAY = dt.timedelta(days=1)


class Yard:
    """A farm with one disking planned for one hand on Monday."""

    def __init__(self, *, zones: dict[str, Any] | None = None, **tool: Any) -> None:
        self.farm: Farm = make_farm(boss_name="Marlene", boss_phone="555-0142", road_address="1 Slough Road")
        self.plan: WeekPlan = make_plan(self.farm, sent_at=MORNING)
        self.hand: Hand = make_hand(self.farm)
        self.machine: Machine = make_machine(self.farm)
        facts = {"draft_kind": "tandem_disk_secondary", "depth_in": 4, "name_es": "rastra", **tool}
        self.implement: Implement = make_implement(self.farm, **facts)
        self.field = make_field(self.farm, entrance="gate 3", road_address="2140 Cane Branch Road")
        self.field_pass: FieldPass = make_pass(make_season(self.field))
        self.task: PlannedTask = self.planned(self.field_pass)

    def planned(self, field_pass: FieldPass, hours: tuple[int, int] = (7, 12), **facts: Any) -> PlannedTask:
        defaults = {"machine": self.machine, "implement": self.implement}
        return make_task(self.plan, self.hand, field_pass, hours=hours, **{**defaults, **facts})

    def slips(self, day: dt.date = MONDAY, now: dt.datetime = MORNING) -> list[JobSlip]:
        return slips_of_day(farm=self.farm, hand=self.hand, day=day, now=now)

    def slip(self, **asked: Any) -> JobSlip:
        [found] = self.slips(**asked)
        return found

    def worked(self, day: dt.date, **facts: Any) -> WorkRecord:
        return WorkRecord.objects.create(
            farm=self.farm,
            client_id=uuid.uuid4(),
            field_pass=facts.pop("field_pass", self.field_pass),
            hand=self.hand,
            work_on=day,
            hand_min=300,
            recorded_at=at(day, 18),
            **facts,
        )

    def looked(self, day: dt.date, cut: str = "right", **settings: str) -> None:
        record = self.worked(day, machine=self.machine, implement=self.implement)
        WorkLook.objects.create(farm=self.farm, work_record=record, ridges="none", cut=cut)
        for key, number in settings.items():
            WorkSetting.objects.create(farm=self.farm, work_record=record, key=key, number=Decimal(number))


def ground_of(field: str, days: dict[dt.date, float]) -> list[dict[str, Any]]:
    rows = [
        {
            "day": day.isoformat(),
            "topsoil_8am_m3_m3": round(0.2 * share, 4),
            "workable_below_m3_m3": 0.2,
            "soil_temp_8am_c": 18.0,
        }
        for day, share in days.items()
    ]
    return [{"field": field, "zone": "all", "days": rows}]


def test_a_slip_says_what_where_when_with_what_and_whom_to_call() -> None:
    yard = Yard()
    slip = yard.slip()
    assert (slip.task_id, slip.pass_id, slip.operation) == (yard.task.pk, yard.field_pass.pk, Operation.DISK)
    assert (slip.number, slip.count) == (1, 1)
    assert (slip.hours.starts_at, slip.hours.ends_at, slip.hours.work_min) == (
        at(MONDAY, 7),
        at(MONDAY, 12),
        300,
    )
    assert (slip.field.name, slip.field.entrance) == ("Pond 40", "gate 3")
    assert slip.implement is not None
    assert slip.implement.name.es == "rastra"
    assert (slip.call.emergency_number, slip.call.road_address) == ("911", "2140 Cane Branch Road")
    assert (slip.call.boss_name, slip.call.boss_phone) == ("Marlene", "555-0142")


def test_a_field_without_an_address_of_its_own_is_found_by_the_farms() -> None:
    yard = Yard()
    yard.field.road_address = ""
    yard.field.save()
    assert yard.slip().call.road_address == "1 Slough Road"


def test_slips_come_in_the_order_of_the_day_and_only_those_of_the_hand() -> None:
    yard = Yard()
    other = make_pass(make_season(make_field(yard.farm, "pond-80")))
    early = yard.planned(other, hours=(5, 7))
    make_task(yard.plan, make_hand(yard.farm, "teo"), make_pass(make_season(make_field(yard.farm, "hill"))))
    assert [(one.task_id, one.number, one.count) for one in yard.slips()] == [
        (early.pk, 1, 2),
        (yard.task.pk, 2, 2),
    ]
    assert sorted(
        len(found) for found in slips_of_farm(farm=yard.farm, day=MONDAY, now=MORNING).values()
    ) == [1, 2]


def test_a_task_over_two_days_shows_on_each_its_own_hours_and_acres() -> None:
    yard = Yard()
    task = yard.task
    task.ends_at = at(MONDAY + DAY, 12)
    task.save()
    add_to_documents(yard.plan, task, worked=[(7 * 60, 17 * 60), (31 * 60, 36 * 60)])
    first, second = yard.slip(), yard.slip(day=MONDAY + DAY)
    assert (first.hours.work_min, second.hours.work_min) == (600, 300)
    assert first.area_ac == pytest.approx(2 * second.area_ac, abs=Decimal("0.2"))
    assert second.hours.starts_at == at(MONDAY + DAY, 7)


def test_a_pass_called_off_has_no_slip_and_a_day_without_a_plan_none_at_all() -> None:
    yard = Yard()
    assert yard.slips(day=MONDAY - DAY) == []
    yard.field_pass.state = PassState.CALLED_OFF
    yard.field_pass.save()
    assert yard.slips() == []


def test_effort_and_settings_come_from_the_implement_and_the_soil() -> None:
    slip = Yard(gang_angle_min_deg=17, gang_angle_max_deg=23).slip()
    assert slip.effort.is_by_draft
    assert slip.effort.work_rate_ac_per_h == pytest.approx(13.58, abs=0.01)
    angle = next(one for one in slip.settings if one.key == "gang_angle_deg")
    assert (angle.low, angle.high) == (17, 19)


def test_what_shuts_the_work_and_how_wet_it_is_are_those_of_the_windows() -> None:
    yard = Yard()
    shut = {"from": 15 * 60, "to": 20 * 60, "says": "rain", "says_es": "lluvia"}
    yard.plan.windows = windows_document(
        yard.plan.starts_at,
        passes=[
            {
                "pass": pass_key(yard.field_pass),
                "open": [{"from": 0, "to": 900, "chance": 0.8}],
                "shut": [shut],
            }
        ],
        ground=ground_of("pond-40", {MONDAY: 0.9}),
    )
    yard.plan.save()
    hours = yard.slip().hours
    assert [(one.starts_at, one.says.es) for one in hours.shut] == [(at(MONDAY, 15), "lluvia")]
    assert hours.open_chance == 0.8
    assert hours.ground is not None
    assert hours.ground.share == pytest.approx(0.9)
    assert hours.known_on == MONDAY - DAY


def test_the_growers_words_of_the_day_stand_on_the_slip() -> None:
    yard = Yard()
    SaySo.objects.create(
        farm=yard.farm, field=yard.field, day=MONDAY, word="after", after_at=dt.time(10), said_at=MORNING
    )
    [word] = yard.slip().hours.boss_words
    assert (word.word, word.after_at, word.zone) == ("after", dt.time(10), "")


def test_the_last_time_is_one_that_looked_right_on_like_ground() -> None:
    yard = Yard()
    days = {MONDAY - 20 * DAY: 0.9, MONDAY - 19 * DAY: 0.5, MONDAY - 18 * DAY: 0.9, MONDAY: 0.9}
    make_plan(
        yard.farm,
        day=MONDAY - 21 * DAY,
        state="replaced",
        sent_at=at(MONDAY - 22 * DAY, 5),
        windows=windows_document(at(MONDAY - 21 * DAY, 0), ground=ground_of("pond-40", days)),
    )
    yard.plan.windows = windows_document(yard.plan.starts_at, ground=ground_of("pond-40", days))
    yard.plan.save()
    yard.looked(MONDAY - 20 * DAY, speed_mph="4.5", gang_angle_deg="18")
    yard.looked(MONDAY - 19 * DAY, speed_mph="5.5")
    yard.looked(MONDAY - 18 * DAY, cut="deep", speed_mph="6")
    [last] = yard.slip().last_times
    assert (last.work_on, last.wetness, last.hand_name) == (MONDAY - 20 * DAY, "damp", "Imani")
    assert sorted(last.settings) == [("gang_angle_deg", Decimal(18), ""), ("speed_mph", Decimal("4.5"), "")]


def test_a_record_that_was_corrected_or_is_of_another_field_is_no_last_time() -> None:
    yard = Yard()
    elsewhere = make_pass(make_season(make_field(yard.farm, "hill")))
    record = yard.worked(MONDAY - 5 * DAY, field_pass=elsewhere)
    WorkLook.objects.create(farm=yard.farm, work_record=record, cut="right")
    WorkSetting.objects.create(farm=yard.farm, work_record=record, key="speed_mph", number=5)
    assert yard.slip().last_times == ()
    yard.looked(MONDAY - 4 * DAY, speed_mph="5")
    [old] = WorkRecord.objects.filter(field_pass=yard.field_pass)
    assert len(yard.slip().last_times) == 1
    yard.worked(MONDAY - 4 * DAY, supersedes=old)
    assert yard.slip().last_times == ()


def rule(yard: Yard, code: str, **facts: Any) -> CareRule:
    defaults = {"what": "grease the gang bearings", "what_es": "engrasar los baleros", "takes_min": 30}
    defaults |= {"implement": yard.implement, "source": "the manual"}
    return CareRule.objects.create(farm=yard.farm, code=code, **{**defaults, **facts})


def keys(slip: JobSlip) -> list[str]:
    return [one.check_key for one in slip.checks]


def test_a_service_that_runs_out_in_the_days_work_is_among_the_checks_and_one_that_lasts_is_not() -> None:
    yard = Yard(bearings_front=8, bearings_back=8)
    yard.looked(MONDAY - DAY)
    rule(yard, "daily", every_days=1)
    rule(yard, "weekly", every_days=7, counts_from_on=MONDAY - DAY)
    rule(yard, "acres", every_ac=30, what="look at the blades", counts_from_on=MONDAY)
    rule(yard, "far", every_ac=3000, what="turn the blades", counts_from_on=MONDAY)
    found = keys(yard.slip())
    assert [key for key in found if key.startswith("rule:")] == ["rule:acres", "rule:daily"]
    grease = next(one for one in yard.slip().checks if one.check_key == "rule:daily")
    assert grease.says.en == "Disk-1: Grease the gang bearings. 8 front, 8 back."
    assert (grease.implement_code, grease.machine_code) == ("disk-1", "")


def test_a_service_of_the_fields_pivot_is_checked_by_who_visits_it_and_a_walker_has_a_pace() -> None:
    yard = Yard()
    field = make_field(yard.farm, "circle")
    pivot = make_pivot(field)
    rule(yard, "drain", implement=None, pivot=pivot, every_days=1, what="drain the gearboxes")
    season = make_season(field)
    nobody = {"machine": None, "implement": None}
    yard.planned(make_pass(season, "pivot_start"), hours=(12, 13), **nobody)
    yard.planned(make_pass(season, "debris_walk"), hours=(14, 18), **nobody)
    disk, visit, walk = yard.slips()
    assert "rule:drain" in keys(visit)
    assert "rule:drain" not in [*keys(disk), *keys(walk)]
    assert (walk.effort.work_rate_ac_per_h, walk.effort.fuel_gal) == (10.0, None)


def test_a_tick_of_the_same_hand_day_and_outfit_is_shown() -> None:
    yard = Yard()
    facts = {"farm": yard.farm, "check_key": "work:around", "ticked_at": MORNING, "recorded_at": MORNING}
    tools = {"machine": yard.machine, "implement": yard.implement}
    other = make_hand(yard.farm, "teo")
    CheckTicked.objects.create(client_id=uuid.uuid4(), hand=other, work_on=MONDAY, **facts, **tools)
    CheckTicked.objects.create(client_id=uuid.uuid4(), hand=yard.hand, work_on=MONDAY - DAY, **facts, **tools)
    CheckTicked.objects.create(client_id=uuid.uuid4(), hand=yard.hand, work_on=MONDAY, **facts)
    assert not any(one.is_ticked for one in yard.slip().checks)
    CheckTicked.objects.create(client_id=uuid.uuid4(), hand=yard.hand, work_on=MONDAY, **facts, **tools)
    assert [one.check_key for one in yard.slip().checks if one.is_ticked] == ["work:around"]


def sprayed(yard: Yard, ended_at: dt.datetime, hours: int, **facts: Any) -> Spraying:
    return Spraying.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        field=yard.field,
        ended_at=ended_at,
        products="Alpha 4L",
        reentry_h=hours,
        recorded_at=ended_at,
        **facts,
    )


def test_a_label_that_still_holds_on_the_day_says_until_when_and_of_several_the_longest_counts() -> None:
    yard = Yard()
    sprayed(yard, at(MONDAY - 3 * DAY, 10), 24)
    assert yard.slip().stay_out is None
    sprayed(yard, at(MONDAY - DAY, 15), 24)
    long = sprayed(yard, at(MONDAY - DAY, 10), 48)
    stay_out = yard.slip().stay_out
    assert stay_out is not None
    assert (stay_out.until_at, stay_out.products, stay_out.is_planned) == (
        at(MONDAY + DAY, 10),
        "Alpha 4L",
        False,
    )
    sprayed(yard, at(MONDAY - DAY, 10), 48, supersedes=long, is_taken_back=True)
    again = yard.slip().stay_out
    assert again is not None
    assert again.until_at == at(MONDAY, 15)


def test_what_is_to_be_sprayed_keeps_everybody_out_from_its_end_on() -> None:
    yard = Yard()
    spraying = make_pass(make_season(make_field(yard.farm, "hill")), "spray", reentry_h=Decimal("12"))
    yard.planned(spraying, hours=(13, 15), machine=None, implement=None)
    nobody_in = yard.slips()[1].nobody_in
    assert nobody_in is not None
    assert (nobody_in.until_at, nobody_in.is_planned) == (at(MONDAY + DAY, 3), True)


def test_the_heat_of_the_hours_of_the_work_has_its_level() -> None:
    """96 °F and 65 % feel like 121 °F (US weather service), which OSHA calls very high."""
    yard = Yard()

    def layers(hour: int) -> dict[str, float]:
        is_after_work = hour >= 36
        return {"temp_c": 40.0 if is_after_work else 35.56, "humidity_pct": 65.0}

    make_issue(yard.farm, at(MONDAY - DAY, 0), starts_at=at(MONDAY - DAY, 0), hours=48, layers=layers)
    heat = yard.slip().heat
    assert heat is not None
    assert heat.level == "very_high"
    assert heat.heat_index_f == pytest.approx(121, abs=1)


def test_cool_hours_have_no_level_of_heat_and_neither_have_hours_that_nobody_knows() -> None:
    yard = Yard()
    assert yard.slip().heat is None
    layers = {"temp_c": 20.0, "humidity_pct": 65.0}
    make_issue(
        yard.farm, at(MONDAY - DAY, 0), starts_at=at(MONDAY - DAY, 0), hours=48, layers=lambda _hour: layers
    )
    assert yard.slip().heat is None


def test_a_new_hands_days_are_counted_by_the_days_on_which_they_worked() -> None:
    yard = Yard()
    Hand.objects.filter(pk=yard.hand.pk).update(started_on=MONDAY - 4 * DAY)
    yard.worked(MONDAY - 9 * DAY)
    yard.worked(MONDAY - 4 * DAY)
    yard.worked(MONDAY - 4 * DAY)
    assert yard.slip().new_hand == NewHand(day_no=2, most_share_pct=40)
    Hand.objects.filter(pk=yard.hand.pk).update(started_on=MONDAY - 30 * DAY)
    assert yard.slip().new_hand is None
    Hand.objects.filter(pk=yard.hand.pk).update(started_on=MONDAY + DAY)
    assert yard.slip().new_hand is None


def test_more_hands_and_passes_ask_no_more_of_the_database() -> None:
    yard = Yard()

    def count() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            slips_of_farm(farm=yard.farm, day=MONDAY, now=MORNING)
        return len(asked)

    one = count()
    for name in ("teo", "rosa", "odell"):
        hand = make_hand(yard.farm, name)
        for number in (1, 2):
            field_pass = make_pass(make_season(make_field(yard.farm, f"{name}-{number}")))
            make_task(
                yard.plan,
                hand,
                field_pass,
                hours=(6 + number * 2, 8 + number * 2),
                machine=yard.machine,
                implement=yard.implement,
            )
    assert count() == one
