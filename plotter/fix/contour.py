"""A smooth line through the steps of a cell outline: where the density itself crosses the limit."""

from typing import Final

import numpy as np
import shapely

from plotter.fix.outline import Ring
from plotter.fix.quadtree import DEEPEST, Leaves
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["CellFinder", "smoothed"]

# Of the smallest cell: a corner that is less than this off the line through its neighbours goes.
_SLIM: Final = 0.03
_SPREAD: Final = (
    (16, 0x0000FFFF0000FFFF),
    (8, 0x00FF00FF00FF00FF),
    (4, 0x0F0F0F0F0F0F0F0F),
    (2, 0x3333333333333333),
    (1, 0x5555555555555555),
)


def _interleaved(column: IntArray, row: IntArray) -> IntArray:
    """Place on the curve that visits the cells of every quad one after the other."""
    places = []
    for value in (column, row):
        spread = value.astype(np.int64)
        for shift, mask in _SPREAD:
            spread = (spread | spread << shift) & mask
        places.append(spread)
    return np.asarray(places[0] | places[1] << 1)


class CellFinder:
    """Which leaf a point of the finest grid lies in: a leaf is one run of the curve.

    Parameters
    ----------
    leaves : Leaves
        They cover the whole square.
    ground : ndarray, shape (m,), optional
        What the ground of each leaf weighs; where it changes the density makes a step.
    """

    def __init__(self, leaves: Leaves, ground: FloatArray | None = None) -> None:
        """Sort the leaves along the curve."""
        self.ground = np.zeros(leaves.level.size) if ground is None else ground
        self.size = np.left_shift(1, DEEPEST - leaves.level)
        start = _interleaved(leaves.column * self.size, leaves.row * self.size)
        self._order = np.argsort(start)
        self._start = start[self._order]

    def at(self, column: IntArray, row: IntArray) -> IntArray:
        """Leaves that hold unit cells, shape (k,)."""
        place = _interleaved(column, row)
        return self._order[np.searchsorted(self._start, place, side="right") - 1]


def smoothed(ring: Ring, leaves: Leaves, finder: CellFinder, log_limit: float) -> FloatArray:
    """Points where the density crosses a limit, one for each pair of cells along an outline.

    Parameters
    ----------
    ring : ndarray of int, shape (k, 2)
        Outline of the cells above the limit, which lie on its left.
    leaves : Leaves
        All cells.
    finder : CellFinder
        Of the same leaves.
    log_limit : float
        Logarithm of the density at the limit.

    Returns
    -------
    ndarray, shape (n, 2)
        In unit cells. Between two middles the logarithm is taken to change evenly; along the edge
        of the whole square, where there is no outer cell, and of ground with another weight the
        outline stays.
    """
    side = np.roll(ring, -1, axis=0) - ring
    length = np.abs(side).sum(axis=1)
    along = np.sign(side)
    inward = np.column_stack((-along[:, 1], along[:, 0]))
    # No step longer than the smallest cell that touches the ring: every neighbour gets its turn.
    near = _cells_beside(ring, along, inward, finder)
    step = int(finder.size[near].min())
    count = -(-length // step)
    which = np.repeat(np.arange(len(ring)), count)
    nth = np.arange(which.size) - np.repeat(np.cumsum(count) - count, count)
    middle = np.minimum(nth * step + step // 2, length[which] - 1)
    point = ring[which] + along[which] * middle[:, None]
    # The unit cells to the left and to the right of that point of the side.
    forward, left = along[which], inward[which]
    corner = np.minimum(forward, 0) + np.minimum(left, 0)
    inside = point + corner
    outside = inside - left
    limit = 1 << DEEPEST
    open_side = ((outside < 0) | (outside >= limit)).any(axis=1)
    outside = np.clip(outside, 0, limit - 1)
    a, b = finder.at(*inside.T), finder.at(*outside.T)
    # No density in between is taken across a step of it: the outline stays on the edge.
    stays = open_side | (finder.ground[a] != finder.ground[b])
    fresh = np.ones(a.size, dtype=np.bool_)
    fresh[1:] = (a[1:] != a[:-1]) | (b[1:] != b[:-1]) | stays[1:]
    a, b, stays, which, point = (each[fresh] for each in (a, b, stays, which, point))
    high, low = leaves.log_density[a], leaves.log_density[b]
    share = np.clip((high - log_limit) / np.maximum(high - low, 1e-9), 0.05, 0.95)
    start, end = _middles(leaves, finder, a), _middles(leaves, finder, b)
    crossing = start + share[:, None] * (end - start)
    line = np.where(stays[:, None], as_float(point), crossing)
    whole, slack = shapely.LinearRing(line), _SLIM * step
    slim = shapely.simplify(whole, slack, preserve_topology=False)
    if not shapely.is_simple(slim):  # seldom, and the careful way takes three times as long
        slim = shapely.simplify(whole, slack, preserve_topology=True)
    return as_float(shapely.get_coordinates(slim)[:-1])


def _cells_beside(ring: Ring, along: IntArray, inward: IntArray, finder: CellFinder) -> IntArray:
    """Leaves on both sides of the beginning of each side of a ring."""
    corner = ring + np.minimum(along, 0) + np.minimum(inward, 0)
    limit = (1 << DEEPEST) - 1
    both = np.concatenate((corner, corner - inward)).clip(0, limit)
    return finder.at(*both.T)


def _middles(leaves: Leaves, finder: CellFinder, index: IntArray) -> FloatArray:
    size = finder.size[index]
    return np.column_stack(((leaves.column[index] + 0.5) * size, (leaves.row[index] + 0.5) * size))
