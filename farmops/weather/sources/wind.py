"""Wind at another height."""

import math


def wind_at_2m_m_s(*, wind_m_s: float, height_m: float) -> float:
    """Bring wind from a height down to 2 m over short grass (FAO Irrigation and Drainage Paper 56, eq. 47)."""
    return wind_m_s * 4.87 / math.log(67.8 * height_m - 5.42)
