"""What a plan left, told once for each cause."""

import datetime as dt

import pytest

from farmops.desk.week_table import left_lines
from farmops.pages.left_page import waiting_keys
from scheduling.models import WeekPlan
from scheduling.selectors.left import LeftWork, left_by_cause, left_in_words
from scheduling.selectors.plans import uncounted_in_words
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


def test_what_finds_no_outfit_still_counts_as_left_and_what_only_waits_for_a_word_does_not() -> None:
    plan = plan_of(
        [
            (
                "pond-40/disk",
                "All outfits that could do it are taken by other work, or on the road, in the hours it is open.",
            )
        ]
    )
    plan.starts_at, plan.days = dt.datetime(2026, 4, 20, tzinfo=dt.UTC), 7
    plan.not_offered = [
        ["red-cart/disk", "All 40.00 acres are reported: say that it is finished, or correct a record."]
    ]
    assert waiting_keys(plan) == {"pond-40/disk"}
    assert "not in this sum" not in uncounted_in_words(plan=plan)
