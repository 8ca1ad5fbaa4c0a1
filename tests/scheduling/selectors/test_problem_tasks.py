"""The tasks of the problem that the records of a farm make: day parts, order, windows and what is held to."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PassState
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import ALL_REPORTED
from scheduling.services.passes import Step, lay_out
from scheduling.services.work import call_off, record_work
from tests.factories import (
    make_field,
    make_hand,
    make_implement,
    make_pass,
    make_season,
)
from tests.scheduling.ground import MONDAY, NEW_YORK, SUNDAY_EVENING, make_pivot, windows_of
from tests.scheduling.problems import built, resource, task

pytestmark = pytest.mark.django_db


def test_a_pass_too_long_for_a_shift_is_a_chain_of_day_parts(farm: Farm) -> None:
    """A shift here is 630 min, less an hour for the road: 570. 300 ac take 1,326 min, so three parts of 100 ac."""
    make_pass(
        make_season(make_field(farm, planted_ac=Decimal(300))),
        due_on=dt.date(2026, 4, 23),
        late_cents_per_day=2_400,
    )
    result = built(farm)
    rows = result.problem["tasks"]
    assert [row["id"] for row in rows] == ["pond-40/disk#1", "pond-40/disk#2", "pond-40/disk#3"]
    assert [row.get("after") for row in rows] == [
        None,
        [{"task": "pond-40/disk#1"}],
        [{"task": "pond-40/disk#2"}],
    ]
    assert [row["modes"][0]["minutes"] for row in rows] == [442, 442, 442]
    assert [row.get("due") for row in rows] == [None, None, 4 * 1440]
    assert sum(row["leave_cents"] for row in rows) == 90_000
    assert sum(one.part.area_ac for one in result.tasks.values()) == Decimal(300)


def test_what_is_done_uses_up_the_first_parts_and_the_rest_keep_their_names(farm: Farm) -> None:
    make_pass(make_season(make_field(farm, planted_ac=Decimal(300))), done_ac=Decimal(130))
    rows = built(farm).problem["tasks"]
    assert [row["id"] for row in rows] == ["pond-40/disk#2", "pond-40/disk#3"]
    assert [row["modes"][0]["minutes"] for row in rows] == [310, 442]
    assert "after" not in rows[0]


def test_a_pass_waits_for_the_last_part_of_the_one_before(farm: Farm) -> None:
    make_implement(farm, "bedder", operations=("rip_bed",), width_ft=Decimal(24), speed_mph=Decimal(4))
    steps = [Step("disk", leave_cents=1), Step("rip_bed", leave_cents=1, min_gap_min=60, max_gap_min=2_880)]
    lay_out(season=make_season(make_field(farm, planted_ac=Decimal(140))), steps=steps)
    rows = {row["id"]: row for row in built(farm).problem["tasks"]}
    assert rows["pond-40/rip_bed#1"]["after"] == [{"task": "pond-40/disk#2", "min_gap": 60, "max_gap": 2_880}]


def test_a_finished_pass_binds_no_longer_but_its_least_gap_counts_from_its_last_record(farm: Farm) -> None:
    season = make_season(make_field(farm))
    disk, _ = lay_out(
        season=season, steps=[Step("disk", leave_cents=1), Step("disk", leave_cents=1, min_gap_min=2_880)]
    )
    record_work(
        farm=farm,
        client_id="00000000-0000-0000-0000-000000000001",  # type: ignore[arg-type]
        field_pass=disk,
        hand=Hand.objects.get(farm=farm),
        work_on=dt.date(2026, 4, 18),
        starts_at=dt.datetime(2026, 4, 18, 14, tzinfo=NEW_YORK),
        hand_min=180,
        done_ac=Decimal(40),
        is_finished=True,
        recorded_by=None,
        now=SUNDAY_EVENING,
    )
    row = task(built(farm), "pond-40/disk-2")
    assert "after" not in row
    assert row["earliest"] == 17 * 60, "48 h after 5 pm on Saturday"


def test_what_waited_for_a_called_off_pass_waits_for_what_that_waited_for(farm: Farm) -> None:
    """The day's gap after the first pass stays, such as a label's; the hour's after the one called off goes with it."""
    first, second, third = lay_out(
        season=make_season(make_field(farm)),
        steps=[
            Step("disk", leave_cents=1),
            Step("disk", leave_cents=1, min_gap_min=1_440),
            Step("disk", leave_cents=1, min_gap_min=60),
        ],
    )
    call_off(field_pass=second, why="1.4 in of rain", now=SUNDAY_EVENING)
    result = built(farm)
    assert [row["id"] for row in result.problem["tasks"]] == [pass_key(first), pass_key(third)]
    assert task(result, pass_key(third))["after"] == [{"task": pass_key(first), "min_gap": 1_440}]
    call_off(field_pass=first, why="1.4 in of rain", now=SUNDAY_EVENING)
    alone = built(farm)
    assert [row["id"] for row in alone.problem["tasks"]] == [pass_key(third)]
    assert "after" not in task(alone, pass_key(third))
    assert alone.not_offered == []


