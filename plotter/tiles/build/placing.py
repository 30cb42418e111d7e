"""Where names go: the important first, none over another, none over the edge of a block."""

from collections.abc import Iterator, Sequence
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.lettering import Lettered
from plotter.tiles.build.paint import Set

__all__ = ["Room", "Way", "along", "beside", "box_points", "straight", "way_of"]

Way: TypeAlias = tuple[FloatArray, FloatArray]
"""Points of a line in pixels, (n, 2), and how far along it each is."""

_CELL: Final = 2.0  # pixels of the mask's cells
_COARSE: Final = 4  # of which so many are looked at together where data ends
_RAISE: Final = 0.34  # of the size: from the middle of a line of letters down to its base line
_HALF: Final = 0.5  # of the size: from its middle to its upper and lower edge
_PAD: Final = 1.0
_STEP: Final = 8.0  # from one try to the next
_TRIES: Final = 81
# Most from one letter to the next, and over the whole, radians: a bent name is better than none.
_BENDS: Final = ((0.6, 1.3), (0.9, 1.9))
_SMOOTH: Final = 1.2
_CORNERS: Final = (9.0, 4.0)  # how far from a corner it is cut, each time, pixels


class Room:
    """What of a block is taken by names and marks.

    Parameters
    ----------
    low, high : tuple of float
        Corners of the block within its canvas, pixels: beyond it nothing may stand.
    """

    def __init__(self, low: tuple[float, float], high: tuple[float, float]) -> None:
        self._low = as_float(low)
        size = np.ceil((as_float(high) - self._low) / _CELL).astype(int)
        self._taken: NDArray[np.bool_] = np.zeros((size[1], size[0]), dtype=bool)
        self._beyond: NDArray[np.bool_] | None = None

    def cells(self, points: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]] | None:
        """Cells of points, (n, 2); None where one lies outside the block."""
        at = np.floor((points - self._low) / _CELL).astype(np.int64)
        high, wide = self._taken.shape
        if at.min() < 0 or at[:, 0].max() >= wide or at[:, 1].max() >= high:
            return None
        return at[:, 1], at[:, 0]

    def take(self, points: FloatArray, *, known: bool = False) -> bool:
        """Take the cells of points if all of them are free and within the block (and the data)."""
        cells = self.cells(points)
        if cells is None or self._taken[cells].any():
            return False
        if known and self._beyond is not None and self._beyond[cells].any():
            return False
        self._taken[cells] = True
        return True

    def keep_within(self, ground: shapely.Geometry) -> None:
        """Keep names of places within an area: what lies beyond the data is not theirs."""
        high, wide = self._taken.shape
        whole = self._low + as_float([wide, high]) * _CELL
        shapely.prepare(ground)
        if ground.covers(shapely.box(*self._low, *whole)):
            return
        rows, columns = np.arange(0, high, _COARSE), np.arange(0, wide, _COARSE)
        x, y = np.meshgrid((columns + _COARSE / 2) * _CELL, (rows + _COARSE / 2) * _CELL)
        outside = ~shapely.contains_xy(ground, x + self._low[0], y + self._low[1])
        fine = np.repeat(np.repeat(outside, _COARSE, axis=0), _COARSE, axis=1)
        self._beyond = fine[:high, :wide]

    def block(self, points: FloatArray) -> None:
        """Take the cells of points, whatever stands there."""
        at = np.floor((points - self._low) / _CELL).astype(np.int64)
        high, wide = self._taken.shape
        at = at[(at >= 0).all(axis=1) & (at[:, 0] < wide) & (at[:, 1] < high)]
        self._taken[at[:, 1], at[:, 0]] = True


def box_points(left: float, top: float, right: float, bottom: float) -> FloatArray:
    """Points that touch every cell of a box."""
    x = np.append(np.arange(left, right, _CELL), right)
    y = np.append(np.arange(top, bottom, _CELL), bottom)
    return as_float(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))


def straight(name: Lettered, x: float, middle_y: float) -> list[Set]:
    """Set a name level, from its left end and the middle of its letters' height."""
    found, at = [], x
    for cluster in name.clusters:
        found.append((cluster, at, middle_y + _RAISE * name.size, 1.0, 0.0))
        at += cluster.width
    return found


def beside(room: Room, name: Lettered, x: float, y: float, reach: float) -> list[Set] | None:
    """Set a name beside a mark, the right first, or over a place; None without room."""
    wide, half = name.width, _HALF * name.size
    off = reach + 3.0
    high = reach + half + 2.0
    places = [
        (x + off, y), (x - off - wide, y), (x - wide / 2, y - high), (x - wide / 2, y + high),
        (x + 4.0, y - high), (x + 4.0, y + high), (x - 4.0 - wide, y - high),
        (x - 4.0 - wide, y + high),
    ]  # fmt: skip
    for left, middle in [(x - wide / 2, y)] if reach == 0.0 else places:
        box = box_points(
            left - _PAD, middle - half - _PAD, left + wide + _PAD, middle + half + _PAD
        )
        if room.take(box, known=True):
            return straight(name, left, middle)
    return None


