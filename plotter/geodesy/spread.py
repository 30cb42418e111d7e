"""The way between places that are not known to the metre: which distances, which directions."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.geodesy.arrays import BoolArray, FloatArray
from plotter.geodesy.geodesic import direct_arrays, geodesic, inverse_arrays, normal_bearing_deg
from plotter.geodesy.position import Square

__all__ = ["WaySpread", "way_spread"]

_STEPS: Final = 8
_ROUNDS: Final = 8
# A sigma's circle that holds 95 %: √(−2 ln 0.05), chi-square with two degrees of freedom.
_R95_SIGMAS: Final = math.sqrt(-2.0 * math.log(0.05))


@dataclass(frozen=True, slots=True)
class WaySpread:
    """Every distance and every direction that two squares leave open.

    Parameters
    ----------
    least_m, most_m : float
        Shortest and longest way from a point of one to a point of the other; 0 where they overlap.
    from_deg, to_deg : float or None
        The bearings from true north at the start, clockwise from the one to the other; None where
        it can be any.
    """

    least_m: float
    most_m: float
    from_deg: float | None
    to_deg: float | None


def way_spread(
    start: Square, end: Square, start_sigma_m: float = 0.0, end_sigma_m: float = 0.0
) -> WaySpread:
    """How far apart the places in two squares can be, and in which directions.

    Parameters
    ----------
    start, end : Square
        Each place is somewhere in its square.
    start_sigma_m, end_sigma_m : float
        One standard deviation per axis that was stated beside the square; the circle of 95 % is
        added around it.

    Accuracy
    --------
    Squares are taken as bounded by geodesics between their corners. Distances to 1e-4 of the larger
    square, bearings to 1e-3 of the width of what they span.
    """
    more_m = _R95_SIGMAS * (start_sigma_m + end_sigma_m)
    middle = geodesic(start.centre, end.centre)
    mine, theirs = _ring(start), _ring(end)
    least_m = _extreme(mine, theirs, longest=False)
    most_m = _extreme(mine, theirs, longest=True) + more_m
    if least_m <= more_m or _overlap(start, end, mine, theirs):
        return WaySpread(0.0, most_m, None, None)
    widen_deg = math.degrees(math.asin(more_m / least_m))
    _, bearing, _ = _between(_points(mine, _STEPS), _points(theirs, _STEPS))
    off = (bearing - middle.bearing_true_deg + 180.0) % 360.0 - 180.0
    low, high = float(off.min()) - widen_deg, float(off.max()) + widen_deg
    if high - low >= 180.0:
        # Two that do not overlap lie on two sides of a line: more is a pole or an antipode.
        return WaySpread(least_m - more_m, most_m, None, None)
    turn = middle.bearing_true_deg
    return WaySpread(
        least_m - more_m, most_m, normal_bearing_deg(turn + low), normal_bearing_deg(turn + high)
    )


@dataclass(frozen=True, slots=True)
class _Ring:
    """The edges of a square, each a geodesic from one corner to the next; shape (n,)."""

    lat_deg: FloatArray
    lon_deg: FloatArray
    length_m: FloatArray
    bearing_deg: FloatArray


def _ring(square: Square) -> _Ring:
    lat = np.array([corner.lat_deg for corner in square.corners])
    lon = np.array([corner.lon_deg for corner in square.corners])
    length, bearing, _ = inverse_arrays(lat, lon, np.roll(lat, -1), np.roll(lon, -1))
    return _Ring(lat, lon, length, bearing)


def _at(ring: _Ring, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places on a ring by the number of their edge and the share of it; shape of `along`."""
    along = along % len(ring.lat_deg)
    edge = along.astype(int)
    lat, lon, _ = direct_arrays(
        ring.lat_deg[edge],
        ring.lon_deg[edge],
        ring.bearing_deg[edge],
        (along - edge) * ring.length_m[edge],
    )
    return lat, lon


def _points(ring: _Ring, steps: int) -> tuple[FloatArray, FloatArray]:
    return _at(ring, np.arange(len(ring.lat_deg) * steps) / steps)


def _between(
    mine: tuple[FloatArray, FloatArray], theirs: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """All ways from one set of places to another, shape (n, m)."""
    return inverse_arrays(mine[0][:, None], mine[1][:, None], theirs[0][None], theirs[1][None])


def _extreme(mine: _Ring, theirs: _Ring, *, longest: bool) -> float:
    """Shortest or longest way between two rings: about the best pair, finer each time."""
    rows = np.arange(len(mine.lat_deg) * _STEPS) / _STEPS
    columns = np.arange(len(theirs.lat_deg) * _STEPS) / _STEPS
    step = 1.0 / _STEPS
    best = 0.0
    for _ in range(_ROUNDS):
        distance, _, _ = _between(_at(mine, rows), _at(theirs, columns))
        where = int(distance.argmax() if longest else distance.argmin())
        row, column = divmod(where, distance.shape[1])
        best = float(distance[row, column])
        around = np.linspace(-step, step, 2 * _STEPS + 1)
        rows, columns = rows[row] + around, columns[column] + around
        step /= _STEPS
    return best


def _overlap(start: Square, end: Square, mine: _Ring, theirs: _Ring) -> bool:
    """Whether two squares have ground in common, on a plane about the first."""
    if geodesic(start.centre, end.centre).distance_m > 2.0 * (start.size_m + end.size_m):
        return False
    one, other = _on_plane(start, mine), _on_plane(start, theirs)
    return bool(_crossing(one, other).any() or _holds(one, other[0]) or _holds(other, one[0]))


def _on_plane(start: Square, ring: _Ring) -> FloatArray:
    """Points of a ring by distance and direction from a square's middle; shape (n, 2), metres."""
    lat, lon = _points(ring, _STEPS)
    distance, bearing, _ = inverse_arrays(start.centre.lat_deg, start.centre.lon_deg, lat, lon)
    turn = np.radians(bearing)
    return np.stack([distance * np.sin(turn), distance * np.cos(turn)], axis=1)


def _crossing(one: FloatArray, other: FloatArray) -> BoolArray:
    """Which edge of one ring crosses or touches which of another, shape (n, m)."""
    a, b = one[:, None], np.roll(one, -1, axis=0)[:, None]
    c, d = other[None], np.roll(other, -1, axis=0)[None]
    apart = (_side(a, b, c) * _side(a, b, d) > 0) | (_side(c, d, a) * _side(c, d, b) > 0)
    beside = (np.minimum(a, b) > np.maximum(c, d)) | (np.maximum(a, b) < np.minimum(c, d))
    crossing: BoolArray = ~apart & ~beside.any(axis=-1)
    return crossing


def _side(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    ab, ac = b - a, c - a
    side: FloatArray = ab[..., 0] * ac[..., 1] - ab[..., 1] * ac[..., 0]
    return side


def _holds(ring: FloatArray, point: FloatArray) -> bool:
    """Whether a point lies inside a ring: a ray from it crosses an odd number of edges."""
    x, y = ring[:, 0] - point[0], ring[:, 1] - point[1]
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    crosses = (y > 0) != (y2 > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        east = x + (x2 - x) * y / (y - y2) > 0
    return bool((crosses & east).sum() % 2)
