"""The outfits, calendars and roads of the problem that the records of a farm make."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import Farm, Hand, HandAway, Implement, Machine, Shift
from scheduling.models import PassLink
from scheduling.selectors.outfits import MOST_OUTFITS
from scheduling.services.passes import Step, lay_out
from scheduling.services.work import record_work
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import MONDAY, NEW_YORK, SUNDAY_EVENING, make_pivot, prices_of, windows_of
from tests.scheduling.problems import EAST, built, hours, resource, task

pytestmark = pytest.mark.django_db


def test_a_pass_becomes_a_task_with_the_pace_and_price_of_its_outfit(farm: Farm) -> None:
    """28 ft at 5 mph and 80 % is 13.58 ac/h by the 8.25 rule (ASABE EP496): 40 ac take 176.8, so 177 min."""
    make_pass(make_season(make_field(farm)), due_on=dt.date(2026, 4, 22), late_cents_per_day=4_800)
    row = task(built(farm), "pond-40/disk")
    assert row["modes"] == [
        {
            "id": "tractor-1+disk-1+imani",
            "resources": ["tractor-1", "disk-1", "imani"],
            "setup": "disk-1",
            "minutes": 177,
            "cents": 23_010,  # 78.00 an hour for 2.95 h
        }
    ]
    assert (row["due"], row["late_cents_per_hour"], row["leave_cents"]) == (3 * 1440, 200, 90_000)
    assert row["open"] == [{"from": 0, "to": 10_080}]


def test_every_tractor_strong_enough_goes_with_every_implement_and_hand_that_can(farm: Farm) -> None:
    make_machine(farm, "tractor-weak", power_hp=Decimal(90))
    make_implement(farm, "bedder", operations=("rip_bed",))
    make_hand(farm, "odell", operations=("plant",))
    make_hand(farm, "teo", operations=("disk",))
    make_pass(make_season(make_field(farm)))
    modes = [mode["id"] for mode in task(built(farm), "pond-40/disk")["modes"]]
    assert modes == ["tractor-1+disk-1+imani", "tractor-1+disk-1+teo"]


def test_many_outfits_are_thinned_so_that_each_pair_and_hand_stays() -> None:
    farm = make_farm()
    for number in range(3):
        make_machine(farm, f"tractor-{number}")
        make_implement(farm, f"disk-{number}")
    for number in range(8):
        make_hand(farm, f"hand-{number}")
    make_pass(make_season(make_field(farm)), fixed_outfit="tractor-2+disk-0+hand-1", fixed_from=MONDAY)
    modes = [tuple(mode["resources"]) for mode in task(built(farm), "pond-40/disk")["modes"]]
    assert len(modes) == MOST_OUTFITS
    assert len({mode[:2] for mode in modes}) == 9
    assert len({mode[2] for mode in modes}) == 8
    assert ("tractor-2", "disk-0", "hand-1") in modes


def test_codes_that_a_machine_and_a_hand_share_are_told_apart(farm: Farm) -> None:
    make_hand(farm, "tractor-1")
    make_pass(make_season(make_field(farm)))
    result = built(farm)
    assert {"machine:tractor-1", "hand:tractor-1"} <= {row["id"] for row in result.problem["resources"]}
    assert task(result, "pond-40/disk")["modes"][0]["id"].startswith("machine:tractor-1+disk-1+")


def test_a_hand_works_its_shifts_but_not_on_sundays_or_days_away(farm: Farm) -> None:
    hand = Hand.objects.get(farm=farm)
    HandAway.objects.create(farm=farm, hand=hand, first_on=dt.date(2026, 4, 22), last_on=dt.date(2026, 4, 23))
    make_pass(make_season(make_field(farm)))
    calendar = resource(built(farm), "imani")["calendar"]
    shift = [(7.0, 12.0), (12.5, 18.0)]
    assert [hours(calendar, day) for day in range(7)] == [shift, shift, [], [], shift, shift, []]


def test_overtime_hours_cost_extra(farm: Farm) -> None:
    hand = Hand.objects.get(farm=farm)
    Shift.objects.create(
        farm=farm, hand=hand, weekday=0, starts_at=dt.time(18), ends_at=dt.time(20), is_overtime=True
    )
    make_pass(make_season(make_field(farm)))
    calendar = resource(built(farm, prices=prices_of(farm, overtime_extra=900)), "imani")["calendar"]
    assert calendar[:3] == [
        {"from": 420, "to": 720},
        {"from": 750, "to": 1080},
        {"from": 1080, "to": 1200, "extra_cents_per_hour": 900},
    ]


def test_a_hand_who_is_away_all_week_is_not_in_any_outfit(farm: Farm) -> None:
    teo = make_hand(farm, "teo")
    HandAway.objects.create(farm=farm, hand=teo, first_on=MONDAY.date(), last_on=dt.date(2026, 5, 1))
    make_pass(make_season(make_field(farm)))
    assert [mode["id"] for mode in task(built(farm), "pond-40/disk")["modes"]] == ["tractor-1+disk-1+imani"]


def test_the_week_in_which_clocks_go_forward_is_an_hour_shorter(farm: Farm) -> None:
    """US daylight saving time began on Sunday, March 8, 2026 at 2 am (15 U.S.C. 260a)."""
    make_pass(make_season(make_field(farm)))
    start = dt.datetime(2026, 3, 6, tzinfo=NEW_YORK)
    result = built(farm, starts_at=start, now=start)
    calendar = resource(result, "imani")["calendar"]
    assert result.problem["horizon"] == 7 * 1440 - 60
    monday_seven_am = dt.datetime(2026, 3, 9, 7, tzinfo=NEW_YORK)
    minutes = (monday_seven_am.astimezone(dt.UTC) - start.astimezone(dt.UTC)) // dt.timedelta(minutes=1)
    assert minutes == 3 * 1440 + 420 - 60
    assert minutes in [stretch["from"] for stretch in calendar]


def test_the_week_in_which_clocks_go_back_is_an_hour_longer(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    start = dt.datetime(2026, 10, 30, tzinfo=NEW_YORK)
    result = built(farm, starts_at=start, now=start)
    assert result.problem["horizon"] == 7 * 1440 + 60
    assert 3 * 1440 + 420 + 60 in [s["from"] for s in resource(result, "imani")["calendar"]]


def test_a_machine_that_is_down_is_back_about_then(farm: Farm) -> None:
    Machine.objects.filter(farm=farm).update(down_until=dt.datetime(2026, 4, 21, 13, tzinfo=NEW_YORK))
    Implement.objects.filter(farm=farm).update(down_until=dt.datetime(2026, 4, 20, 9, tzinfo=NEW_YORK))
    make_pass(make_season(make_field(farm)))
    result = built(farm)
    assert resource(result, "tractor-1")["calendar"] == [{"from": 1440 + 13 * 60, "to": 10_080}]
    assert resource(result, "disk-1")["calendar"] == [{"from": 540, "to": 10_080}]


def test_with_the_only_tractor_down_all_week_a_pass_is_not_offered_and_says_so(farm: Farm) -> None:
    Machine.objects.filter(farm=farm).update(down_until=dt.datetime(2026, 5, 1, tzinfo=NEW_YORK))
    make_pass(make_season(make_field(farm)))
    make_pass(make_season(make_field(farm, "river-50")), leave_cents=None)
    result = built(farm)
    assert result.problem["tasks"] == []
    assert [(one.key, one.is_a_clash) for one in result.not_offered] == [
        ("pond-40/disk", False),
        ("river-50/disk", True),
    ]
    assert result.not_offered[0].why == (
        "No tractor, implement and hand here can disk in these days: tractor-1 is down until Friday, May 1."
    )


def test_a_wide_implement_is_on_the_road_by_daylight_only(farm: Farm) -> None:
    """NOAA's solar calculator: Ashburn, Georgia (31.7 N, 83.65 W) on 20 April 2026, about 7:01 am to 8:06 pm EDT."""
    Implement.objects.filter(farm=farm).update(wide_on_road=True, road_factor=Decimal("2.00"))
    make_pass(make_season(make_field(farm)))
    disk = resource(built(farm), "disk-1")
    (sunrise_h, sunset_h), *_ = hours(disk["road_calendar"], 0)
    assert disk["road_factor"] == 2.0
    assert sunrise_h == pytest.approx(7.02, abs=0.1)
    assert sunset_h == pytest.approx(20.1, abs=0.1)


