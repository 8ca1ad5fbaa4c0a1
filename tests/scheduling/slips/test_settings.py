"""Where a tillage tool is set to start with: inside its ranges, and moved by soil and wetness the way the trade does."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.farms.operations import TILLAGE, Operation
from farmops.science.textures import TEXTURES
from scheduling.slips.facts import GroundToday, ImplementFacts, StartSetting, Zone
from scheduling.slips.settings import PUBLISHED_MPH, WHY, start_settings

DISK = ImplementFacts(
    28, 4, 5, 6, 80, "tandem_disk_secondary", depth_in=4, gang_angle_min_deg=17, gang_angle_max_deg=23
)
BEDDER = ImplementFacts(24, 3.5, 4.5, 5.5, 78, "subsoiler_narrow", depth_in=14, tool_count=8)
ALL = "all"


def zone(texture: str, name: str = ALL, share_pct: int = 100) -> Zone:
    return Zone(1, name, texture, Decimal(share_pct))


def ground(share: float, name: str = ALL) -> dict[str, GroundToday]:
    return {name: GroundToday(name, 0.2 * share, 0.2)}


def settings(
    texture: str = "loam",
    share: float | None = 0.7,
    *,
    operation: Operation = Operation.DISK,
    implement: ImplementFacts = DISK,
    power_hp: float | None = None,
) -> dict[str, StartSetting]:
    found = start_settings(
        operation=operation,
        implement=implement,
        zones=[zone(texture)],
        grounds={} if share is None else ground(share),
        power_hp=power_hp,
    )
    return {one.key: one for one in found}


def span(setting: StartSetting) -> tuple[float, float]:
    assert setting.low is not None
    assert setting.high is not None
    return float(setting.low), float(setting.high)


@pytest.mark.parametrize(("texture", "angle"), [("sand", (17, 19)), ("loam", (19, 21)), ("clay", (21, 23))])
def test_a_wider_gang_angle_for_harder_soil(texture: str, angle: tuple[float, float]) -> None:
    """A wider angle cuts deeper; 17, 20 and 23 degrees are the holes of one harrow (US Army TM 5-3710-200-13P)."""
    assert span(settings(texture)["gang_angle_deg"]) == angle


def test_damp_ground_asks_for_less_angle_less_depth_and_less_speed() -> None:
    """Common practice, no source."""
    dry, damp = settings("clay", 0.7), settings("clay", 0.9)
    for key in ("gang_angle_deg", "depth_in", "speed_mph"):
        assert span(damp[key])[1] < span(dry[key])[1], key
    assert "Damp" in damp["speed_mph"].why.en


def test_a_disk_starts_inside_four_to_six_miles_an_hour_whatever_the_ground() -> None:
    """Iowa State University Extension A3-27 and operators' sheets: 4 to 6 mph."""
    for texture in TEXTURES:
        for share in (None, 0.4, 0.7, 0.9, 1.2):
            low, high = span(settings(texture, share)["speed_mph"])
            assert 4 <= low < high <= 6, (texture, share)


def test_too_much_speed_is_said_to_throw_soil_out_and_to_leave_the_field_uneven() -> None:
    why = settings("loam")["speed_mph"].why.en
    assert "Speed is a setting too" in why
    assert "throws soil out" in why
    assert "uneven" in why


def test_a_disk_is_leveled_front_to_back_since_a_low_nose_heaps_the_soil() -> None:
    level = settings()["level"]
    assert (level.low, level.high) == (None, None)
    assert "Nose low cuts harder until soil heaps" in level.why.en


def test_points_that_go_deep_stay_slow_and_just_under_the_hard_layer() -> None:
    """Subsoilers at 3 to 5 mph: ASABE D497, from memory; their pull grows with the square of speed."""
    found = settings("loam", operation=Operation.RIP_BED, implement=BEDDER)
    assert span(found["speed_mph"]) == (3.5, 4.5)
    assert span(found["depth_in"]) == (14, 15)
    assert "gang_angle_deg" not in found


def test_a_tractor_that_cannot_pull_it_faster_caps_the_speed_and_says_why() -> None:
    strong = settings("clay", operation=Operation.RIP_BED, implement=BEDDER, power_hp=500)
    weak = settings("clay", operation=Operation.RIP_BED, implement=BEDDER, power_hp=260)
    assert span(weak["speed_mph"])[1] < span(strong["speed_mph"])[1]
    assert "too heavy" in weak["speed_mph"].why.en


