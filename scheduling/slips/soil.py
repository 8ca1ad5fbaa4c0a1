"""Which of the three soils of asae_d497 a texture is. Pure.

Sands and sandy loams are coarse, clays and clay loams fine, what lies between is medium: the particle-size groups of soil
survey (coarse and moderately coarse, medium, moderately fine and fine), from memory; the sandy clay loam of a coastal
plain, loose between showers, is farm judgement.
"""

from collections.abc import Mapping
from types import MappingProxyType

SOIL_OF: Mapping[str, str] = MappingProxyType(
    {
        "sand": "coarse",
        "loamy_sand": "coarse",
        "sandy_loam": "coarse",
        "loam": "medium",
        "silt_loam": "medium",
        "silt": "medium",
        "sandy_clay_loam": "medium",
        "clay_loam": "fine",
        "silty_clay_loam": "fine",
        "silty_clay": "fine",
        "clay": "fine",
    }
)
"""One of `farmops.science.work_rate.SOILS` for each texture; a texture that is not known counts as medium."""


def soil_of(texture: str) -> str:
    """Return coarse, medium or fine."""
    return SOIL_OF.get(texture, "medium")