def test_roads_are_the_geodesic_times_a_detour(farm: Farm) -> None:
    """One degree of longitude at 31.6 N is 94.9 km by the WGS 84 ellipsoid (111.32 km x cos, within 0.2 %)."""
    make_pass(make_season(make_field(farm, **EAST)))
    Machine.objects.filter(farm=farm).update(road_speed_mph=Decimal("10"))
    result = built(farm)
    kilometers = 0.1 * 94.9 * 1.3
    minutes = kilometers / (15 * 1.609344) * 60
    assert result.problem["places"] == ["yard", "pond-40"]
    assert result.problem["road_minutes"][0][1] == pytest.approx(minutes, abs=1)
    assert result.problem["road_minutes"][1] == [result.problem["road_minutes"][0][1], 0]
    assert resource(result, "tractor-1")["road_factor"] == 1.5


def test_machines_stand_where_the_last_record_left_them(farm: Farm) -> None:
    field = make_field(farm, "river-50", **EAST)
    done = make_pass(make_season(field))
    record_work(
        farm=farm,
        client_id="00000000-0000-0000-0000-000000000002",  # type: ignore[arg-type]
        field_pass=done,
        hand=Hand.objects.get(farm=farm),
        machine=Machine.objects.get(farm=farm),
        implement=Implement.objects.get(farm=farm),
        work_on=dt.date(2026, 4, 18),
        hand_min=180,
        machine_min=170,
        done_ac=Decimal(40),
        is_finished=True,
        recorded_by=None,
        now=SUNDAY_EVENING,
    )
    make_pass(make_season(make_field(farm)))
    result = built(farm)
    assert [resource(result, name)["home"] for name in ("tractor-1", "disk-1", "imani")] == [
        "river-50",
        "river-50",
        "yard",
    ]
    assert resource(result, "tractor-1")["setup_now"] == "disk-1"
    assert result.problem["places"] == ["yard", "pond-40", "river-50"]


