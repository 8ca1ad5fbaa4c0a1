"""The way to a task from the place before: the planner's minutes, and the miles between."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Field
from scheduling.models import WeekPlan
from scheduling.selectors.roads import DETOUR, road_miles, road_minutes
from scheduling.selectors.slip_ways import Ways
from scheduling.slips.facts import Fetch, WayThere
from tests.factories import make_farm, make_field
from tests.farmops.digests.planned import MONDAY, at, make_plan

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
H = 60
YARD_TO_HILL, YARD_TO_POND, HILL_TO_POND = 20, 10, 15
PLACES = ["yard", "hill", "pond"]
ROAD_MIN = [[0, 20, 10], [20, 0, 15], [10, 15, 0]]
"""As the problem of a plan holds it."""


WORK = [{"from": day * 24 * H + 390, "to": day * 24 * H + 18 * H} for day in range(7)]
"""A hand at work from 6:30 am to 6 pm."""
OPEN = [{"from": day * 24 * H + 7 * H, "to": day * 24 * H + 20 * H} for day in range(7)]
"""Ground that bears work from 7 am on."""


def resource(
    name: str, kind: str, home: str = "yard", road_factor: float = 1, **more: object
) -> dict[str, Any]:
    return {"id": name, "kind": kind, "home": home, "roams": True, "road_factor": road_factor, **more}


def planned(
    farm: Farm, *visits: tuple[str, str, str, int, int], homes: dict[str, str] | None = None
) -> WeekPlan:
    """Return a plan of tasks: name, place, resources apart by commas, first and last minute of the week."""
    homes = homes or {}
    resources = [
        resource("imani", "hand", homes.get("imani", "yard"), calendar=WORK),
        resource(
            "tractor",
            "tractor",
            homes.get("tractor", "yard"),
            0.84,
            changeover={"minutes": 30, "cents": 0},
            setup_now=homes.get("pulls"),
        ),
        resource("disk", "implement", homes.get("disk", "yard"), 1.4),
    ]
    tasks = [
        {
            "id": name,
            "place": place,
            "open": OPEN,
            "modes": [{"id": "outfit", "resources": used.split(","), "setup": "disk"}],
        }
        for name, place, used, _from, _to in visits
    ]
    rows = [{"id": name, "mode": "outfit", "from": first, "to": last} for name, _, _, first, last in visits]
    return make_plan(
        farm,
        problem={"places": PLACES, "road_minutes": ROAD_MIN, "resources": resources, "tasks": tasks},
        plan={"tasks": rows},
    )


def a_farm() -> Farm:
    farm = make_farm()
    make_field(farm, "hill", latitude_deg=Decimal("31.70"), longitude_deg=Decimal("-83.52"))
    make_field(farm, "pond", latitude_deg=Decimal("31.65"), longitude_deg=Decimal("-83.52"))
    return farm


OUTFIT = "imani,tractor,disk"


def way(farm: Farm, plan: WeekPlan, task: str, day: dt.date = MONDAY) -> WayThere:
    found = Ways(farm=farm, plan=plan, fields=Field.objects.filter(farm=farm)).to(task_key=task, day=day)
    assert found is not None
    return found


def test_the_first_way_of_a_day_begins_at_the_yard_at_the_pace_of_the_slowest_of_the_outfit() -> None:
    """20 minutes of the table × 1.4 of the disk are 28."""
    farm = a_farm()
    found = way(farm, planned(farm, ("a", "hill", OUTFIT, 7 * H, 12 * H)), "a")
    assert (found.from_name, found.minutes, found.fetch, found.leave_at) == ("", 28, (), None)


def test_the_next_way_begins_where_the_hand_was_before() -> None:
    """15 minutes × 1.4 are 21."""
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 7 * H, 9 * H), ("b", "pond", OUTFIT, 10 * H, 12 * H))
    found = way(farm, plan, "b")
    assert (found.from_name, found.minutes) == ("Hill", 21)


def test_two_tasks_of_one_field_have_no_way_between_them() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 7 * H, 9 * H), ("b", "hill", OUTFIT, 10 * H, 12 * H))
    assert (way(farm, plan, "b").minutes, way(farm, plan, "b").miles) == (0, 0)


def test_a_machine_that_stands_in_another_field_is_fetched_on_the_way() -> None:
    """From the yard to the hill by truck in 20 minutes, on with the outfit in 15 × 1.4."""
    farm = a_farm()
    plan = planned(farm, ("a", "pond", OUTFIT, 7 * H, 9 * H), homes={"tractor": "hill", "disk": "hill"})
    found = way(farm, plan, "a")
    assert (found.from_name, found.minutes) == ("", 20 + 21)
    assert found.fetch == (Fetch("Hill"), Fetch("Hill", is_machine=False))
    hill, pond = (Field.objects.get(farm=farm, code=code) for code in ("hill", "pond"))
    assert found.miles == pytest.approx(road_miles(farm, hill) + road_miles(hill, pond))


@pytest.mark.parametrize(
    ("homes", "minutes", "fetch"),
    [
        ({"disk": "pond"}, YARD_TO_POND + 21, (Fetch("Pond", is_machine=False),)),
        (
            {"tractor": "hill", "disk": "pond"},
            YARD_TO_HILL + HILL_TO_POND + 21,
            (Fetch("Hill"), Fetch("Pond", is_machine=False)),
        ),
        ({"tractor": "pond", "disk": "hill"}, YARD_TO_POND + HILL_TO_POND, (Fetch("Pond"),)),
    ],
)
def test_the_implement_is_fetched_where_it_stands_after_the_machine(
    homes: dict[str, str], minutes: int, fetch: tuple[Fetch, ...]
) -> None:
    """From the pond to the hill with the disk in 15 × 1.4 = 21 minutes; a tractor alone is faster than the hand's table."""
    farm = a_farm()
    found = way(farm, planned(farm, ("a", "hill", OUTFIT, 9 * H, 12 * H), homes=homes), "a")
    assert (found.minutes, found.fetch, found.leave_at) == (minutes, fetch, None)


