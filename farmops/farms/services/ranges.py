"""What each number of a farm may be, whether it stands in a file or is entered one at a time."""

from typing import NamedTuple


class Range(NamedTuple):
    """Least and most of a number in the unit of its name, and how many decimals it may have."""

    least: float
    most: float
    decimals: int


RANGES: dict[str, Range] = {
    "latitude_deg": Range(-90, 90, 6),
    "longitude_deg": Range(-180, 180, 6),
    "elevation_ft": Range(-1400, 15000, 1),
    "planted_ac": Range(0.01, 100000, 2),
    "stated_ac": Range(0.01, 100000, 2),
    "agency_ac": Range(0.01, 100000, 2),
    "area_ac": Range(0.01, 100000, 2),
    "share_pct": Range(0.01, 100, 2),
    "landlord_share_pct": Range(0, 100, 2),
    "crop_year": Range(1990, 2100, 0),
    "power_hp": Range(1, 2000, 1),
    "road_speed_mph": Range(1, 75, 1),
    "meter_start_h": Range(0, 99999, 1),
    "width_ft": Range(0.5, 200, 1),
    "speed_min_mph": Range(0.1, 30, 1),
    "speed_mph": Range(0.1, 30, 1),
    "speed_max_mph": Range(0.1, 30, 1),
    "efficiency_pct": Range(1, 100, 1),
    "power_needed_hp": Range(0, 2000, 1),
    "road_factor": Range(1, 20, 2),
    "noise_dba": Range(40, 140, 1),
    "depth_in": Range(0.5, 23.6, 1),
    "tool_count": Range(1, 120, 0),
    "gang_angle_min_deg": Range(0, 45, 1),
    "gang_angle_max_deg": Range(0, 45, 1),
    "bearings_front": Range(0, 200, 0),
    "bearings_back": Range(0, 200, 0),
    "flow_gpm": Range(1, 20000, 1),
    "last_tower_radius_ft": Range(50, 5000, 1),
    "walk_ft_per_min": Range(0.5, 40, 2),
    "tower_count": Range(1, 40, 0),
    "parking_angle_deg": Range(0, 359.9, 1),
    "strip_width_ft": Range(5, 300, 1),
    "strip_move_deg": Range(1, 180, 1),
    "retention_residual_m3_m3": Range(0, 0.4, 4),
    "retention_saturation_m3_m3": Range(0.2, 0.9, 4),
    "retention_alpha_per_m": Range(0.01, 100, 4),
    "retention_n": Range(1.01, 10, 4),
    "workable_m3_m3": Range(0.02, 0.6, 4),
    "dry_m3_m3": Range(0.01, 0.5, 4),
    "root_depth_in": Range(2, 96, 1),
    "allowed_share": Range(0.05, 0.95, 3),
    "holds_gal": Range(1, 100000, 1),
    "every_h": Range(1, 10000, 1),
    "every_days": Range(1, 3650, 0),
    "every_ac": Range(1, 100000, 1),
    "every_starts": Range(1, 10000, 0),
    "takes_min": Range(1, 1440, 0),
    "counts_from_h": Range(0, 99999, 1),
    "yield_per_ac": Range(0.1, 99999, 1),
    "price_usd": Range(0, 10000, 4),
}
