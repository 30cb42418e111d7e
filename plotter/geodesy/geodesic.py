"""Geodesic lines: the shortest way between two places, and where a bearing and a distance lead."""

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.geodesy.arrays import FloatArray, as_float, broadcast_floats, half_turn_deg
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.position import Position

if TYPE_CHECKING:
    from pyproj import Geod

__all__ = [
    "GeodesicLine",
    "destination",
    "direct_arrays",
    "geodesic",
    "inverse_arrays",
    "normal_bearing_deg",
    "waypoints",
]


def normal_bearing_deg(bearing_deg: float) -> float:
    """Bring a bearing into [0, 360).

    Examples
    --------
    >>> normal_bearing_deg(-90.0)
    270.0
    """
    if not math.isfinite(bearing_deg):
        raise FormatError(f"a bearing must be a finite number of degrees, got {bearing_deg!r}")
    turned = float(bearing_deg) % 360.0
    # A tiny negative remainder rounds up to 360.0 itself.
    return 0.0 if turned >= 360.0 else turned + 0.0


@cache
def _geod(ellipsoid: Ellipsoid) -> "Geod":
    from pyproj import Geod  # imported late: reading a coordinate must not wait for it

    return Geod(a=ellipsoid.a_m, rf=ellipsoid.inverse_flattening)


def inverse_arrays(
    lat1_deg: ArrayLike,
    lon1_deg: ArrayLike,
    lat2_deg: ArrayLike,
    lon2_deg: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Distances and bearings of many geodesics.

    Parameters
    ----------
    lat1_deg, lon1_deg, lat2_deg, lon2_deg : array_like
        Ends in degrees; any shapes that broadcast.
    ellipsoid : Ellipsoid
        WGS 84 unless given.

    Returns
    -------
    distance_m, bearing_true_deg, back_bearing_true_deg : ndarray
        Common shape; metres, and bearings in [0, 360). The back bearing is the one from the second
        place to the first. NaN where an input is NaN.

    Accuracy
    --------
    15 nm and 1e-12 degrees (Karney 2013), everywhere, antipodal pairs included.

    Source
    ------
    C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013) 43–55, through PROJ.
    """
    lat1, lon1, lat2, lon2 = broadcast_floats(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    # PROJ gives plain numbers back for arrays without a dimension.
    bearing, back, distance = map(as_float, _geod(ellipsoid).inv(lon1, lat1, lon2, lat2))
    return distance, _normal(bearing), _normal(back)


def direct_arrays(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    bearing_true_deg: ArrayLike,
    distance_m: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Ends of many geodesics from their starts, bearings and lengths.

    Parameters
    ----------
    lat_deg, lon_deg, bearing_true_deg, distance_m : array_like
        Degrees and metres; any shapes that broadcast.
    ellipsoid : Ellipsoid
        WGS 84 unless given.

    Returns
    -------
    lat_deg, lon_deg, back_bearing_true_deg : ndarray
        Common shape; longitude in [−180, 180), bearing from the end to the start in [0, 360).

    Source
    ------
    Karney 2013, as in `inverse_arrays`.
    """
    lat, lon, bearing, distance = broadcast_floats(lat_deg, lon_deg, bearing_true_deg, distance_m)
    end_lon, end_lat, back = map(as_float, _geod(ellipsoid).fwd(lon, lat, bearing, distance))
    return end_lat, half_turn_deg(end_lon), _normal(back)


def _normal(bearing_deg: FloatArray) -> FloatArray:
    turned = bearing_deg % 360.0
    return np.where(turned >= 360.0, 0.0, turned)


@dataclass(frozen=True, slots=True)
class GeodesicLine:
    """The geodesic from one place to another.

    Parameters
    ----------
    distance_m : float
        Length in metres.
    bearing_true_deg : float
        Bearing from the first place to the second, from true north, [0, 360).
    back_bearing_true_deg : float
        Bearing from the second place to the first, [0, 360).
    """

    distance_m: float
    bearing_true_deg: float
    back_bearing_true_deg: float


def geodesic(start: Position, end: Position, *, ellipsoid: Ellipsoid = WGS84) -> GeodesicLine:
    """Distance and both bearings between two places.

    Parameters
    ----------
    start, end : Position
        The two places.
    ellipsoid : Ellipsoid
        WGS 84 unless given.

    Returns
    -------
    GeodesicLine
        For coincident places the bearing has no meaning and is what PROJ returns, 180 or 0.

    Examples
    --------
    >>> line = geodesic(Position(0, 0), Position(0, 1))
    >>> round(line.distance_m, 3), line.bearing_true_deg, line.back_bearing_true_deg
    (111319.491, 90.0, 270.0)
    """
    bearing, back, distance = _geod(ellipsoid).inv(
        start.lon_deg, start.lat_deg, end.lon_deg, end.lat_deg
    )
    return GeodesicLine(distance, normal_bearing_deg(bearing), normal_bearing_deg(back))


def destination(
    start: Position, bearing_true_deg: float, distance_m: float, *, ellipsoid: Ellipsoid = WGS84
) -> Position:
    """Where a bearing and a distance lead along the geodesic.

    Examples
    --------
    >>> round(destination(Position(0, 0), 90.0, 111319.490793).lon_deg, 9)
    1.0
    """
    if not (math.isfinite(bearing_true_deg) and math.isfinite(distance_m)):
        raise FormatError(
            f"bearing and distance must be finite, got {bearing_true_deg!r} and {distance_m!r}"
        )
    lon, lat, _ = _geod(ellipsoid).fwd(start.lon_deg, start.lat_deg, bearing_true_deg, distance_m)
    return Position(lat, lon)


def waypoints(
    start: Position, end: Position, count: int, *, ellipsoid: Ellipsoid = WGS84
) -> tuple[Position, ...]:
    """Evenly spaced places along a geodesic, both ends included.

    Parameters
    ----------
    start, end : Position
        The ends.
    count : int
        How many places, 2 or more.

    Raises
    ------
    FormatError
        If `count` is below 2.
    """
    if count < 2:
        raise FormatError(f"a line needs at least two waypoints, got {count!r}")
    line = geodesic(start, end, ellipsoid=ellipsoid)
    lat, lon, _ = direct_arrays(
        start.lat_deg,
        start.lon_deg,
        line.bearing_true_deg,
        [line.distance_m * i / (count - 1) for i in range(count)],
        ellipsoid=ellipsoid,
    )
    inner = (Position(float(a), float(o)) for a, o in zip(lat[1:-1], lon[1:-1], strict=True))
    return (start, *inner, end)
