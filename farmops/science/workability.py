"""How wet or dry topsoil may be for tools and wheels: by texture, or by the retention curve where a zone's is known.

The shares by texture are farm judgement: sands may be worked as soon as they have drained, heavy soils only well
below field capacity. Where the water retention curve of a zone has been measured, the limits for tillage are those of
dexter2001, from memory. The grower's foot on the field outranks both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
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


@dataclass(frozen=True)
class RetentionCurve:
    """The retention curve of a soil (vangenuchten1980, m = 1 - 1/n): contents in m³/m³, alpha in 1/m, n above 1."""

    residual_m3_m3: float
    saturation_m3_m3: float
    alpha_per_m: float
    n: float


RETENTION: Mapping[str, RetentionCurve] = MappingProxyType(
    {
        "sand": RetentionCurve(0.045, 0.43, 14.5, 2.68),
        "loamy_sand": RetentionCurve(0.057, 0.41, 12.4, 2.28),
        "sandy_loam": RetentionCurve(0.065, 0.41, 7.5, 1.89),
        "loam": RetentionCurve(0.078, 0.43, 3.6, 1.56),
        "silt": RetentionCurve(0.034, 0.46, 1.6, 1.37),
        "silt_loam": RetentionCurve(0.067, 0.45, 2.0, 1.41),
        "sandy_clay_loam": RetentionCurve(0.100, 0.39, 5.9, 1.48),
        "clay_loam": RetentionCurve(0.095, 0.41, 1.9, 1.31),
        "silty_clay_loam": RetentionCurve(0.089, 0.43, 1.0, 1.23),
        "sandy_clay": RetentionCurve(0.100, 0.38, 2.7, 1.23),
        "silty_clay": RetentionCurve(0.070, 0.36, 0.5, 1.09),
        "clay": RetentionCurve(0.068, 0.38, 0.8, 1.09),
    }
)
"""Class means of carsel1988, from memory, and as a public model quotes them. They come from other soils than the class
means of `textures`, and one field may lie far from both; so no limit rests on them unless somebody asks for it."""

ROOM_FOR_WORK = 0.9
"""Farm judgement: the dry limit is never put above nine tenths of the workable one."""
STRENGTH_AT_DRY_LIMIT = 2.0
"""How often the strength at the optimum a soil may have before tillage only makes clods (dexter2001, from memory)."""

SUCTION_MOST_M = 1e7

LIGHT_WHEEL_LB, USUAL_WHEEL_LB, HEAVY_WHEEL_LB, MOST_WHEEL_LB = 2_000.0, 6_000.0, 16_000.0, 40_000.0
HEAVY_WAY, MOST_WAY = 0.25, 0.50
"""Farm judgement: how far from the workable to the dry limit a heavy wheel's limit lies, and the heaviest one's."""


def workable_limit_m3_m3(*, texture: Texture, curve: RetentionCurve | None = None) -> float:
    """Return the water content below which topsoil of a texture can be worked, m³/m³.

    Without a curve a share of field capacity, farm judgement. With the zone's own curve its wet tillage limit
    (dexter2001), but no more than the texture's field capacity: while water still drains nobody disks. Raises
    OutOfRange for a texture without a share and for a curve that cannot be.
    """
    share = _share(WORKABLE_SHARE, texture) * texture.field_capacity_m3_m3
    if curve is None:
        return share
    wet = wet_tillage_limit_m3_m3(
        residual_m3_m3=curve.residual_m3_m3, saturation_m3_m3=curve.saturation_m3_m3, n=curve.n
    )
    return min(float(wet), texture.field_capacity_m3_m3)


def dry_limit_m3_m3(*, texture: Texture, curve: RetentionCurve | None = None) -> float:
    """Return the water content below which tillage of a texture turns up clods or dust, m³/m³.

    Without a curve a share of field capacity, farm judgement. With the zone's own curve its `dry_tillage_limit_m3_m3`,
    but no more than nine tenths of the workable limit. Raises OutOfRange for a texture without a share and for a curve
    that cannot be.
    """
    share = _share(DRY_SHARE, texture) * texture.field_capacity_m3_m3
    if curve is None:
        return share
    dry = dry_tillage_limit_m3_m3(
        residual_m3_m3=curve.residual_m3_m3,
        saturation_m3_m3=curve.saturation_m3_m3,
        alpha_per_m=curve.alpha_per_m,
        n=curve.n,
    )
    return min(dry, ROOM_FOR_WORK * workable_limit_m3_m3(texture=texture, curve=curve))


def traffic_limit_m3_m3(
    *, texture: Texture, wheel_load_lb: Values, curve: RetentionCurve | None = None
) -> Computed:
    """Return the topsoil's water content above which a wheel of that load ruts and packs, m³/m³. Farm judgement.

    A light wheel (2,000 lb and less) may run on drained ground, at field capacity; a usual tractor wheel (6,000 lb)
    where the ground is workable; a heavy one (16,000 lb: a picker, a loaded combine) a quarter of the way from there
    to the dry limit; the heaviest (40,000 lb and more) half of it; in between by straight lines. The load is that on
    one wheel or one dual, with what the machine carries. Soft tires and tracks may do better: what the ground shows
    counts. Valid: load 0 to 100,000 lb, else OutOfRange, also for a texture without a share.
    """
    load = within("wheel_load_lb", wheel_load_lb, 0, 100_000)
    workable = workable_limit_m3_m3(texture=texture, curve=curve)
    room = workable - dry_limit_m3_m3(texture=texture, curve=curve)
    return plain(
        np.interp(
            load,
            [LIGHT_WHEEL_LB, USUAL_WHEEL_LB, HEAVY_WHEEL_LB, MOST_WHEEL_LB],
            [texture.field_capacity_m3_m3, workable, workable - HEAVY_WAY * room, workable - MOST_WAY * room],
        )
    )


def van_genuchten_m3_m3(
    *, suction_m: Values, residual_m3_m3: Values, saturation_m3_m3: Values, alpha_per_m: Values, n: Values
) -> Computed:
    """Return the water that soil holds against a suction, m³/m³. vangenuchten1980 with m = 1 - 1/n, from memory.

    Valid: suction 0 or more, 0 <= residual <= saturation < 1, alpha above 0, n above 1 up to 20, else OutOfRange.
    """
    residual, saturation, shape, exponent = _curve(residual_m3_m3, saturation_m3_m3, n)
    scaled = above("alpha_per_m", alpha_per_m, 0) * within("suction_m", suction_m, 0, SUCTION_MOST_M)
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


def dry_tillage_limit_m3_m3(
    *, residual_m3_m3: float, saturation_m3_m3: float, alpha_per_m: float, n: float
) -> float:
    """Return the driest content for tillage, m³/m³: where the soil's strength is twice that at the optimum.

    That definition is dexter2001's, from memory; how strength follows from the curve is our reading of it: strength
    is the effective stress, suction times degree of saturation (water content / saturation). A soil that never gets
    twice as strong, as a clean sand may not, has its residual content for a limit. Valid: 0 <= residual <
    saturation < 1, alpha above 0, n above 1 up to 20, else OutOfRange.
    """
    curve = {
        "residual_m3_m3": residual_m3_m3,
        "saturation_m3_m3": saturation_m3_m3,
        "alpha_per_m": alpha_per_m,
    }
    optimum_m = inflection_suction_m(alpha_per_m=alpha_per_m, n=n)

    def strength(suction_m: Values) -> Computed:
        water = van_genuchten_m3_m3(suction_m=suction_m, n=n, **curve)
        return np.asarray(suction_m) * water / saturation_m3_m3

    wanted = STRENGTH_AT_DRY_LIMIT * strength(optimum_m)
    tried = optimum_m * np.logspace(0, 5, 501)
    tried = tried[tried <= SUCTION_MOST_M]
    strong = np.flatnonzero(strength(tried) >= wanted)
    if not strong.size:
        return float(residual_m3_m3)
    low, high = tried[strong[0] - 1], tried[strong[0]]
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if strength(middle) < wanted else (low, middle)
    return float(van_genuchten_m3_m3(suction_m=high, n=n, **curve))


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
