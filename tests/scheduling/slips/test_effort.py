"""Pace, power and fuel of a pass, held against tables of field use and worked by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest

from farmops.science.textures import TEXTURES
from farmops.science.work_rate import DRAFT, SOILS
from scheduling.slips.effort import effort_of, most_speed_mph, power_share
from scheduling.slips.facts import ImplementFacts, Zone
from scheduling.slips.soil import SOIL_OF, soil_of

DISK = ImplementFacts(28, 4, 5, 6, 80, draft_kind="tandem_disk_secondary", depth_in=4)
PLANTER = ImplementFacts(24, 4, 4.5, 6, 65, draft_kind="row_planter", tool_count=8)
CHISEL = ImplementFacts(15, 4, 5, 6, 85, draft_kind="chisel_plow", depth_in=8, tool_count=15)
BEDDER = ImplementFacts(24, 3.5, 4.5, 5.5, 78, draft_kind="subsoiler_narrow", depth_in=14, tool_count=8)


def zones(*textures: str) -> tuple[Zone, ...]:
    share = Decimal(100) / len(textures)
    return tuple(Zone(number, f"zone {number}", one, share) for number, one in enumerate(textures))


@pytest.mark.parametrize(
    ("implement", "power_hp", "least_gal_per_ac", "most_gal_per_ac"),
    [(DISK, 190.0, 0.45, 0.65), (PLANTER, 110.0, 0.50, 0.50), (CHISEL, 200.0, 1.10, 1.10)],
)
def test_fuel_to_the_acre_is_near_an_extension_table_of_field_use(
    implement: ImplementFacts, power_hp: float, least_gal_per_ac: float, most_gal_per_ac: float
) -> None:
    """University of Missouri Extension G1208 (read): tandem disk in stalks to plowed ground, row planter, chisel plow.

    Within 35 %, which is what Iowa State University Extension A3-27 says its like figures may be off.
    """
    effort = effort_of(implement=implement, power_hp=power_hp, zones=zones("loam"), work_min=60)
    assert effort.is_by_draft
    assert effort.fuel_gal is not None
    assert effort.work_rate_ac_per_h is not None
    gal_per_ac = effort.fuel_gal / effort.work_rate_ac_per_h
    assert least_gal_per_ac * 0.65 <= gal_per_ac <= most_gal_per_ac * 1.35


def test_the_pace_is_width_times_speed_times_efficiency() -> None:
    """28 ft at 5 mph and 80 %: 28 × 5 × 0.80 / 8.25 = 13.6 acres an hour (Iowa State A3-24's equation)."""
    effort = effort_of(implement=DISK, power_hp=190, zones=(), work_min=60)
    assert effort.work_rate_ac_per_h == pytest.approx(13.6, abs=0.05)


def test_the_share_of_the_power_is_as_worked_by_hand() -> None:
    """8 points at 14 in (35.56 cm), 4.5 mph (7.242 km/h), medium soil: 0.70 (226 + 1.8 × 52.45) × 8 × 35.56 = 63 805 N;
    × 7.242 / 3600 = 128.35 kW at the drawbar, / 0.72 = 178.3 kW at the PTO; 250 hp are 186.4 kW.
    """
    share = power_share(implement=BEDDER, power_hp=250, zones=zones("loam"), speed_mph=4.5)
    assert share == pytest.approx(0.956, abs=0.001)


def test_fuel_of_a_pull_that_nobody_knows_is_the_years_average_of_the_machine() -> None:
    """A 180 hp tractor burns 7.92 gal an hour over the year: Iowa State University Extension A3-29."""
    unknown = replace(DISK, draft_kind="")
    effort = effort_of(implement=unknown, power_hp=180, zones=zones("clay"), work_min=120)
    assert effort.fuel_gal == pytest.approx(2 * 7.92)
    assert (effort.is_by_draft, effort.power_share) == (False, None)


@pytest.mark.parametrize(
    "broken",
    [replace(BEDDER, tool_count=None), replace(DISK, depth_in=None), replace(DISK, depth_in=30)],
    ids=["shanks not counted", "depth not known", "deeper than the standard speaks of"],
)
def test_a_pull_that_cannot_be_worked_out_is_not_known(broken: ImplementFacts) -> None:
    assert power_share(implement=broken, power_hp=250, zones=(), speed_mph=4.5) is None


def test_twice_the_hours_take_twice_the_fuel() -> None:
    one, two = (
        effort_of(implement=DISK, power_hp=190, zones=zones("loam"), work_min=minutes).fuel_gal
        for minutes in (60, 120)
    )
    assert one is not None
    assert two == pytest.approx(2 * one)


def test_heavier_soil_asks_for_more_and_zones_count_by_their_shares() -> None:
    shares = [
        power_share(implement=BEDDER, power_hp=250, zones=zones(*textures), speed_mph=4.5)
        for textures in (("sand",), ("sand", "clay"), ("clay",))
    ]
    assert None not in shares
    sand, both, clay = (share or 0 for share in shares)
    assert sand < both < clay
    assert both == pytest.approx((sand + clay) / 2)


def test_what_is_too_heavy_says_so_and_takes_its_energy_as_fuel() -> None:
    effort = effort_of(implement=BEDDER, power_hp=120, zones=zones("clay"), work_min=60)
    lighter = effort_of(implement=BEDDER, power_hp=400, zones=zones("clay"), work_min=60)
    assert effort.power_share is not None
    assert effort.power_share > 1
    assert effort.fuel_gal == pytest.approx(lighter.fuel_gal, rel=0.25)


def test_the_fastest_speed_is_the_one_that_just_takes_all_of_the_power() -> None:
    fastest = most_speed_mph(implement=BEDDER, power_hp=250, zones=zones("loam"))
    assert fastest is not None
    below, above = (
        power_share(implement=BEDDER, power_hp=250, zones=zones("loam"), speed_mph=fastest + step) or 0
        for step in (0, 0.1)
    )
    assert below <= 1 < above
    assert most_speed_mph(implement=DISK, power_hp=250, zones=zones("loam")) is None
    assert most_speed_mph(implement=BEDDER, power_hp=40, zones=zones("loam")) == 3.5


def test_every_texture_has_its_soil_and_heavier_textures_no_lighter_one() -> None:
    """By the share of clay: sands and sandy loams, loams and silts, clay loams and clays (USDA texture triangle)."""
    assert set(SOIL_OF) == set(TEXTURES)
    assert set(SOIL_OF.values()) == set(SOILS)
    assert [soil_of(one) for one in ("sand", "loam", "clay", "marl")] == [
        "coarse",
        "medium",
        "fine",
        "medium",
    ]


def test_every_kind_of_pull_of_the_standard_is_counted_by_width_or_by_tools() -> None:
    for kind in DRAFT:
        tool = replace(BEDDER, draft_kind=kind)
        assert power_share(implement=tool, power_hp=250, zones=(), speed_mph=4.5), kind
