"""Ranges in which a formula holds, and the error for a value outside."""

from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Values: TypeAlias = float | npt.NDArray[np.float64] | npt.NDArray[np.int64]
Computed: TypeAlias = Any
"""A float where every argument was a number, else an array: the union would burden each caller with a cast."""


class OutOfRange(ValueError):
    """An argument outside the range in which a formula holds."""

    def __init__(self, name: str, value: float | str, valid: str) -> None:
        shown = value if isinstance(value, str) else f"{value:g}"
        super().__init__(f"{name} is {shown}; valid is {valid}")
        self.name = name
        self.value = value
        self.valid = valid


def within(name: str, value: Values, low: float, high: float) -> Array:
    """Return `value` as an array if all of it lies from `low` to `high`; else raise OutOfRange with the worst value."""
    array = np.asarray(value, dtype=np.float64)
    inside = (array >= low) & (array <= high)
    if not inside.all():
        raise OutOfRange(name, _first(array, ~inside), f"from {low:g} to {high:g}")
    return array


def above(name: str, value: Values, low: float) -> Array:
    """Return `value` as an array if all of it is finite and greater than `low`; else raise OutOfRange."""
    array = np.asarray(value, dtype=np.float64)
    inside = (array > low) & np.isfinite(array)
    if not inside.all():
        raise OutOfRange(name, _first(array, ~inside), f"greater than {low:g}")
    return array


def at_least(name: str, value: Values, low: float) -> Array:
    """Return `value` as an array if all of it is finite and not less than `low`; else raise OutOfRange."""
    array = np.asarray(value, dtype=np.float64)
    inside = (array >= low) & np.isfinite(array)
    if not inside.all():
        raise OutOfRange(name, _first(array, ~inside), f"{low:g} or more")
    return array


def not_above(name: str, value: Array, other_name: str, other: Array) -> None:
    """Raise OutOfRange where `value` is greater than `other`."""
    value, other = np.broadcast_arrays(value, other)
    wrong = value > other
    if wrong.any():
        raise OutOfRange(name, _first(value, wrong), f"not above {other_name} ({_first(other, wrong):g})")


def plain(result: npt.ArrayLike) -> Computed:
    """Return a float for a result without dimensions, else the array."""
    array = np.asarray(result, dtype=np.float64)
    return float(array) if array.ndim == 0 else array


def _first(array: Array, wrong: npt.NDArray[np.bool_]) -> float:
    return float(array[wrong].flat[0])
