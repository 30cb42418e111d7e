"""Closed lines on the ground as the map can draw them: across 180 degrees and round a pole too."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from plotter.board.evidence_values import Outline
from plotter.board.ground import beside, path_beside
from plotter.board.paths import LatLon
from plotter.fix.chart import mean_position
from plotter.fix.result import Polygon
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.geodesic import direct_arrays, geodesic, waypoints
from plotter.geodesy.position import Position

__all__ = ["circle_outline", "middle_of", "outline_of", "ring_outline"]

# A circle with so many corners lies within a third of a pixel of the true one on any screen; near a
# pole the map pulls its corners apart.
_CORNERS: Final = 120
_CORNERS_NEAR_POLE: Final = 1440
_NEAR_POLE_DEG: Final = 75.0
# The straight side of an area bends on the map: by 15 m in 20 km at 60 degrees.
_SIDE_M: Final = 20_000.0
_MOST_PARTS: Final = 32
_HALF_ROUND_M: Final = 20_000_000.0


def circle_outline(centre: Position, radius_m: float, reference_deg: float) -> Outline:
    """Ground at one distance from a place, along geodesics.

    Parameters
    ----------
    centre : Position
        The middle.
    radius_m : float
        Distance, above zero.
    reference_deg : float
        Longitude beside which it is drawn.
    """
    radius = min(radius_m, _HALF_ROUND_M)
    # A degree of latitude is nowhere shorter than 110.5 km.
    farthest = abs(centre.lat_deg) + radius / 110_500.0
    corners = _CORNERS if farthest < _NEAR_POLE_DEG else _CORNERS_NEAR_POLE
    turns = np.arange(corners) * (-360.0 / corners)
    lats, lons, _ = direct_arrays(centre.lat_deg, centre.lon_deg, turns, np.full(corners, radius))
    return outline_of(lats, lons, reference_deg)


def ring_outline(ring: Sequence[Position], reference_deg: float) -> Outline:
    """The outline of an area whose sides are geodesics."""
    places: list[Position] = []
    for start, end in pairwise((*ring, ring[0])):
        length = geodesic(start, end).distance_m
        parts = min(int(length // _SIDE_M) + 1, _MOST_PARTS)
        places += waypoints(start, end, parts + 1)[:-1] if parts > 1 else (start,)
    return outline_of(
        as_float([place.lat_deg for place in places]),
        as_float([place.lon_deg for place in places]),
        reference_deg,
    )


def outline_of(lat_deg: FloatArray, lon_deg: FloatArray, reference_deg: float) -> Outline:
    """Close a line so that no part of it runs back across the map.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray
        Corners in order, degrees, shape (n,), the first not repeated.
    reference_deg : float
        Longitude beside which it is drawn.
    """
    turned = np.unwrap(np.append(lon_deg, lon_deg[0]), period=360.0)
    round_deg = float(turned[-1] - turned[0])
    if abs(round_deg) < 180.0:
        path = path_beside(lat_deg, lon_deg, reference_deg)
        return Outline((*path, path[0]))
    if round_deg < 0.0:
        lat_deg, lon_deg = lat_deg[::-1], lon_deg[::-1]
    first = int(np.argmin((lon_deg - reference_deg + 180.0) % 360.0))
    lat = np.roll(lat_deg, -first)
    lon = np.unwrap(np.roll(lon_deg, -first), period=360.0)
    west = (lon[0] - reference_deg + 180.0) % 360.0 + reference_deg - 180.0
    lon = np.append(lon, lon[0] + 360.0) + (west - lon[0])
    path = tuple(zip(np.append(lat, lat[0]).tolist(), lon.tolist(), strict=True))
    return Outline(path, 1 if float(lat.mean()) > 0.0 else -1)


def middle_of(polygon: Polygon, reference_deg: float) -> LatLon:
    """A point on an area, its middle where that lies on it."""
    outlines = [ring_outline(ring, reference_deg) for ring in (polygon.outer, *polygon.holes)]
    if any(outline.pole for outline in outlines):
        place = mean_position(polygon.outer)
        return place.lat_deg, beside(place.lon_deg, reference_deg)
    outer, *holes = (outline.path for outline in outlines)
    shape = shapely.make_valid(shapely.Polygon(outer, holes))
    point = shape.centroid
    if not shape.contains(point):
        point = shape.representative_point()
    return float(point.x), float(point.y)
