"""Where an extract's data ends: by the box that it states, and by the cells that hold anything."""

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.places import to_lon_lat, to_world

__all__ = ["STEP_DEG", "Occupied"]

STEP_DEG: Final = 0.01
"""No farther apart should places be, degrees: half a cell."""

_CELLS: Final = 1 << 14  # on each side of the world: 2.4 km on the equator, 1.2 km at 60 degrees
# A stated box is believed if it holds most of what there is, and filled if little of it is empty:
# what was cut by the outline of a country states the box about it.
_BELIEVED: Final = 0.5
_FILLED: Final = 0.8
_FEW: Final = 16
_BESIDE_DEG: Final = 5e-4  # the ground about a single road


class Occupied:
    """Cells of the world in which an extract has anything, gathered while it is read.

    Parameters
    ----------
    stated : tuple of float or None
        West, south, east and north edge by the extract's own account, degrees.
    """

    def __init__(self, stated: tuple[float, float, float, float] | None) -> None:
        self._stated = stated
        self._cells: NDArray[np.int64] = np.array([], dtype=np.int64)
        self._inside = self._count = 0
        self._low, self._high = np.full(2, np.inf), np.full(2, -np.inf)

    def add(self, lon_lat: FloatArray) -> None:
        """Take note of places, (n, 2)."""
        if not len(lon_lat):
            return
        column_row = np.floor(to_world(lon_lat) * _CELLS).astype(np.int64)
        found = np.unique(column_row[:, 0] * _CELLS * 2 + column_row[:, 1])
        self._cells = np.union1d(self._cells, found)
        self._low = np.minimum(self._low, lon_lat.min(axis=0))
        self._high = np.maximum(self._high, lon_lat.max(axis=0))
        self._count += len(lon_lat)
        if self._stated is not None:
            west, south, east, north = self._stated
            low, high = as_float([west, south]), as_float([east, north])
            self._inside += int(((lon_lat >= low) & (lon_lat <= high)).all(axis=1).sum())

    def believed(self) -> shapely.Geometry:
        """The stated box, if most of what there is lies in it; else nothing."""
        if self._stated is None or self._inside < _BELIEVED * max(self._count, 1):
            return shapely.Polygon()
        return shapely.box(*self._stated)

    def known(self, sea: shapely.Geometry) -> shapely.Geometry:
        """Ground of which the extract says something, longitude and latitude.

        Parameters
        ----------
        sea : shapely geometry
            What its coasts make sea within the stated box: nothing is to be expected there.

        Returns
        -------
        shapely geometry
            The stated box, if it is believed and filled; else the occupied cells, with gaps of up
            to two cells and everything that they ring, cut to the stated box if that is believed.
        """
        if not self._count:
            return shapely.Polygon()
        low, high = self._low - _BESIDE_DEG, self._high + _BESIDE_DEG
        cells = self._closed().intersection(shapely.box(*low, *high))
        stated = self.believed()
        if self._stated is None or stated.is_empty:
            return cells
        west, south, east, north = self._stated
        corners = to_world(as_float([[west, north], [east, south]])) * _CELLS
        wide, high = corners[1] - corners[0]
        full = cells.union(sea).intersection(stated)
        filled = _world_area(full) >= _FILLED * _world_area(stated)
        return stated if filled or wide * high <= _FEW else cells.intersection(stated)

    def _closed(self) -> shapely.Geometry:
        x, y = self._cells // (2 * _CELLS), self._cells % (2 * _CELLS)
        union = shapely.union_all(shapely.box(x, y, x + 1, y + 1))
        square = {"join_style": "mitre", "cap_style": "square"}
        closed = union.buffer(1.0, **square).buffer(-1.0, **square)
        parts = [shapely.Polygon(part.exterior) for part in shapely.get_parts(closed)]
        whole = shapely.union_all(parts) if parts else union
        return shapely.transform(whole, lambda xy: to_lon_lat(as_float(xy) / _CELLS))


def _world_area(shape: shapely.Geometry) -> float:
    return float(shapely.area(shapely.transform(shape, lambda xy: to_world(as_float(xy)))))
