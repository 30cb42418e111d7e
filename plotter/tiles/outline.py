"""The world's land outline, always there: Natural Earth 1:50m, packed, clipped to what is asked.

The packed file is zlib over little-endian int32 numbers whose bytes are stored plane by plane:
units per degree, number of polygons, number of rings, rings in each polygon, points in each ring,
then the steps in latitude of all points, then those in longitude, each from the point before.
`data/make_outline.py` writes it; `data/README.md` gives origin, licence and hash.
"""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotter.errors import TileError
from plotter.geodesy.arrays import FloatArray
from plotter.tiles.grid import Box

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["LAND_CREDIT", "LandPolygon", "land_in", "unpack"]

LAND_CREDIT = "Land outline: Natural Earth 1:50m, public domain; about 1 km at best"


@dataclass(frozen=True, slots=True, eq=False)
class LandPolygon:
    """One piece of land.

    Parameters
    ----------
    rings : tuple of ndarray
        Outer ring first, then lakes; each (n, 2), latitude and longitude in degrees, not closed.
        Longitudes run on past 180 where the box asked for does.
    """

    rings: tuple[FloatArray, ...]


def unpack(packed: bytes) -> tuple[LandPolygon, ...]:
    """Read the packed form.

    Parameters
    ----------
    packed : bytes
        As the module's docstring says.

    Returns
    -------
    tuple of LandPolygon
        The whole world, longitudes in [−180, 180].

    Raises
    ------
    TileError
        If the bytes are not in that form.
    """
    try:
        planes = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(4, -1)
        numbers = np.ascontiguousarray(planes.T).view("<i4").ravel()
        units, polygon_count, ring_count = (int(number) for number in numbers[:3])
        rings_in, lengths, steps = np.split(
            numbers[3:], [polygon_count, polygon_count + ring_count]
        )
        points = np.cumsum(steps.reshape(2, -1), axis=1).T / units
        rings = np.split(points, np.cumsum(lengths)[:-1])
        ends = np.cumsum(rings_in)
    except (zlib.error, ValueError, ZeroDivisionError) as error:
        raise TileError(
            f"the land outline is damaged ({error}); install the plotter again"
        ) from error
    if int(lengths.sum()) != len(points) or int(rings_in.sum()) != len(rings):
        raise TileError(
            "the land outline is damaged (its counts differ); install the plotter again"
        )
    return tuple(
        LandPolygon(tuple(rings[first:last]))
        for first, last in zip(ends - rings_in, ends, strict=True)
    )


@cache
def _world() -> tuple[tuple[LandPolygon, ...], FloatArray]:
    """Return the whole world and the bounds of each polygon: south, west, north, east."""
    packed = files("plotter.tiles").joinpath("data/land-50m.bin").read_bytes()
    world = unpack(packed)
    bounds = np.array([[*land.rings[0].min(axis=0), *land.rings[0].max(axis=0)] for land in world])
    return world, bounds


def land_in(box: Box, *, tolerance_deg: float = 0.0) -> tuple[LandPolygon, ...]:
    """Return the land inside a box.

    Parameters
    ----------
    box : Box
        The ground; it may cross 180 degrees.
    tolerance_deg : float
        How far a coast may be moved to save points, degrees; islands smaller than that are left
        out. 0 keeps every point.

    Returns
    -------
    tuple of LandPolygon
        Clipped to the box, in the order of the source.

    Accuracy
    --------
    The source is drawn for 1:50 000 000: points lie some 8 km apart and coasts may be kilometres
    off. It shows which coast this is; it is no chart.
    """
    import shapely  # imported late: it is only needed where something is drawn

    _, bounds = _world()
    found: list[LandPolygon] = []
    for turn in (-360.0, 0.0, 360.0):
        west, east = box.west_deg - turn, box.east_deg - turn
        near = (
            (bounds[:, 0] <= box.north_deg)
            & (bounds[:, 2] >= box.south_deg)
            & (bounds[:, 1] <= east)
            & (bounds[:, 3] >= west)
        )
        shapes = [_shape(index, tolerance_deg) for index in np.flatnonzero(near).tolist()]
        clipped = shapely.clip_by_rect(shapes, west, box.south_deg, east, box.north_deg)
        found.extend(_polygons(clipped, turn, tolerance_deg))
    return tuple(found)


@cache
def _shape(index: int, tolerance_deg: float) -> "BaseGeometry":
    import shapely

    world, _ = _world()
    outer, *holes = (ring[:, ::-1] for ring in world[index].rings)
    shape = shapely.Polygon(outer, holes)
    if not shape.is_valid:
        shape = shape.buffer(0)  # rounding can make a narrow isthmus touch itself
    return shape.simplify(tolerance_deg, preserve_topology=False) if tolerance_deg > 0 else shape


def _polygons(
    shapes: "NDArray[np.object_]", turn: float, least_deg: float
) -> Iterator[LandPolygon]:
    import shapely

    parts = shapely.get_parts(shapes)
    large = shapely.area(parts) > least_deg * least_deg  # lines and empty parts have none
    off = np.array([0.0, turn])
    for part in parts[large & (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON)]:
        rings = [part.exterior, *(hole for hole in part.interiors if _large(hole, least_deg))]
        yield LandPolygon(tuple(shapely.get_coordinates(ring)[:-1, ::-1] + off for ring in rings))


def _large(ring: "BaseGeometry", least_deg: float) -> bool:
    import shapely

    return bool(shapely.Polygon(ring).area > least_deg * least_deg)
