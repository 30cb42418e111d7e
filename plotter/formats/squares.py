"""Building the square that a reference names: its corners, its size, its middle."""

from collections.abc import Callable, Sequence

import numpy as np

from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position, Square

__all__ = [
    "clip",
    "enlarged",
    "graticule_square",
    "metres_per_degree",
    "metres_per_degree_arrays",
    "square_from_outline",
]

_Point = tuple[float, float]


def metres_per_degree(lat_deg: float) -> tuple[float, float]:
    """Length of one degree of latitude and of one degree of longitude at a latitude, metres."""
    phi = np.radians(lat_deg)
    w2 = 1.0 - WGS84.e2 * np.sin(phi) ** 2
    north = WGS84.a_m * (1.0 - WGS84.e2) / w2**1.5 * np.pi / 180.0
    east = WGS84.a_m * max(float(np.cos(phi)), 0.0) / np.sqrt(w2) * np.pi / 180.0
    return float(north), float(east)


def metres_per_degree_arrays(lat_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """`metres_per_degree` of many latitudes, shape (n,)."""
    phi = np.radians(lat_deg)
    w2 = 1.0 - WGS84.e2 * np.sin(phi) ** 2
    north = WGS84.a_m * (1.0 - WGS84.e2) / w2**1.5 * np.pi / 180.0
    east = WGS84.a_m * np.maximum(np.cos(phi), 0.0) / np.sqrt(w2) * np.pi / 180.0
    return north, east


def graticule_square(lat_deg: float, lon_deg: float, height_deg: float, width_deg: float) -> Square:
    """Cell of a graticule about a centre, cut off at the poles.

    Parameters
    ----------
    lat_deg, lon_deg : float
        Centre.
    height_deg, width_deg : float
        Extent north-south and east-west.
    """
    south, north = max(lat_deg - height_deg / 2, -90.0), min(lat_deg + height_deg / 2, 90.0)
    west, east = lon_deg - width_deg / 2, lon_deg + width_deg / 2
    per_lat, per_lon = metres_per_degree(lat_deg)
    size = max(height_deg * per_lat, min(width_deg, 360.0) * per_lon)
    corners = tuple(
        Position(lat, _turn(lon))
        for lat, lon in ((south, west), (south, east), (north, east), (north, west))
    )
    return Square(Position(lat_deg, lon_deg), size, corners)


def _turn(lon_deg: float) -> float:
    return (lon_deg + 180.0) % 360.0 - 180.0 if abs(lon_deg) > 360.0 else lon_deg


def square_from_outline(outline: Sequence[_Point], centre: _Point, size_m: float) -> Square:
    """Square from (lat, lon) corners, centre and side."""
    return Square(
        Position(*centre), size_m, tuple(Position(lat, _turn(lon)) for lat, lon in outline)
    )


def enlarged(square: Square, by_m: float) -> Square:
    """Square that reaches further on every side, as far as its place may be off.

    Parameters
    ----------
    square : Square
        The cell.
    by_m : float
        How far to move every side outwards, metres; 0 leaves the square as it is.
    """
    if by_m <= 0.0:
        return square
    lat, lon = square.centre.lat_deg, square.centre.lon_deg
    per_lat, per_lon = metres_per_degree(lat)
    offsets = [(p.lat_deg - lat, (p.lon_deg - lon + 180.0) % 360.0 - 180.0) for p in square.corners]
    grown = []
    for axis, per_degree in enumerate((per_lat, max(per_lon, per_lat * 1e-6))):
        half = max(abs(offset[axis]) for offset in offsets)
        grown.append((half + by_m / per_degree) / half)
    corners = tuple(
        Position(
            min(max(lat + dlat * grown[0], -90.0), 90.0),
            _turn(lon + min(max(dlon * grown[1], -180.0), 180.0)),
        )
        for dlat, dlon in offsets
    )
    return Square(square.centre, square.size_m + 2.0 * by_m, corners)


def clip(ring: Sequence[_Point], keep: Callable[[_Point], float]) -> list[_Point]:
    """Part of a ring where `keep` is not negative (one pass of Sutherland and Hodgman).

    Parameters
    ----------
    ring : sequence of (lat, lon)
        Corners in order, not closed.
    keep : callable
        Signed amount by which a point is on the side to keep; linear in the point.
    """
    kept: list[_Point] = []
    for a, b in zip(ring, [*ring[1:], *ring[:1]], strict=True):
        ka, kb = keep(a), keep(b)
        if ka >= 0:
            kept.append(a)
        if ka * kb < 0:
            t = ka / (ka - kb)
            kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
    return kept