def test_another_farm_s_rows_never_get_in(farm: Farm) -> None:
    other = make_farm("egret-run")
    make_machine(other, "tractor-9")
    make_implement(other, "disk-9")
    make_hand(other, "rosa")
    make_pass(make_season(make_field(other, "their-60")))
    make_pass(make_season(make_field(farm)))
    text = str(built(farm).problem)
    assert not any(word in text for word in ("tractor-9", "disk-9", "rosa", "their-60"))


def test_the_number_of_queries_does_not_grow_with_the_farm(farm: Farm) -> None:
    def queries() -> int:
        asked: dict[str, Any] = {"windows": windows_of(farm), "prices": prices_of(farm)}
        with CaptureQueriesContext(connection) as captured:
            built(farm, **asked)
        return len(captured)

    make_pass(make_season(make_field(farm)))
    few = queries()
    for number in range(6):
        field = make_field(farm, f"field-{number}")
        make_pivot(field)
        lay_out(
            season=make_season(field), steps=[Step("disk", leave_cents=1), Step("rip_bed", leave_cents=1)]
        )
        make_hand(farm, f"hand-{number}")
    assert PassLink.objects.count() > 20
    assert queries() == few


def test_the_same_records_give_the_same_problem(farm: Farm) -> None:
    make_hand(farm, "teo")
    make_pass(make_season(make_field(farm)))
    assert built(farm).problem == built(farm).problem