def test_all_acres_reported_lets_the_next_pass_go_on_and_asks_to_finish(farm: Farm) -> None:
    disk, _ = lay_out(
        season=make_season(make_field(farm)), steps=[Step("disk", leave_cents=1), Step("disk", leave_cents=1)]
    )
    FieldPass.objects.filter(pk=disk.pk).update(done_ac=Decimal(40), state=PassState.UNDER_WAY)
    result = built(farm)
    assert [row["id"] for row in result.problem["tasks"]] == ["pond-40/disk-2"]
    assert "after" not in task(result, "pond-40/disk-2")
    assert result.not_offered[0].why.startswith("All 40.00 acres are reported: say that it is finished")
    assert ALL_REPORTED in result.not_offered[0].why


def test_earliest_days_and_the_present_hold_back_a_start(farm: Farm) -> None:
    season = make_season(make_field(farm))
    make_pass(season, earliest_on=dt.date(2026, 4, 22))
    make_pass(season, turn=2)
    make_pass(season, turn=3, earliest_on=dt.date(2026, 4, 27))
    noon = dt.datetime(2026, 4, 21, 12, 7, tzinfo=NEW_YORK)
    result = built(farm, now=noon)
    assert task(result, "pond-40/disk")["earliest"] == 2 * 1440
    assert task(result, "pond-40/disk-2")["earliest"] == 1440 + 12 * 60 + 7
    assert [(one.key, one.why) for one in result.not_offered] == [
        ("pond-40/disk-3", "It may not start before Monday, April 27.")
    ]


def test_a_week_that_is_over_is_planned_as_if_it_lay_ahead(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    assert task(built(farm, now=MONDAY + dt.timedelta(days=400)), "pond-40/disk")["earliest"] == 0


def test_an_overdue_pass_is_late_from_the_first_minute(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), due_on=dt.date(2026, 4, 11), late_cents_per_day=2_400)
    assert task(built(farm), "pond-40/disk")["due"] == 0


def test_what_the_manager_holds_to_is_fixed(farm: Farm) -> None:
    make_hand(farm, "teo")
    season = make_season(make_field(farm))
    tuesday = dt.datetime(2026, 4, 21, 8, 10, tzinfo=NEW_YORK)
    make_pass(season, fixed_from=tuesday, fixed_outfit="tractor-1+disk-1+teo")
    make_pass(season, turn=2, fixed_from=tuesday)
    make_pass(season, turn=3, fixed_outfit="tractor-1+disk-1+teo")
    result = built(farm)
    assert task(result, "pond-40/disk")["fixed"] == {"mode": "tractor-1+disk-1+teo", "from": 1440 + 490}
    hour_only = task(result, "pond-40/disk-2")
    assert (hour_only["earliest"], hour_only["latest"], len(hour_only["modes"])) == (1935, 1935, 2)
    assert [mode["id"] for mode in task(result, "pond-40/disk-3")["modes"]] == ["tractor-1+disk-1+teo"]


def test_windows_come_with_their_chance_and_end_with_the_horizon(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    windows = windows_of(farm, open_of={"pond-40/disk": [(600, 900, 0.8125), (1440, 10_080, 1.0)]})
    assert task(built(farm, windows=windows), "pond-40/disk")["open"] == [
        {"from": 600, "to": 900, "chance": 0.8125},
        {"from": 1440, "to": 10_080},
    ]


def test_a_pivot_move_holds_a_hand_at_both_ends_only(farm: Farm) -> None:
    """A walk of a circle's share is its arc over the speed: 2 x pi x 1,210 ft x 150/360 / 9 ft/min = 352 min."""
    field = make_field(farm, planted_ac=Decimal(120))
    make_pivot(field)
    lay_out(
        season=make_season(field),
        steps=[Step("disk", leave_cents=50_000)],
        pivot_stands_at_deg=Decimal(300),
    )
    result = built(farm)
    start, walk, stop = (task(result, f"pond-40/pivot_{word}") for word in ("start", "walk", "stop"))
    assert [mode["resources"] for mode in start["modes"]] == [["pivot:pond-40", "imani"]]
    assert [mode["resources"] for mode in walk["modes"]] == [["pivot:pond-40"]]
    assert [mode["resources"] for mode in stop["modes"]] == [["pivot:pond-40", "imani"]]
    assert [row["modes"][0]["minutes"] for row in (start, walk, stop)] == [20, 352, 15]
    assert walk["after"] == [{"task": "pond-40/pivot_start", "max_gap": 30}]
    pivot = resource(result, "pivot:pond-40")
    assert (pivot["kind"], pivot["roams"], pivot["home"]) == ("pivot", False, "pond-40")
    strip = task(result, "pond-40/disk/strip")
    assert strip["after"] == [{"task": "pond-40/pivot_stop-2"}]
    assert result.tasks["pond-40/disk/strip"].part.area_ac == Decimal("1.67")