def test_hard_dry_clay_is_cut_shallow_first() -> None:
    assert span(settings("clay", 0.4)["depth_in"]) == (3, 4)
    assert span(settings("sand", 0.4)["depth_in"]) == (3.5, 4.5)


def test_zones_that_differ_are_told_apart_and_what_is_the_same_in_all_stands_once() -> None:
    found = start_settings(
        operation=Operation.DISK,
        implement=DISK,
        zones=[zone("sand", "ridge", 70), zone("clay", "low end", 30)],
        grounds={**ground(0.7, "ridge"), **ground(0.7, "low end")},
    )
    by_key: dict[str, list[str]] = {}
    for one in found:
        by_key.setdefault(one.key, []).append(one.zone)
    assert by_key["gang_angle_deg"] == ["ridge", "low end"]
    assert by_key["level"] == [""]
    assert by_key["depth_in"] == [""]


def test_a_wet_end_of_the_same_soil_is_told_apart_too() -> None:
    found = start_settings(
        operation=Operation.DISK,
        implement=DISK,
        zones=[zone("loam", "hill", 50), zone("loam", "low end", 50)],
        grounds={**ground(0.5, "hill"), **ground(0.95, "low end")},
    )
    assert {one.zone for one in found if one.key == "speed_mph"} == {"hill", "low end"}


def test_the_same_range_for_two_reasons_stands_once_with_the_damp_one() -> None:
    found = start_settings(
        operation=Operation.RIP_BED,
        implement=BEDDER,
        zones=[zone("loam", "hill", 50), zone("loam", "low end", 50)],
        grounds={**ground(0.5, "hill"), **ground(0.95, "low end")},
    )
    [speed] = [one for one in found if one.key == "speed_mph"]
    assert (speed.zone, speed.why) == ("", WHY["speed_damp"])


def test_without_depth_or_angles_only_what_is_known_is_told() -> None:
    bare = replace(DISK, depth_in=None, gang_angle_min_deg=None, gang_angle_max_deg=None)
    assert list(settings(implement=bare)) == ["speed_mph", "level"]


def test_other_work_than_tillage_has_no_settings() -> None:
    for operation in set(Operation) - TILLAGE:
        assert (
            start_settings(operation=operation, implement=DISK, zones=[zone("loam")], grounds=ground(0.7))
            == ()
        )
    assert start_settings(operation=Operation.DISK, implement=None, zones=[], grounds={}) == ()


@given(
    slowest=st.floats(1, 8),
    faster=st.floats(0, 4),
    fastest=st.floats(0, 4),
    kind=st.sampled_from(["", *PUBLISHED_MPH]),
    depth=st.floats(1, 20),
    angle=st.floats(5, 20),
    wider=st.floats(0, 10),
    texture=st.sampled_from(sorted(TEXTURES)),
    share=st.one_of(st.none(), st.floats(0.1, 2)),
    operation=st.sampled_from(sorted(TILLAGE)),
)
def test_ranges_are_ranges_inside_the_tools_own(
    slowest: float,
    faster: float,
    fastest: float,
    kind: str,
    depth: float,
    angle: float,
    wider: float,
    texture: str,
    share: float | None,
    operation: Operation,
) -> None:
    tool = ImplementFacts(
        20,
        slowest,
        slowest + faster,
        slowest + faster + fastest,
        80,
        kind,
        depth_in=depth,
        tool_count=6,
        gang_angle_min_deg=angle,
        gang_angle_max_deg=angle + wider,
    )
    found = settings(texture, share, operation=operation, implement=tool, power_hp=200)
    low, high = span(found["speed_mph"])
    assert slowest - 0.06 <= low <= high <= slowest + faster + fastest + 0.06
    low, high = span(found["gang_angle_deg"])
    assert angle - 0.26 <= low <= high <= angle + wider + 0.26
    low, high = span(found["depth_in"])
    assert 0 < low <= high <= depth + 1.26


def test_every_reason_is_said_in_both_languages() -> None:
    for key, why in WHY.items():
        assert why.en, key
        assert why.es, key
        assert why.en != why.es, key
