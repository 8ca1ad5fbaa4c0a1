"""How wet or dry topsoil may be for tools: shares of field capacity by texture, and limits from the retention curve.

The shares by texture are farm judgement: sands may be worked as soon as they have drained, heavy soils only well
below field capacity. The grower's foot on the field outranks them.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from farmops.science.ranges import Array, Computed, OutOfRange, Values, above, not_above, plain, within
from farmops.science.textures import Texture

WORKABLE_SHARE: Mapping[str, float] = MappingProxyType(
    {
        "sand": 1.00,
        "loamy_sand": 1.00,
        "sandy_loam": 0.95,
        "loam": 0.90,
        "silt_loam": 0.88,
        "silt": 0.86,
        "sandy_clay_loam": 0.90,
        "clay_loam": 0.86,
        "silty_clay_loam": 0.84,
        "silty_clay": 0.82,
        "clay": 0.80,
    }
)
"""Farm judgement: the share of field capacity below which topsoil crumbles instead of smearing."""

DRY_SHARE: Mapping[str, float] = MappingProxyType(
    {
        "sand": 0.30,
        "loamy_sand": 0.32,
        "sandy_loam": 0.42,
        "loam": 0.45,
        "silt_loam": 0.48,
        "silt": 0.48,
        "sandy_clay_loam": 0.52,
        "clay_loam": 0.55,
        "silty_clay_loam": 0.56,
        "silty_clay": 0.58,
        "clay": 0.60,
    }
)
"""Farm judgement: the share of field capacity below which topsoil breaks into clods, or sand blows."""


def workable_limit_m3_m3(*, texture: Texture) -> float:
    """Return the water content below which topsoil of a texture can be worked, m³/m³. Farm judgement.

    Raises OutOfRange for a texture without a share.
    """
    return _share(WORKABLE_SHARE, texture) * texture.field_capacity_m3_m3


def dry_limit_m3_m3(*, texture: Texture) -> float:
    """Return the water content below which tillage of a texture turns up clods or dust, m³/m³. Farm judgement.

    Raises OutOfRange for a texture without a share.
    """
    return _share(DRY_SHARE, texture) * texture.field_capacity_m3_m3


def van_genuchten_m3_m3(
    *, suction_m: Values, residual_m3_m3: Values, saturation_m3_m3: Values, alpha_per_m: Values, n: Values
) -> Computed:
    """Return the water that soil holds against a suction, m³/m³. vangenuchten1980 with m = 1 - 1/n, from memory.

    Valid: suction 0 or more, 0 <= residual <= saturation < 1, alpha above 0, n above 1 up to 20, else OutOfRange.
    """
    residual, saturation, shape, exponent = _curve(residual_m3_m3, saturation_m3_m3, n)
    scaled = above("alpha_per_m", alpha_per_m, 0) * within("suction_m", suction_m, 0, 1e7)
    return plain(residual + (saturation - residual) * (1 + scaled**shape) ** -exponent)


def inflection_suction_m(*, alpha_per_m: Values, n: Values) -> Computed:
    """Return the suction at the curve's inflection against its logarithm, m: (1/alpha) (1/m)^(1/n). dexter2001.

    From memory. Valid: alpha above 0, n above 1 up to 20, else OutOfRange.
    """
    shape = _shape(n)
    return plain((1 / (1 - 1 / shape)) ** (1 / shape) / above("alpha_per_m", alpha_per_m, 0))


def optimum_tillage_m3_m3(*, residual_m3_m3: Values, saturation_m3_m3: Values, n: Values) -> Computed:
    """Return the water content at which tillage makes most small aggregates, m³/m³: the inflection point. dexter2001.

    From memory. Valid: 0 <= residual <= saturation < 1, n above 1 up to 20, else OutOfRange.
    """
    return plain(_optimum(residual_m3_m3, saturation_m3_m3, n))


def wet_tillage_limit_m3_m3(*, residual_m3_m3: Values, saturation_m3_m3: Values, n: Values) -> Computed:
    """Return the wettest content for tillage, m³/m³: four tenths of the way from optimum to saturation. dexter2001.

    From memory. Valid: 0 <= residual <= saturation < 1, n above 1 up to 20, else OutOfRange.
    """
    optimum = _optimum(residual_m3_m3, saturation_m3_m3, n)
    return plain(optimum + 0.4 * (np.asarray(saturation_m3_m3) - optimum))


def _optimum(residual_m3_m3: Values, saturation_m3_m3: Values, n: Values) -> Array:
    residual, saturation, _, exponent = _curve(residual_m3_m3, saturation_m3_m3, n)
    result: Array = residual + (saturation - residual) * (1 + 1 / exponent) ** -exponent
    return result


def _curve(residual_m3_m3: Values, saturation_m3_m3: Values, n: Values) -> tuple[Array, Array, Array, Array]:
    residual = within("residual_m3_m3", residual_m3_m3, 0, 0.99)
    saturation = within("saturation_m3_m3", saturation_m3_m3, 0.01, 0.99)
    not_above("residual_m3_m3", residual, "saturation_m3_m3", saturation)
    shape = _shape(n)
    return residual, saturation, shape, 1 - 1 / shape


def _shape(n: Values) -> Array:
    return within("n", above("n", n, 1), 1, 20)


def _share(shares: Mapping[str, float], texture: Texture) -> float:
    if texture.key not in shares:
        raise OutOfRange("texture", texture.key, ", ".join(shares))
    return shares[texture.key]
