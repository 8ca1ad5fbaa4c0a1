"""What a week's plan has to know, each thing shown in a plan made from a farm's records."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand, Implement, Machine, Shift
from scheduling.services.passes import Step, lay_out
from scheduling.solver import check, parse_problem, solve
from scheduling.solver.plan import PlacedTask
from tests.factories import make_field, make_hand, make_implement, make_machine, make_pass, make_season
from tests.scheduling.care_facts import make_work
from tests.scheduling.ground import MONDAY, make_pivot, prices_of, windows_of
from tests.scheduling.problems import EAST, Built, built, resource, task

pytestmark = pytest.mark.django_db
DAY = 1440


def planned(result: Built) -> dict[str, PlacedTask]:
    problem = parse_problem(result.problem)
    plan = solve(problem, seconds=2, rounds=10, seed=1)
    assert not check(problem, plan).violations
    return {one.id: one for one in plan.tasks}


def one_wants(farm: Farm, *operations: str, code: str = "pond-40", acres: int = 40, **facts: Any) -> None:
    season = make_season(make_field(farm, code, planted_ac=Decimal(acres)))
    steps = [Step(operation, leave_cents=500_000, **facts) for operation in operations]
    lay_out(season=season, steps=steps)


def test_work_stops_when_the_shift_ends_and_goes_on_in_the_morning(farm: Farm) -> None:
    """The field opens at 4 pm: two hours are worked until 6, the other 57 minutes from 7 am."""
    one_wants(farm, "disk")
    windows = windows_of(farm, open_of={"pond-40/disk": [(16 * 60, 5 * DAY, 1.0)]})
    disk = planned(built(farm, windows=windows))["pond-40/disk"]
    assert (disk.start, disk.end) == (16 * 60, DAY + 7 * 60 + 57)


def test_hooking_up_another_implement_takes_half_an_hour_and_a_hands_wage(farm: Farm) -> None:
    """Thirty minutes at 18 dollars an hour are 9 dollars; there is no road between two works of one field."""
    make_implement(farm, "bedder", operations=("rip_bed",))
    one_wants(farm, "disk", "rip_bed", acres=20)
    result = built(farm)
    assert resource(result, "tractor-1")["changeover"] == {"minutes": 30, "cents": 900}
    plan = planned(result)
    between = plan["pond-40/rip_bed"].start - plan["pond-40/disk"].end
    assert 30 <= between < 45, "the next quarter of an hour after half an hour"


def test_a_tractor_keeps_what_it_pulled_last(farm: Farm) -> None:
    one_wants(farm, "disk")
    season = make_season(make_field(farm, "pond-41"))
    tractor, disk = Machine.objects.get(farm=farm), Implement.objects.get(farm=farm)
    make_work(
        make_pass(season),
        Hand.objects.get(farm=farm),
        dt.date(2026, 4, 18),
        machine=tractor,
        implement=disk,
        done_ac=Decimal(5),
    )
    row = resource(built(farm), "tractor-1")
    assert (row["home"], row["setup_now"]) == ("pond-41", "disk-1")


def test_the_bed_is_made_within_so_many_days_after_disking_or_not_at_all(farm: Farm) -> None:
    make_implement(farm, "bedder", operations=("rip_bed",))
    season = make_season(make_field(farm))
    steps = [Step("disk", leave_cents=90_000), Step("rip_bed", leave_cents=90_000, max_gap_min=2 * DAY)]
    lay_out(season=season, steps=steps)
    late = {"pond-40/disk": [(0, DAY, 1.0)], "pond-40/rip_bed": [(4 * DAY, 7 * DAY, 1.0)]}
    assert set(planned(built(farm, windows=windows_of(farm, open_of=late)))) == {"pond-40/disk"}
    soon = {"pond-40/disk": [(0, DAY, 1.0)], "pond-40/rip_bed": [(2 * DAY, 7 * DAY, 1.0)]}
    plan = planned(built(farm, windows=windows_of(farm, open_of=soon)))
    assert plan["pond-40/rip_bed"].start - plan["pond-40/disk"].end <= 2 * DAY


def test_a_hand_works_elsewhere_while_the_pivot_walks(farm: Farm) -> None:
    """The walk of 150 degrees takes 352 minutes by the geometry of the pivot; one hand starts it, disks, and stops it."""
    wet = make_field(farm, planted_ac=Decimal(120))
    make_pivot(wet)
    lay_out(
        season=make_season(wet),
        steps=[Step("rip_bed", leave_cents=1)],
        pivot_stands_at_deg=Decimal(300),
    )
    make_implement(farm, "bedder", operations=("rip_bed",))
    one_wants(farm, "disk", code="pond-41")
    plan = planned(built(farm))
    walk, disk = plan["pond-40/pivot_walk"], plan["pond-41/disk"]
    assert disk.start < walk.end
    assert disk.end > walk.start
    assert walk.end - walk.start == 352
    assert 0 <= walk.start - plan["pond-40/pivot_start"].end <= 30


def test_overtime_is_worked_where_it_is_worth_its_price_and_not_otherwise(farm: Farm) -> None:
    """Open from 4 pm: until 5 at the usual wage, then at 9 dollars more; two hours' work, or all of it on Tuesday."""
    hand = Hand.objects.get(farm=farm)
    Shift.objects.filter(hand=hand).delete()
    hours = [(dt.time(14), dt.time(17), False), (dt.time(17), dt.time(19), True)]
    for weekday in range(2):
        for begins, ends, is_overtime in hours:
            Shift.objects.create(
                farm=farm, hand=hand, weekday=weekday, starts_at=begins, ends_at=ends, is_overtime=is_overtime
            )
    order = make_pass(
        make_season(make_field(farm, planted_ac=Decimal(27))),
        leave_cents=500_000,
        due_on=dt.date(2026, 4, 19),
    )
    asked: dict[str, Any] = {
        "prices": prices_of(farm, overtime_extra=900),
        "windows": windows_of(farm, open_of={"pond-40/disk": [(16 * 60, 7 * DAY, 1.0)]}),
    }
    leisurely = planned(built(farm, **asked))["pond-40/disk"]
    assert (leisurely.start >= DAY, leisurely.end <= DAY + 17 * 60) == (True, True)
    order.late_cents_per_day = 50_000
    order.save()
    pressing = solve(parse_problem(built(farm, **asked).problem), seconds=2, rounds=10, seed=1)
    assert [(one.start, one.end) for one in pressing.tasks] == [(16 * 60, 18 * 60)]
    assert pressing.cost_parts is not None
    assert pressing.cost_parts["extra"] == 900


