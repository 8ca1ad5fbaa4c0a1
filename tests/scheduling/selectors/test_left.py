"""What a plan left, told once for each cause."""

import pytest

from scheduling.models import WeekPlan
from scheduling.selectors.left import LeftWork, left_in_words
from tests.factories import make_farm, make_field

pytestmark = pytest.mark.django_db


def left(rows: list[tuple[str, str]]) -> list[LeftWork]:
    farm = make_farm()
    make_field(farm, "pond-40", name="Pond Forty")
    make_field(farm, "red-cart", name="Red Cart")
    told = {"left": [{"id": key, "why": why} for key, why in rows]}
    return left_in_words(plan=WeekPlan(farm=farm, plan=told, problem={}, windows={}, not_offered=[]))


def test_what_only_waits_is_told_with_the_cause_on_its_ground() -> None:
    assert left(
        [
            ("pond-40/disk", "What it waits for ends too late."),
            ("pond-40/plant", "It waits for pond-40/disk, which is left."),
            ("pond-40/pivot_start", "It waits for pond-40/disk, which is left."),
            ("pond-40/pivot_walk", "It waits for pond-40/pivot_start, which is left."),
            ("red-cart/plant", "It waits for pond-40/disk, which is left."),
        ]
    ) == [
        LeftWork(
            "Pond Forty",
            "disk",
            "What it waits for ends too late.",
            ("moving the pivot", "plant"),
            "pond-40/disk",
        ),
        LeftWork(
            "Red Cart", "plant", "It waits for “disk” on Pond Forty, which is left.", (), "red-cart/plant"
        ),
    ]


def test_nothing_that_was_left_goes_untold() -> None:
    rows = [
        (f"pond-40/disk-{turn}", f"It waits for pond-40/disk-{turn + 1}, which is left.") for turn in (2, 3)
    ]
    assert [one.work for one in left(rows)] == ["disk again", "disk, turn 3"]
