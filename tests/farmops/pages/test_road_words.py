"""The road on the cards of the week: the way that the morning sheet says."""

import pytest

from farmops.farms.models import Field
from farmops.pages.board_facts import Road, roads_of
from scheduling.selectors.slip_ways import Ways
from tests.farmops.digests.planned import MONDAY, at
from tests.scheduling.selectors.test_slip_ways import OUTFIT, H, a_farm, planned

pytestmark = pytest.mark.django_db


def test_a_card_says_the_way_of_the_sheet_with_all_that_is_fetched_and_when_to_leave() -> None:
    farm = a_farm()
    homes = {"tractor": "hill", "disk": "pond"}
    plan = planned(farm, ("a", "hill", OUTFIT, 7 * H, 12 * H), homes=homes)
    road = roads_of(plan, farm=farm)["a"]
    way = Ways(farm=farm, plan=plan, fields=Field.objects.filter(farm=farm)).to(task_key="a", day=MONDAY)
    assert way is not None
    assert (road.minutes, road.leave_at) == (way.minutes, way.leave_at) == (56, at(MONDAY, 6, 4))
    assert road.says == (
        "56 min of road from the yard · fetch tractor at Hill · fetch disk at Pond · leave by 6:04 am"
    )


def test_late_after_other_work_is_said_and_a_task_without_a_hand_keeps_its_own_road() -> None:
    farm = a_farm()
    plan = planned(
        farm,
        ("a", "pond", "imani", 7 * H, 9 * H),
        ("b", "pond", OUTFIT, 9 * H, 12 * H),
        ("c", "hill", "tractor,disk", 14 * H, 15 * H),
        homes={"tractor": "hill"},
    )
    roads = roads_of(plan, farm=farm)
    assert roads["b"].says.endswith("not there before 9:49 am")
    assert roads["c"] == Road(21, "Pond")
