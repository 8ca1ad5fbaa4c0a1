"""What the work takes: pace, share of the machine's power, and fuel. Pure.

Pace by isu_a324, pull by asae_d497, fuel by the share of the power that it asks for (asae_d497 of 2003). The standard
itself allows the pull 20 to 50 % either way, and extension tables of field use their figures a third (g1208, Iowa A3-27): a
slip says fuel as a round number, to fill the tank by.
"""

from collections.abc import Sequence
from functools import lru_cache

from farmops.science.ranges import OutOfRange
from farmops.science.units import (
    cm_from_inches,
    gallons_from_liters,
    km_h_from_mph,
    kw_from_hp,
    m_from_feet,
)
from farmops.science.work_rate import (
    DRAFT,
    draft_n,
    drawbar_kw,
    fuel_gal_per_h,
    specific_fuel_l_per_kwh,
    work_rate_ac_per_h,
)
from scheduling.slips.facts import Effort, ImplementFacts, Zone
from scheduling.slips.soil import soil_of

DRAWBAR_PER_PTO = 0.72
"""What of the PTO's power reaches the drawbar on tilled ground: a tractor with driven front wheels, asae_d497, from memory."""
TURNING_SHARE = 0.15
"""Share of the power while it turns and stands: common practice, no source."""
LEAST_SHARE = 0.1
SPEED_STEP_MPH = 0.1


def effort_of(*, implement: ImplementFacts, power_hp: float, zones: Sequence[Zone], work_min: int) -> Effort:
    """Return what so many minutes of work take with a machine of so much PTO power, in the soil of the zones.

    Where the pull is not known, fuel is the year's average of the machine. Soil counts by the zones' shares; without zones
    it is medium.
    """
    pace = _pace(implement.width_ft, implement.speed_mph, implement.efficiency_pct)
    hours = work_min / 60
    share = power_share(implement=implement, power_hp=power_hp, zones=zones, speed_mph=implement.speed_mph)
    if share is None:
        return Effort(pace, hours * _usual_gal_per_h(power_hp))
    at_work = implement.efficiency_pct / 100
    gal_per_h = at_work * _gal_per_h(share, power_hp) + (1 - at_work) * _gal_per_h(TURNING_SHARE, power_hp)
    return Effort(pace, hours * gal_per_h, is_by_draft=True, power_share=share)


def power_share(
    *, implement: ImplementFacts, power_hp: float, zones: Sequence[Zone], speed_mph: float
) -> float | None:
    """Return what pulling asks of a machine's PTO power, as a share; None where the pull is not known."""
    pull_n = _pull_n(implement, zones, speed_mph)
    if pull_n is None:
        return None
    at_drawbar = float(drawbar_kw(draft_n=pull_n, speed_km_h=km_h_from_mph(speed_mph)))
    return at_drawbar / DRAWBAR_PER_PTO / float(kw_from_hp(power_hp))


def most_speed_mph(*, implement: ImplementFacts, power_hp: float, zones: Sequence[Zone]) -> float | None:
    """Return the fastest speed of the implement's range that the machine can pull; None where it can pull it all.

    Where even the slowest asks for too much, that is the slowest.
    """
    steps = round((implement.speed_max_mph - implement.speed_min_mph) / SPEED_STEP_MPH)
    for step in range(steps + 1):
        speed_mph = implement.speed_max_mph - step * SPEED_STEP_MPH
        share = power_share(implement=implement, power_hp=power_hp, zones=zones, speed_mph=speed_mph)
        if share is None or share <= 1:
            return None if step == 0 or share is None else round(speed_mph, 1)
    return implement.speed_min_mph


@lru_cache(maxsize=2048)
def _pace(width_ft: float, speed_mph: float, efficiency_pct: float) -> float:
    """Return acres an hour; the same implement is asked for on every slip that it goes out for."""
    return float(work_rate_ac_per_h(width_ft=width_ft, speed_mph=speed_mph, efficiency_pct=efficiency_pct))


@lru_cache(maxsize=2048)
def _usual_gal_per_h(power_hp: float) -> float:
    return float(fuel_gal_per_h(pto_hp=power_hp))


def _pull_n(implement: ImplementFacts, zones: Sequence[Zone], speed_mph: float) -> float | None:
    row = DRAFT.get(implement.draft_kind)
    if row is None:
        return None
    size = implement.tool_count if row.is_per_tool else float(m_from_feet(implement.width_ft))
    depth_in = implement.depth_in if row.is_by_depth else 1.0
    if size is None or depth_in is None:
        return None
    shares = {"medium": 1.0} if not zones else {}
    for zone in zones:
        soil = soil_of(zone.texture)
        shares[soil] = shares.get(soil, 0.0) + float(zone.share_pct) / 100
    try:
        return sum(
            share
            * float(
                draft_n(
                    implement=implement.draft_kind,
                    soil=soil,
                    speed_km_h=km_h_from_mph(speed_mph),
                    size=size,
                    depth_cm=cm_from_inches(depth_in),
                )
            )
            for soil, share in shares.items()
        )
    except OutOfRange:
        return None


def _gal_per_h(share: float, power_hp: float) -> float:
    """Return diesel burned at a share of the power; what asks for more than all of it takes as much longer at all of it."""
    l_per_kwh = float(specific_fuel_l_per_kwh(load_share=min(max(share, LEAST_SHARE), 1.0)))
    return float(gallons_from_liters(l_per_kwh * share * float(kw_from_hp(power_hp))))