def way_of(line: shapely.LineString) -> Way:
    """A line made ready for letters: little kinks taken out, corners cut."""
    points = _rounded(shapely.get_coordinates(shapely.simplify(line, _SMOOTH)))
    return points, np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))


def along(
    room: Room,
    name: Lettered,
    ways: Sequence[Way],
    apart: float,
    before: Sequence[FloatArray] = (),
    most: int = 1_000,
) -> Iterator[tuple[list[Set], FloatArray]]:
    """Set a name along lines, again and again so far apart.

    Parameters
    ----------
    room : Room
        Taken where the name is set.
    name : Lettered
        The name.
    ways : sequence of Way
        In pixels of the canvas, longest first.
    apart : float
        Least distance from one to the next, pixels.
    before : sequence of (2,) arrays
        Where the name stands already.
    most : int
        How often it is set now.

    Yields
    ------
    tuple
        The letters, and the middle of the name.
    """
    stand = list(before)
    for bend in _BENDS:
        for points, at in ways:
            starts = _tries(float(at[-1]) - name.width)
            middles = _place(points, at, starts + name.width / 2)
            free = np.ones(len(starts), dtype=bool)
            for other in stand:
                free &= np.hypot(*(middles - other).T) >= apart
            for i in range(len(starts)):
                if not free[i]:
                    continue
                letters = _bent(room, name, points, at, float(starts[i]), bend)
                if letters is None:
                    continue
                stand.append(middles[i])
                yield letters, middles[i]
                most -= 1
                if most <= 0:
                    return
                free &= np.hypot(*(middles - middles[i]).T) >= apart
        if len(stand) > len(before):
            return


def _rounded(points: FloatArray) -> FloatArray:
    """A line with its corners cut, so that letters go round them.

    Source
    ------
    Chaikin, "An algorithm for high-speed curve generation", 1974; no corner is cut by more than
    what letters reach.
    """
    for reach in _CORNERS:
        if len(points) < 3:
            return points
        steps = np.diff(points, axis=0)
        lengths = np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
        off = np.minimum(0.25 * lengths, reach) / lengths * steps
        inner = np.empty((2 * len(steps), 2))
        inner[0::2], inner[1::2] = points[:-1] + off, points[1:] - off
        points = np.vstack((points[:1], inner[1:-1], points[-1:]))
    return points


def _tries(spare: float) -> FloatArray:
    """Starts along what a line has to spare, from the middle outwards; none where it has none."""
    if spare < 0.0:
        return np.empty(0)
    count = min(int(spare // _STEP) + 1, _TRIES)
    steps = np.linspace(0.0, spare, count) if count > 1 else as_float([spare / 2])
    return as_float(steps[np.argsort(np.abs(steps - spare / 2), kind="stable")])


def _bent(
    room: Room,
    name: Lettered,
    points: FloatArray,
    at: FloatArray,
    start: float,
    bend: tuple[float, float],
) -> list[Set] | None:
    widths = as_float([cluster.width for cluster in name.clusters])
    edges = start + np.concatenate(([0.0], np.cumsum(widths)))
    first, last = _place(points, at, edges[:1])[0], _place(points, at, edges[-1:])[0]
    if last[0] < first[0] - 1e-6:
        points, at = points[::-1], at[-1] - at[::-1]
        edges = edges + (at[-1] - edges[-1] - edges[0])
    ends = _place(points, at, edges)
    steps = np.diff(ends, axis=0)
    angles = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    # A letter of no width, as an accent by itself, goes the way of the one before.
    if np.abs(np.diff(angles)).max(initial=0.0) > bend[0] or np.ptp(angles) > bend[1]:
        return None
    if not room.take(_band(ends, angles, name.size)):
        return None
    cos, sin = np.cos(angles), np.sin(angles)
    down = _RAISE * name.size
    base = ends[:-1] + np.column_stack((-sin, cos)) * down
    rows = zip(name.clusters, base.tolist(), cos.tolist(), sin.tolist(), strict=True)
    return [(cluster, x, y, c, s) for cluster, (x, y), c, s in rows]


def _place(points: FloatArray, at: FloatArray, where: FloatArray) -> FloatArray:
    return np.column_stack((np.interp(where, at, points[:, 0]), np.interp(where, at, points[:, 1])))


def _band(ends: FloatArray, angles: FloatArray, size: float) -> FloatArray:
    """Points over the band that the letters fill, with a little room about it."""
    lengths = np.hypot(*np.diff(ends, axis=0).T)
    counts = np.maximum((lengths / _CELL).astype(int) + 1, 1)
    letter = np.repeat(np.arange(len(angles)), counts)
    share = np.concatenate([np.linspace(0.0, 1.0, count) for count in counts])
    spine = ends[letter] + share[:, None] * (ends[letter + 1] - ends[letter])
    half = _HALF * size + _PAD
    across = np.append(np.arange(-half, half, _CELL), half)
    normal = np.column_stack((-np.sin(angles), np.cos(angles)))[letter]
    return as_float((spine[:, None, :] + across[None, :, None] * normal[:, None, :]).reshape(-1, 2))
