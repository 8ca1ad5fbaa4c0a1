"""What the water balance needs of each crop, one row for each region and crop, with where its numbers come from.

Rows of region "fao" are the middles of fao56 tables 11 (days), 12 (height), 17 (basal coefficients) and 22 (roots,
fraction), as quoted elsewhere. Rows of region "southeast" keep its coefficients and heights, but follow the practice of
the Coastal Plain: shallow roots above the pan, of whose water half may be used (uga2020: cotton on 18 in of roots with
1 in/ft has 0.75 in to use), and cotton by heat units instead of days (cottonstages, counted from emergence there; the
row counts from planting, with 55 DD60 to emergence). Roots at planting are farm judgement, seed depths common practice.
A farm that knows better replaces a row's roots and fraction.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

DD60, DAYS = "dd60", "days"
EMERGENCE_DD60 = 55
"""From planting to emergence: middle of 50 to 60 (cottonstages)."""


@dataclass(frozen=True)
class CropWater:
    """A crop in a region: basal coefficients (fao56 ch. 7), roots and height in m, and stages by its clock.

    `clock` is "dd60" (heat sum in °F from planting) or "days" (from planting); cover begins to close at `develops_at`,
    is full from `mid_at` to `late_at` and the crop is ripe at `ends_at`. `depletion_fraction` is the share of the root
    zone's water that may be used before the crop suffers.
    """

    crop: str
    region: str
    basal_first: float
    basal_mid: float
    basal_last: float
    root_first_m: float
    root_most_m: float
    depletion_fraction: float
    height_most_m: float
    clock: str
    develops_at: float
    mid_at: float
    late_at: float
    ends_at: float
    seed_depth_in: float
    source: str


def _from_emergence(low: float, high: float) -> float:
    return EMERGENCE_DD60 + (low + high) / 2


_INCH_M = 0.0254
_SQUARE, _BLOOM = _from_emergence(425, 475), _from_emergence(825, 875)
_OPEN_BOLL, _OPEN_60_PCT = _from_emergence(1700, 1750), _from_emergence(2180, 2230)
_FAO = "fao56 tables 11, 12, 17 and 22, middles"
_COTTON = (
    "roots and fraction: uga2020; stages (square, bloom, open boll, 60 % open): cottonstages; else fao56"
)
_PEANUTS = "roots and fraction: common practice, no source; else fao56"
_SOYBEANS = "roots and fraction: common practice, no source; else fao56"
_CORN = "roots, fraction and days to ripeness: common practice, no source; else fao56"

_ROWS = (
    # crop, region, basal coefficients, roots, fraction, height, clock and stages, seed depth, source
    CropWater(
        *("cotton", "southeast", 0.15, 1.12, 0.45, 0.15, 18 * _INCH_M, 0.50, 1.35),
        *(DD60, _SQUARE, _BLOOM, _OPEN_BOLL, _OPEN_60_PCT, 0.75, _COTTON),
    ),
    CropWater(
        *("peanuts", "southeast", 0.15, 1.10, 0.50, 0.15, 24 * _INCH_M, 0.50, 0.40),
        *(DAYS, 35, 80, 115, 140, 2.0, _PEANUTS),
    ),
    CropWater(
        *("corn", "southeast", 0.15, 1.15, 0.15, 0.15, 24 * _INCH_M, 0.50, 2.00),
        *(DAYS, 25, 60, 100, 125, 1.75, _CORN),
    ),
    CropWater(
        *("soybeans", "southeast", 0.15, 1.10, 0.30, 0.15, 24 * _INCH_M, 0.50, 0.75),
        *(DAYS, 20, 55, 115, 140, 1.25, _SOYBEANS),
    ),
    CropWater(
        *("cotton", "fao", 0.15, 1.12, 0.45, 0.15, 1.35, 0.65, 1.35), *(DAYS, 30, 80, 135, 180, 0.75, _FAO)
    ),
    CropWater(
        *("peanuts", "fao", 0.15, 1.10, 0.50, 0.15, 0.75, 0.50, 0.40), *(DAYS, 35, 80, 115, 140, 2.0, _FAO)
    ),
    CropWater(
        *("corn", "fao", 0.15, 1.15, 0.15, 0.15, 1.35, 0.55, 2.00), *(DAYS, 30, 70, 120, 150, 1.75, _FAO)
    ),
    CropWater(
        *("soybeans", "fao", 0.15, 1.10, 0.30, 0.15, 0.95, 0.50, 0.75),
        *(DAYS, 20, 55, 115, 140, 1.25, _FAO),
    ),
)

CROP_WATER: Mapping[tuple[str, str], CropWater] = MappingProxyType(
    {(row.region, row.crop): row for row in _ROWS}
)
"""The crops by region and crop."""
