"""The outline of a set of quad-tree cells: exact in integers, rings with their holes.

Every cell has four directed sides with the cell on their left. On one grid line the sides of
neighbours cancel, whatever their sizes, so that what a running sum leaves over is the outline.
"""

from typing import Final

import numpy as np

from plotter.geodesy.arrays import IntArray

__all__ = ["Ring", "rings_of_cells", "signed_area"]

Ring = IntArray
"""Corners of a closed ring in unit cells, shape (k, 2), first corner not repeated."""

_BITS: Final = 27
_MASK: Final = (1 << _BITS) - 1


def rings_of_cells(column: IntArray, row: IntArray, size: IntArray) -> list[Ring]:
    """Trace the outline of a set of cells that do not overlap.

    Parameters
    ----------
    column, row : ndarray of int, shape (m,)
        South-west corner of each cell in unit cells, 0 to 2**26.
    size : ndarray of int, shape (m,)
        Its side in unit cells.

    Returns
    -------
    list of ndarray, shape (k, 2)
        Outer rings anticlockwise, holes clockwise. No ring meets itself; cells that only touch at a
        corner are apart.
    """
    east, north = column + size, row + size
    lying = _left_over(np.concatenate((row, north)), _twice(column), _twice(east))
    standing = _left_over(np.concatenate((east, column)), _twice(row), _twice(north))
    start = np.concatenate((lying[1] << _BITS | lying[0], standing[0] << _BITS | standing[1]))
    end = np.concatenate((lying[2] << _BITS | lying[0], standing[0] << _BITS | standing[2]))
    # East 0, north 1, west 2, south 3.
    heading = np.concatenate(
        (
            np.where(lying[2] > lying[1], 0, 2),
            np.where(standing[2] > standing[1], 1, 3),
        )
    )
    # Where two cells touch at a corner, two sides arrive and two leave: each turns left, which
    # keeps to its own cell. Elsewhere one arrives and one leaves, and the order does not matter.
    arriving = np.argsort(end << 2 | (heading + 1) % 4)
    leaving = np.argsort(start << 2 | heading)
    following = np.empty_like(arriving)
    following[arriving] = leaving
    return _walk(start.tolist(), following.tolist())


def _twice(values: IntArray) -> IntArray:
    return np.concatenate((values, values))


def _left_over(
    line: IntArray, low: IntArray, high: IntArray
) -> tuple[IntArray, IntArray, IntArray]:
    """Sides that no neighbour cancels: their line, start and end along it.

    The first half of the sides runs upward, the second half downward.
    """
    upward = np.arange(line.size) < line.size // 2
    opens = ((line << _BITS | low) << 1) | upward
    closes = ((line << _BITS | high) << 1) | ~upward
    events = np.sort(np.concatenate((opens, closes)))
    net = np.cumsum((events & 1) * 2 - 1)
    place = events >> 1
    last = np.append(place[1:] != place[:-1], [True])
    place, net = place[last], net[last]
    change = np.append([True], net[1:] != net[:-1])
    place, net = place[change], net[change]
    # The sum is back at zero at the end of every line, so no side runs over to the next.
    side = np.flatnonzero(net)
    first, second = place[side] & _MASK, place[side + 1] & _MASK
    up = net[side] > 0
    return place[side] >> _BITS, np.where(up, first, second), np.where(up, second, first)


def _walk(start: list[int], following: list[int]) -> list[Ring]:
    """Follow the sides round; a corner met twice closes a ring of its own."""
    rings: list[Ring] = []
    seen = [False] * len(start)
    for first in range(len(start)):
        path: list[int] = []
        index: dict[int, int] = {}
        side = first
        while not seen[side]:
            seen[side] = True
            corner = start[side]
            if corner in index:
                loop = path[index[corner] :]
                del path[index[corner] :]
                for gone in loop:
                    del index[gone]
                rings.append(_corners(loop))
            index[corner] = len(path)
            path.append(corner)
            side = following[side]
        if path:
            rings.append(_corners(path))
    return rings


def _corners(path: list[int]) -> Ring:
    keys = np.asarray(path, dtype=np.int64)
    return np.stack((keys >> _BITS, keys & _MASK), axis=1)


def signed_area(ring: Ring) -> int:
    """Area in unit cells, positive for an anticlockwise ring."""
    x, y = ring[:, 0], ring[:, 1]
    # All sides lie along the axes: only those along x count, and the integers stay exact.
    return -int((y * (np.roll(x, -1) - x)).sum())
