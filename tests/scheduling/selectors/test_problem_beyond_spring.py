"""How irrigation, walks, hired work and self-propelled machines stand in the problem of a week."""

import uuid
from dataclasses import replace
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Field, Pump
from scheduling.selectors.outfits import turn_min
from scheduling.services.debris import propose_walk
from scheduling.services.passes import Step, lay_out
from scheduling.services.work import call_off, record_work
from scheduling.solver import check, parse_problem, solve
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import SUNDAY_EVENING, make_pivot, prices_of, windows_of
from tests.scheduling.problems import EAST, Built, built, resource, task

pytestmark = pytest.mark.django_db
TURN = Step("irrigate", depth_in=Decimal("0.50"), leave_cents=50_000)


@pytest.fixture
def watered(farm: Farm) -> Field:
    field = make_field(farm, "pond-80", planted_ac=Decimal(80), area_ac=Decimal(80))
    make_pivot(field)
    return field


def solved(result: Built) -> dict[str, tuple[int, int]]:
    """Solve the problem, let the independent check judge the plan, and return the minutes of each task."""
    problem = parse_problem(result.problem)
    plan = solve(problem, seconds=5, seed=1, workers=1, rounds=20)
    assert check(problem, plan).violations == ()
    return {one.id: (one.start, one.end) for one in plan.tasks}


def test_a_turn_takes_the_hours_in_which_the_pump_gives_its_depth(watered: Field) -> None:
    """An acre-inch is 27,154 gal (US Geological Survey, water units): 0.5 in on 80 ac at 800 gal/min is 22.63 h."""
    assert turn_min(pivot=watered.pivot, depth_in=Decimal("0.50"), area_ac=Decimal(80)) == 1358
    assert pytest.approx(1357.7) == 0.5 * 80 * 27_154 / 800


def test_no_turn_is_faster_than_a_dry_round(watered: Field) -> None:
    """2 x pi x 1,210 ft at 9 ft/min is 844.7 min."""
    assert turn_min(pivot=watered.pivot, depth_in=Decimal("0.05"), area_ac=Decimal(80)) == 845


def test_a_turn_holds_pivot_and_pump_and_no_hand_and_is_not_split_by_shifts(watered: Field) -> None:
    lay_out(season=make_season(watered), steps=[TURN])
    result = built(watered.farm)
    row = task(result, "pond-80/irrigate")
    assert [(mode["resources"], mode["minutes"]) for mode in row["modes"]] == [
        (["pivot:pond-80", "pump:pump-1"], 1358)
    ]
    assert row["leave_cents"] == 50_000
    assert "hold_limit" not in row
    assert resource(result, "pump:pump-1") == {
        "id": "pump:pump-1",
        "kind": "pump",
        "home": "yard",
        "roams": False,
        "calendar": [{"from": 0, "to": 10_080}],
    }
    starts = [mode["resources"] for mode in task(result, "pond-80/pivot_start/water")["modes"]]
    assert starts == [["pivot:pond-80", "imani"]]


def test_two_pivots_on_one_pump_water_one_after_the_other(watered: Field) -> None:
    other = make_field(watered.farm, "river-60", planted_ac=Decimal(60), area_ac=Decimal(60), **EAST)
    make_pivot(other)
    for field in (watered, other):
        lay_out(season=make_season(field), steps=[TURN])
    hours = solved(built(watered.farm))
    first, second = sorted((hours["pond-80/irrigate"], hours["river-60/irrigate"]))
    assert first[1] <= second[0]


def test_pivots_with_a_pump_each_may_water_together(watered: Field) -> None:
    other = make_field(watered.farm, "river-60", planted_ac=Decimal(60), area_ac=Decimal(60), **EAST)
    pump = Pump.objects.create(farm=watered.farm, code="pump-2", name="Pump 2", flow_gpm=Decimal(800))
    make_pivot(other, pump=pump)
    for field in (watered, other):
        lay_out(season=make_season(field), steps=[TURN])
    modes = [
        mode["resources"]
        for name in ("pond-80/irrigate", "river-60/irrigate")
        for mode in task(built(watered.farm), name)["modes"]
    ]
    assert modes == [["pivot:pond-80", "pump:pump-1"], ["pivot:river-60", "pump:pump-2"]]


def test_what_of_a_turn_is_reported_is_not_watered_again(watered: Field) -> None:
    turn = lay_out(season=make_season(watered), steps=[TURN])[1]
    record_work(
        farm=watered.farm,
        client_id=uuid.uuid4(),
        field_pass=turn,
        hand=make_hand(watered.farm, "teo"),
        work_on=SUNDAY_EVENING.date(),
        hand_min=0,
        done_ac=Decimal(60),
        is_finished=False,
        recorded_by=None,
        now=SUNDAY_EVENING,
    )
    row = task(built(watered.farm), "pond-80/irrigate")
    assert row["modes"][0]["minutes"] == 340  # a quarter of 1,358


def test_a_turn_that_rain_called_off_holds_nothing_up(watered: Field) -> None:
    passes = lay_out(season=make_season(watered), steps=[Step("disk"), TURN], pivot_stands_at_deg=Decimal(90))
    following = make_pass(passes[0].season, "plant")
    passes[-1].links_after.create(farm=watered.farm, after=following)
    by_operation = {(one.operation, one.part): one for one in passes}
    for name in (("pivot_start", "water"), ("irrigate", ""), ("pivot_stop", "water")):
        call_off(field_pass=by_operation[name], why="two inches of rain", now=SUNDAY_EVENING)
    make_implement(watered.farm, "planter", operations=("plant",))
    row = task(built(watered.farm), "pond-80/plant")
    waits = [one["task"] for one in row["after"]]
    assert waits == ["pond-80/disk/strip"], "it still waits for what the turn waited for"