@pytest.mark.parametrize(("pulls", "leave", "hitch_min"), [("disk", (6, 4), 0), ("planter", (5, 34), 30)])
def test_a_way_longer_than_the_plan_leaves_says_when_to_leave(
    pulls: str, leave: tuple[int, int], hitch_min: int
) -> None:
    """At work from 6:30, work from 7:00: 56 minutes of road ask to leave at 6:04, with 30 to hitch up at 5:34."""
    farm = a_farm()
    homes = {"tractor": "hill", "disk": "pond", "pulls": pulls}
    found = way(farm, planned(farm, ("a", "hill", OUTFIT, 7 * H, 12 * H), homes=homes), "a")
    assert (found.leave_at, found.there_at, found.hitch_min) == (at(MONDAY, *leave), None, hitch_min)


def test_work_under_way_begins_with_the_first_hour_that_is_open() -> None:
    """It stands at midnight in the plan; the hand has from 6:30 to 7:00 for 20 minutes of road."""
    farm = a_farm()
    plan = planned(farm, ("a", "hill", "imani", 0, 12 * H))
    found = Ways(farm=farm, plan=plan).first_journeys()["a"]
    assert (found.minutes, found.leave_at, found.there_at) == (YARD_TO_HILL, None, None)


def test_nobody_is_asked_to_leave_before_the_plan_begins() -> None:
    """A plan from 2:00 pm on, work from 2:30: 20 minutes there, 15 on and 21 back are 56."""
    farm = a_farm()
    homes = {"tractor": "hill", "disk": "pond"}
    plan = planned(farm, ("a", "hill", OUTFIT, 30, 5 * H), homes=homes)
    WeekPlan.objects.filter(pk=plan.pk).update(starts_at=at(MONDAY, 14))
    plan.refresh_from_db()
    ways = Ways(farm=farm, plan=plan)
    found = ways.journey(task_key="a", day=MONDAY, begins_at=at(MONDAY, 14, 30))
    assert found is not None
    assert (found.leave_at, found.there_at) == (None, at(MONDAY, 14, 56))


def test_work_that_goes_on_at_the_first_hour_asks_to_leave_before_it() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 15 * H, 34 * H))
    ways = Ways(farm=farm, plan=plan, fields=Field.objects.filter(farm=farm))
    found = ways.to(task_key="a", day=MONDAY + DAY, begins_at=at(MONDAY + DAY, 6, 30))
    assert found is not None
    assert found.leave_at == at(MONDAY + DAY, 6, 10)


def test_a_hand_that_is_held_by_work_before_is_late() -> None:
    """Done at the pond at 9:00: 15 to the hill for the tractor, 20 to the yard for the disk, back with it in 10 × 1.4."""
    farm = a_farm()
    plan = planned(
        farm,
        ("a", "pond", "imani", 7 * H, 9 * H),
        ("b", "pond", OUTFIT, 9 * H, 12 * H),
        homes={"tractor": "hill"},
    )
    found = way(farm, plan, "b")
    assert (found.minutes, found.leave_at, found.there_at) == (15 + 20 + 14, None, at(MONDAY, 9, 49))


def test_a_machine_left_in_the_field_itself_is_met_there() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 7 * H, 12 * H), homes={"tractor": "hill", "disk": "hill"})
    found = way(farm, plan, "a")
    assert (found.from_name, found.minutes, found.fetch) == ("", YARD_TO_HILL, ())


def test_work_that_goes_on_the_next_morning_is_reached_from_the_yard_without_the_outfit() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 15 * H, 34 * H))
    assert way(farm, plan, "a").minutes == 28
    found = way(farm, plan, "a", MONDAY + DAY)
    assert (found.from_name, found.minutes) == ("", YARD_TO_HILL)


def test_a_hand_sleeps_at_home_and_fetches_what_was_left_in_the_field_in_the_morning() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "hill", OUTFIT, 7 * H, 9 * H), ("b", "pond", OUTFIT, 31 * H, 33 * H))
    found = way(farm, plan, "b", MONDAY + DAY)
    assert (found.from_name, found.minutes) == ("", 20 + 21)
    assert found.fetch == (Fetch("Hill"), Fetch("Hill", is_machine=False))


def test_a_hand_alone_goes_at_the_pace_of_the_table() -> None:
    farm = a_farm()
    assert way(farm, planned(farm, ("a", "pond", "imani", 7 * H, 9 * H)), "a").minutes == YARD_TO_POND


def test_what_no_hand_does_and_what_the_plan_does_not_hold_has_no_way() -> None:
    farm = a_farm()
    plan = planned(farm, ("a", "pond", "tractor", 7 * H, 9 * H))
    ways = Ways(farm=farm, plan=plan, fields=Field.objects.filter(farm=farm))
    assert ways.to(task_key="a", day=MONDAY) is None
    assert ways.to(task_key="gone", day=MONDAY) is None


def test_miles_of_road_are_those_behind_the_minutes_of_the_table() -> None:
    """A degree of latitude near 31.6° is 110.86 km (WGS 84): 0.1° × 1.3 of detour are 8.95 miles, 36 minutes at 15 mph."""
    farm = a_farm()
    hill = Field.objects.get(farm=farm, code="hill")
    miles = road_miles(farm, hill)
    assert miles == pytest.approx(0.1 * 110.86 / 1.609344 * DETOUR, abs=0.01)
    assert road_minutes(farm=farm, fields=[hill])[0][1] == pytest.approx(miles / 15 * 60, abs=1)
