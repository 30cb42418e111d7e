"""The world's country borders, always there: Natural Earth 1:50m, packed, clipped to what is asked.

The packed file is zlib over little-endian int32 numbers whose bytes are stored plane by plane:
units per degree, number of lines, points in each line, then the steps in latitude of all points,
then those in longitude, each from the point before. `data/make_borders.py` writes it;
`data/README.md` gives origin, licence and hash.
"""

import zlib
from functools import cache
from importlib.resources import files

import numpy as np

from plotter.errors import TileError
from plotter.geodesy.arrays import FloatArray
from plotter.tiles.grid import Box

__all__ = ["BORDER_CREDIT", "borders_in"]

BORDER_CREDIT = "Country borders: Natural Earth 1:50m, public domain; as the source draws them"


@cache
def _world() -> tuple[FloatArray, ...]:
    packed = files("plotter.tiles").joinpath("data/borders-50m.bin").read_bytes()
    try:
        planes = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(4, -1)
        numbers = np.ascontiguousarray(planes.T).view("<i4").ravel()
        units, count = (int(number) for number in numbers[:2])
        lengths, steps = np.split(numbers[2:], [count])
        points = np.cumsum(steps.reshape(2, -1), axis=1).T / units
    except (zlib.error, ValueError, ZeroDivisionError) as error:
        raise TileError(
            f"the country borders are damaged ({error}); install the plotter again"
        ) from error
    return tuple(np.split(points, np.cumsum(lengths)[:-1]))


@cache
def _bounds() -> FloatArray:
    """South, west, north, east of each line."""
    return np.array([[*line.min(axis=0), *line.max(axis=0)] for line in _world()])


def borders_in(box: Box, *, tolerance_deg: float = 0.0) -> tuple[FloatArray, ...]:
    """Return the country borders inside a box.

    Parameters
    ----------
    box : Box
        The ground; it may cross 180 degrees.
    tolerance_deg : float
        How far a border may be moved to save points, degrees; 0 keeps every point.

    Returns
    -------
    tuple of ndarray
        Lines, each (n, 2), latitude and longitude in degrees, clipped to the box; longitudes run on
        past 180 where the box does.

    Accuracy
    --------
    Drawn for 1:50 000 000: kilometres off. They follow who holds what in the view of the source.
    """
    import shapely  # imported late: it is only needed where something is drawn

    found: list[FloatArray] = []
    for turn in (-360.0, 0.0, 360.0):
        west, east = box.west_deg - turn, box.east_deg - turn
        bounds = _bounds()
        near = (
            (bounds[:, 0] <= box.north_deg)
            & (bounds[:, 2] >= box.south_deg)
            & (bounds[:, 1] <= east)
            & (bounds[:, 3] >= west)
        )
        lines = [_world()[index][:, ::-1] for index in np.flatnonzero(near).tolist()]
        shapes = shapely.simplify([shapely.LineString(line) for line in lines], tolerance_deg)
        clipped = shapely.clip_by_rect(shapes, west, box.south_deg, east, box.north_deg)
        for part in shapely.get_parts(clipped):
            points = shapely.get_coordinates(part)
            if len(points) >= 2:
                found.append(points[:, ::-1] + np.array([0.0, turn]))
    return tuple(found)
