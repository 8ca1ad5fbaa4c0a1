"""Work rates, pull and fuel, and center pivots."""

import numpy as np
import pytest

from farmops.science.pivot import circle_ac, depth_per_turn_in, hours_for_depth_h, revolution_h, walk_minutes
from farmops.science.units import km_h_from_mph, kw_from_hp, liters_from_gallons, m_from_feet
from farmops.science.work_rate import (
    DRAFT,
    SOILS,
    draft_n,
    drawbar_kw,
    specific_fuel_l_per_kwh,
    work_rate_ac_per_h,
)

# University of Missouri Extension G1208 (read): mph, PTO horsepower a foot of width, gallons an acre
FIELD_FUEL = {
    "moldboard plow, 8 in": (4.5, 13.5, 1.68),
    "chisel plow, 8 in": (5, 9.3, 1.10),
    "tandem disk in stalks": (5, 3.5, 0.45),
    "tandem disk on chiseled ground": (5, 4.3, 0.55),
    "tandem disk on plowed ground": (5, 5.6, 0.65),
    "field cultivator": (5.5, 5.2, 0.60),
    "row planter": (4.5, 3.5, 0.50),
    "rotary hoe": (7, 2.3, 0.25),
}


@pytest.mark.parametrize("work", FIELD_FUEL)
def test_specific_fuel_is_near_an_extension_table_of_field_use(work: str) -> None:
    """At four fifths of the power, within a fifth: the table's own figures may be off by a third."""
    speed_mph, hp_per_ft, gal_per_ac = FIELD_FUEL[work]
    ac_per_h = work_rate_ac_per_h(width_ft=1, speed_mph=speed_mph, efficiency_pct=100)
    l_per_kwh = liters_from_gallons(gal_per_ac * ac_per_h) / kw_from_hp(hp_per_ft)
    assert l_per_kwh == pytest.approx(specific_fuel_l_per_kwh(load_share=0.8), rel=0.2)


def test_a_disks_pull_asks_for_about_the_power_of_the_table() -> None:
    """A tandem disk of 28 ft at 5 mph: 98 to 157 horsepower at the PTO by the table above, 0.6 to 0.75 of it pulls."""
    speed_km_h = km_h_from_mph(5)
    pull = draft_n(
        implement="tandem_disk_secondary",
        soil="medium",
        speed_km_h=speed_km_h,
        size=m_from_feet(28),
        depth_cm=10,
    )
    assert kw_from_hp(98) * 0.6 < drawbar_kw(draft_n=pull, speed_km_h=speed_km_h) < kw_from_hp(157) * 0.75


@pytest.mark.parametrize("implement", DRAFT)
def test_heavier_soil_pulls_no_less(implement: str) -> None:
    pulls = [draft_n(implement=implement, soil=soil, speed_km_h=7, size=4, depth_cm=12) for soil in SOILS]
    assert pulls == sorted(pulls, reverse=True)


def test_a_planters_pull_does_not_hang_on_depth() -> None:
    shallow, deep = (
        draft_n(implement="row_planter", soil="medium", speed_km_h=8, size=8, depth_cm=depth)
        for depth in (2, 6)
    )
    assert shallow == deep == 7200


def test_a_half_circle_takes_half_a_turn() -> None:
    turn = revolution_h(last_tower_radius_ft=1280, walk_ft_per_min=8)
    half = walk_minutes(last_tower_radius_ft=1280, degrees=180, walk_ft_per_min=8)
    assert half == pytest.approx(turn * 30)


def test_depth_and_hours_are_each_others_turning() -> None:
    area = circle_ac(radius_ft=1300)
    hours = hours_for_depth_h(depth_in=0.5, flow_gpm=np.array([600.0, 800.0]), area_ac=area)
    assert depth_per_turn_in(flow_gpm=np.array([600.0, 800.0]), area_ac=area, hours=hours) == pytest.approx(
        [0.5, 0.5]
    )