def test_ground_work_that_was_called_off_holds_up_nothing(watered: Field) -> None:
    disk, _plant = lay_out(
        season=make_season(make_field(watered.farm)), steps=[Step("disk"), Step("plant", leave_cents=1)]
    )
    call_off(field_pass=disk, why="somebody else does it", now=SUNDAY_EVENING)
    make_implement(watered.farm, "planter", operations=("plant",))
    assert "after" not in task(built(watered.farm), "pond-40/plant")


def test_a_debris_walk_is_a_hand_alone(farm: Farm) -> None:
    """30 ft at 2.5 mph is 9.09 ac an hour by the 8.25 rule (ASABE EP496), said as 9: 40 ac take 267 min."""
    make_hand(farm, "teo", operations=("debris_walk",))
    make_pass(make_season(make_field(farm)), "debris_walk")
    row = task(built(farm), "pond-40/debris_walk")
    assert row["modes"] == [{"id": "teo", "resources": ["teo"], "minutes": 267, "cents": 8010}]


def test_a_walk_proposed_before_disking_is_planned_before_it(farm: Farm) -> None:
    make_hand(farm, "teo", operations=("debris_walk",))
    disk = make_pass(make_season(make_field(farm)), "disk")
    propose_walk(farm=farm, field_pass=disk, leave_cents=20_000)
    result = built(farm)
    assert [one["task"] for one in task(result, "pond-40/disk")["after"]] == ["pond-40/debris_walk"]
    planned = solved(result)
    assert planned["pond-40/debris_walk"][1] <= planned["pond-40/disk"][0]


def test_a_walk_that_nobody_may_do_says_so(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)), "debris_walk")
    assert built(farm).not_offered[0].why == "No hand here can walk the field for debris in these days."


def test_hired_work_holds_nothing_of_the_farm_and_can_be_planned(farm: Farm) -> None:
    spread = make_pass(make_season(make_field(farm)), "spread", custom_ac_per_h=Decimal(30))
    result = built(farm)
    assert task(result, "pond-40/spread")["modes"] == [
        {"id": "custom", "resources": [], "minutes": 80, "cents": 0}
    ]
    assert result.outfits["custom"].hand is None
    assert result.tasks["pond-40/spread"].field_pass == spread
    assert set(solved(result)) == {"pond-40/spread"}


def test_hired_work_costs_what_is_asked_for_an_acre(farm: Farm) -> None:
    """80 ac at 8.25 an acre are 660 dollars, whatever the pace."""
    make_pass(
        make_season(make_field(farm, planted_ac=Decimal(80))),
        "spread",
        custom_ac_per_h=Decimal(30),
    )
    prices = replace(prices_of(farm), custom_cents_per_ac={"spread": 825, "pick": 9_900})
    (mode,) = task(built(farm, prices=prices), "pond-40/spread")["modes"]
    assert (mode["minutes"], mode["cents"]) == (160, 66_000)


def test_whoever_is_hired_comes_by_daylight_when_the_field_is_open(farm: Farm) -> None:
    """The sun is up from 7:00 am to 8:06 pm at 31.6 N, 83.52 W on April 20, 2026 (pvlib's solar position)."""
    make_pass(make_season(make_field(farm)), "spread", custom_ac_per_h=Decimal(30))
    noon = 12 * 60
    windows = windows_of(farm, open_of={"pond-40/spread": [(0, noon, 0.8), (noon, 2 * 1440, 1.0)]})
    first, second, third = task(built(farm, windows=windows), "pond-40/spread")["open"]
    assert (first["from"], first["to"], first["chance"]) == (pytest.approx(420, abs=6), noon, 0.8)
    assert (second["from"], second["to"]) == (noon, pytest.approx(1206, abs=6))
    assert third["from"] == pytest.approx(1440 + 419, abs=6)


def test_a_boom_goes_with_the_sprayer_and_a_disk_with_the_tractor(farm: Farm) -> None:
    make_machine(farm, "sprayer-1", kind="sprayer", power_hp=Decimal(275))
    make_implement(
        farm,
        "boom-90",
        operations=("burndown",),
        carried_by="sprayer",
        width_ft=Decimal(90),
        power_needed_hp=Decimal(0),
    )
    make_hand(farm, "teo", operations=("burndown", "disk"))
    season = make_season(make_field(farm))
    make_pass(season, "burndown")
    make_pass(season, "disk")
    result = built(farm)
    sprays = [mode["resources"] for mode in task(result, "pond-40/burndown")["modes"]]
    disks = [mode["resources"][0] for mode in task(result, "pond-40/disk")["modes"]]
    assert sprays == [["sprayer-1", "boom-90", "teo"]]
    assert disks == ["tractor-1", "tractor-1"]
    assert resource(result, "sprayer-1")["kind"] == "sprayer"


def test_a_truck_pulls_nothing(farm: Farm) -> None:
    make_machine(farm, "truck-1", kind="truck", power_hp=Decimal(400))
    make_implement(farm, "spreader", operations=("spread",), carried_by="truck")
    make_hand(farm, "teo", operations=("spread",))
    make_pass(make_season(make_field(farm)), "spread")
    assert built(farm).not_offered[0].key == "pond-40/spread"


@pytest.mark.parametrize(
    "operation", ["strip_till", "sidedress", "spread", "dig", "combine", "pick", "shred", "cover"]
)
def test_other_kinds_of_work_are_planned_with_a_machine_an_implement_and_a_hand(operation: str) -> None:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm, "tool", operations=(operation,))
    make_hand(farm, operations=(operation,))
    make_pass(make_season(make_field(farm)), operation)
    [row] = built(farm).problem["tasks"]
    assert row["modes"][0]["id"] == "tractor-1+tool+imani"
    assert row["operation"] == operation
