"""Center pivots: how long they walk, what ground they cover, how much water a turn puts on (cp_exercise, ut_w809)."""

import numpy as np

from farmops.science.ranges import Array, Computed, Values, above, plain, within
from farmops.science.units import SQUARE_FEET_PER_ACRE, gallons_from_acre_inches


def revolution_h(*, last_tower_radius_ft: Values, walk_ft_per_min: Values) -> Computed:
    """Return the hours of one turn: the last tower's circle over its speed.

    The last tower's radius, not the wetted one; the speed at the set timer, timed on the machine itself. Valid:
    radius above 0 up to 5000 ft, speed above 0 up to 60 ft/min, else OutOfRange.
    """
    return plain(_walk_minutes(last_tower_radius_ft, 360.0, walk_ft_per_min) / 60)


def walk_minutes(*, last_tower_radius_ft: Values, degrees: Values, walk_ft_per_min: Values) -> Computed:
    """Return the minutes in which a pivot walks through an angle.

    Valid: radius above 0 up to 5000 ft, 0 to 360 degrees, speed above 0 up to 60 ft/min, else OutOfRange.
    """
    return plain(_walk_minutes(last_tower_radius_ft, degrees, walk_ft_per_min))


def circle_ac(*, radius_ft: Values) -> Computed:
    """Return the acres of a full circle. Valid: radius above 0 up to 5000 ft, else OutOfRange."""
    return plain(np.pi * _up_to("radius_ft", radius_ft, 5000) ** 2 / SQUARE_FEET_PER_ACRE)


def depth_per_turn_in(*, flow_gpm: Values, area_ac: Values, hours: Values) -> Computed:
    """Return the inches of water that a flow puts on an area in some hours: gpm × h / (452.57 × ac). ut_w809.

    Valid: flow above 0 up to 20 000 gal/min, area above 0 up to 2000 ac, hours above 0 up to 1000, else OutOfRange.
    """
    gallons = _up_to("flow_gpm", flow_gpm, 20_000) * 60 * _up_to("hours", hours, 1000)
    return plain(gallons / gallons_from_acre_inches(_up_to("area_ac", area_ac, 2000)))


def hours_for_depth_h(*, depth_in: Values, flow_gpm: Values, area_ac: Values) -> Computed:
    """Return the hours in which a flow puts inches of water on an area. ut_w809.

    Valid: depth above 0 up to 20 in, flow above 0 up to 20 000 gal/min, area above 0 up to 2000 ac, else OutOfRange.
    """
    gallons = gallons_from_acre_inches(_up_to("area_ac", area_ac, 2000) * _up_to("depth_in", depth_in, 20))
    return plain(gallons / (60 * _up_to("flow_gpm", flow_gpm, 20_000)))


def _walk_minutes(last_tower_radius_ft: Values, degrees: Values, walk_ft_per_min: Values) -> Array:
    radius = _up_to("last_tower_radius_ft", last_tower_radius_ft, 5000)
    speed = _up_to("walk_ft_per_min", walk_ft_per_min, 60)
    result: Array = 2 * np.pi * radius * within("degrees", degrees, 0, 360) / 360 / speed
    return result


def _up_to(name: str, value: Values, high: float) -> Array:
    return within(name, above(name, value, 0), 0, high)
