"""What a plan left, told once for each cause."""

import pytest

from farmops.desk.week_table import left_lines
from scheduling.models import WeekPlan
from scheduling.selectors.left import LeftWork, left_by_cause, left_in_words
from tests.factories import make_farm, make_field

pytestmark = pytest.mark.django_db


def left(rows: list[tuple[str, str]]) -> list[LeftWork]:
    return left_in_words(plan=plan_of(rows))


def plan_of(rows: list[tuple[str, str]]) -> WeekPlan:
    farm = make_farm()
    make_field(farm, "pond-40", name="Pond Forty")
    make_field(farm, "red-cart", name="Red Cart")
    told = {"left": [{"id": key, "why": why} for key, why in rows]}
    return WeekPlan(farm=farm, plan=told, problem={}, windows={}, not_offered=[])


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


def test_what_waits_is_told_with_what_it_waits_for_and_not_with_what_comes_after_it() -> None:
    told = left(
        [
            ("pond-40/defoliate", "It cannot start in these days."),
            ("pond-40/rip_bed", "It waits for pond-40/disk#1, which is left."),
            ("pond-40/disk", "The ground is too wet."),
            ("pond-40/plant", "It waits for pond-40/rip_bed, which is left."),
        ]
    )
    assert [(one.work, one.followers) for one in told] == [
        ("defoliate", ()),
        ("disk", ("plant", "rip and bed")),
    ]


def test_what_is_left_for_the_same_reason_is_told_once_with_all_its_passes() -> None:
    down = "No tractor here can disk in these days: tractor 1 is down until Thursday, April 23."
    plan = plan_of(
        [
            ("pond-40/disk", down),
            ("pond-40/plant", "It waits for pond-40/disk, which is left."),
            ("pond-40/spray", "It has no room."),
            ("red-cart/disk", down),
        ]
    )
    told = [(one.why, [work.key for work in one.works]) for one in left_by_cause(plan=plan)]
    assert told == [(down, ["pond-40/disk", "red-cart/disk"]), ("It has no room.", ["pond-40/spray"])]
    assert left_lines(plan=plan) == [
        "Left, and why:",
        f"  {down}",
        "    Pond Forty, disk (so these wait too: plant)",
        "    Red Cart, disk",
        "  Pond Forty, spray: It has no room.",
    ]


def test_nothing_that_was_left_goes_untold() -> None:
    rows = [
        (f"pond-40/disk-{turn}", f"It waits for pond-40/disk-{turn + 1}, which is left.") for turn in (2, 3)
    ]
    assert [one.work for one in left(rows)] == ["disk again", "disk, turn 3"]
