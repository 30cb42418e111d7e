"""The array type of the core, and how arguments become it."""

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["BoolArray", "FloatArray", "IntArray", "as_float", "broadcast_floats", "half_turn_deg"]

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]
BoolArray: TypeAlias = NDArray[np.bool_]


def half_turn_deg(angle_deg: FloatArray) -> FloatArray:
    """Bring angles or longitudes into [−180, 180); same shape."""
    return np.asarray((angle_deg + 180.0) % 360.0 - 180.0)


def as_float(values: ArrayLike) -> FloatArray:
    """Return `values` as float64, not copied when it already is."""
    return np.asarray(values, dtype=np.float64)


def broadcast_floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    """Return all `values` as fresh, writable float64 arrays of their common shape."""
    shaped = np.broadcast_arrays(*(as_float(value) for value in values))
    return tuple(np.array(array, dtype=np.float64, order="C") for array in shaped)
