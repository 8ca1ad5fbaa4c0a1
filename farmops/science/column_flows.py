"""The flows of a soil column in one step, in place on arrays of columns × members; `soil_column` says what they mean.

Each flow is nondecreasing in every store: of two grounds the one that is wetter everywhere stays so. All stores are
mm beside field capacity, below it negative.
"""

import numpy as np

from farmops.science.ranges import Array

NOTHING_MM = 1e-9
ROUNDING = 1e-12


class Soaking:
    """What the ground takes up of a step's rain: michel2005, that is the curve number by the water already there."""

    def __init__(self, *, retention_mm: Array, sheds_from_mm: Array) -> None:
        self.retention_mm = retention_mm
        self.sheds_from_mm = sheds_from_mm
        """Store up to which nothing runs off."""
        self.per_retention = 1 / retention_mm

    def soaked_mm(self, store_mm: Array, rain_mm: Array) -> Array:
        """Return what soaks in of `rain_mm`: the curve integrated over the rain, whatever the step's length."""
        free_mm = self.sheds_from_mm - store_mm
        first = np.minimum(np.maximum(free_mm, 0.0), rain_mm)
        open_now = free_mm
        np.subtract(first, free_mm, out=open_now)
        open_now *= -self.per_retention
        open_now += 1.0
        np.clip(open_now, ROUNDING, 1.0, out=open_now)
        then_open = rain_mm - first
        then_open *= self.per_retention
        then_open += 1.0 / open_now
        np.divide(1.0, then_open, out=then_open)
        open_now -= then_open
        open_now *= self.retention_mm
        open_now += first
        return open_now


class Evaporation:
    """What the drying surface gives up: fao56 eq. 71 and 74."""

    def __init__(self, *, total_mm: Array, readily_mm: Array) -> None:
        self.total_mm = total_mm
        self.per_hard = 1 / (total_mm - readily_mm)
        self.offset = total_mm * self.per_hard

    def taken_mm(self, store_mm: Array, demand_mm: Array, most_mm: Array | None = None) -> Array:
        """Return what leaves a store, mm of its own ground, when wet ground would give `demand_mm`, at most `most_mm`."""
        taken: Array = store_mm * self.per_hard
        taken += self.offset
        np.clip(taken, 0.0, 1.0, out=taken)
        taken *= demand_mm
        if most_mm is not None:
            np.minimum(taken, most_mm, out=taken)
        left = store_mm + self.total_mm
        np.maximum(left, 0.0, out=left)
        np.minimum(taken, left, out=taken)
        return taken


def drained_mm(store_mm: Array, share: Array, room_mm: Array) -> Array:
    """Return what leaves a layer downward: a share of what stands above field capacity, and what has no room at once."""
    excess = np.maximum(store_mm, 0.0)
    down: Array = excess * share
    excess -= room_mm
    np.maximum(down, excess, out=down)
    return down


def corrected_mm(store_mm: Array, low_mm: float | None, high_mm: float | None, most_mm: float) -> Array:
    """Return what brings a store into bounds, positive or negative, at most `most_mm`."""
    moved = np.zeros_like(store_mm)
    if low_mm is not None:
        moved += np.clip(low_mm - store_mm, 0.0, most_mm)
    if high_mm is not None:
        moved -= np.clip(store_mm - high_mm, 0.0, most_mm)
    return moved


def given_back_mm(store_mm: Array, fading_mm: Array) -> Array:
    """Return what a fading correction takes from a store, or gives it, mm: toward field capacity and not across it."""
    taken = np.minimum(np.maximum(fading_mm, 0.0), np.maximum(store_mm, 0.0))
    given = np.minimum(np.maximum(-fading_mm, 0.0), np.maximum(-store_mm, 0.0))
    taken -= given
    return taken