def test_a_machine_that_is_down_works_from_when_it_is_back_and_another_does_its_work(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), due_on=dt.date(2026, 4, 19), late_cents_per_day=20_000)
    back = MONDAY + dt.timedelta(days=1, hours=10)
    Machine.objects.filter(farm=farm).update(down_until=back)
    assert planned(built(farm))["pond-40/disk"].start >= DAY + 600
    make_machine(farm, "tractor-2")
    sooner = planned(built(farm))["pond-40/disk"]
    assert sooner.mode.startswith("tractor-2")
    assert sooner.start < DAY


def test_a_wide_disk_waits_for_daylight_before_it_goes_on_the_road(farm: Farm) -> None:
    """The shift begins at 4 am, the sun is up from 7:00 am (pvlib's solar position): work begins after the road."""
    Implement.objects.filter(farm=farm).update(wide_on_road=True)
    hand = Hand.objects.get(farm=farm)
    Shift.objects.filter(hand=hand, starts_at=dt.time(7)).update(starts_at=dt.time(4))
    make_pass(make_season(make_field(farm, **EAST)), late_cents_per_day=4_000, due_on=dt.date(2026, 4, 19))
    wide = planned(built(farm))["pond-40/disk"].start
    Implement.objects.filter(farm=farm).update(wide_on_road=False)
    narrow = planned(built(farm))["pond-40/disk"].start
    assert narrow < 5 * 60
    assert wide >= 7 * 60


def test_what_the_manager_holds_to_stands_although_another_hour_is_cheaper(farm: Farm) -> None:
    make_hand(farm, "teo")
    friday = MONDAY + dt.timedelta(days=4, hours=9, minutes=5)
    make_pass(make_season(make_field(farm)), fixed_from=friday, fixed_outfit="tractor-1+disk-1+teo")
    disk = planned(built(farm))["pond-40/disk"]
    assert (disk.start, disk.mode) == (4 * DAY + 545, "tractor-1+disk-1+teo")


def test_hired_work_is_weighed_against_its_price(farm: Farm) -> None:
    """Forty acres at 9 dollars are 360: worth it where leaving costs 400, not where it costs 300."""
    order = make_pass(
        make_season(make_field(farm)), "spread", custom_ac_per_h=Decimal(40), leave_cents=40_000
    )
    prices = replace(prices_of(farm), custom_cents_per_ac={"spread": 900})
    assert set(planned(built(farm, prices=prices))) == {"pond-40/spread"}
    order.leave_cents = 30_000
    order.save()
    assert planned(built(farm, prices=prices)) == {}


def test_every_price_of_a_task_is_whole_cents(farm: Farm) -> None:
    make_pass(
        make_season(make_field(farm, planted_ac=Decimal("37.77"))),
        late_cents_per_day=3_333,
        due_on=dt.date(2026, 4, 21),
        leave_cents=77_777,
    )
    row = task(built(farm), "pond-40/disk")
    assert all(isinstance(row[key], int) for key in ("late_cents_per_hour", "leave_cents", "due"))
    assert all(isinstance(mode["cents"], int) for mode in row["modes"])
