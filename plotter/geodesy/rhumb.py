"""Rhumb lines: constant bearing, as steered by compass; longer than the geodesic."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import GeometryError
from plotter.geodesy.arrays import FloatArray, as_float, broadcast_floats, half_turn_deg
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.geodesic import normal_bearing_deg
from plotter.geodesy.latitude_series import (
    geographic_from_rectifying,
    rectifying_from_geographic,
    rectifying_radius_m,
    sine_series,
)
from plotter.geodesy.position import Position

__all__ = ["RhumbLine", "rhumb", "rhumb_destination", "rhumb_direct_arrays", "rhumb_inverse_arrays"]

# Below this difference of latitude (radians) differences of long functions lose digits; the mean
# of their derivatives by Simpson's rule is then exact to rounding.
_SMALL = 1e-4

_Rate: TypeAlias = Callable[[FloatArray, Ellipsoid], FloatArray]


@dataclass(frozen=True, slots=True)
class RhumbLine:
    """The rhumb line from one place to another, the shorter way round.

    Parameters
    ----------
    distance_m : float
        Length in metres.
    bearing_true_deg : float
        Constant true bearing, [0, 360).
    """

    distance_m: float
    bearing_true_deg: float


def rhumb(start: Position, end: Position) -> RhumbLine:
    """Rhumb distance and bearing between two places.

    Examples
    --------
    >>> line = rhumb(Position(0, 0), Position(0, 1))
    >>> round(line.distance_m, 3), line.bearing_true_deg
    (111319.491, 90.0)
    """
    distance, bearing = rhumb_inverse_arrays(
        [start.lat_deg], [start.lon_deg], [end.lat_deg], [end.lon_deg]
    )
    return RhumbLine(float(distance[0]), normal_bearing_deg(float(bearing[0])))


def rhumb_destination(start: Position, bearing_true_deg: float, distance_m: float) -> Position:
    """Where a constant true bearing and a distance lead.

    Raises
    ------
    GeometryError
        If the line runs past a pole, where it has no longitude.
    """
    lat, lon = rhumb_direct_arrays(
        [start.lat_deg], [start.lon_deg], [bearing_true_deg], [distance_m]
    )
    if not np.isfinite(lat[0]):
        raise GeometryError(
            f"a rhumb line on {bearing_true_deg:g}° true ends at the pole before {distance_m:g} m"
        )
    return Position(float(lat[0]), float(lon[0]))


def rhumb_inverse_arrays(
    lat1_deg: ArrayLike,
    lon1_deg: ArrayLike,
    lat2_deg: ArrayLike,
    lon2_deg: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[FloatArray, FloatArray]:
    """Distances (metres) and true bearings ([0, 360)) of many rhumb lines; shapes broadcast.

    Source
    ------
    C. F. F. Karney, The area of rhumb polygons, Stud. Geophys. Geod. 68 (2024) 99–120, section 2:
    bearing from isometric latitude, length from rectifying latitude.
    """
    lat1, lon1, lat2, lon2 = broadcast_floats(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    phi1, phi2 = np.radians(lat1), np.radians(lat2)
    lam = np.radians(half_turn_deg(lon2 - lon1))
    ratio, isometric = _stretch(phi1, phi2, ellipsoid)
    meridian = _meridian_m(phi2, ellipsoid) - _meridian_m(phi1, ellipsoid)
    with np.errstate(invalid="ignore"):
        distance = np.hypot(lam, isometric) * ratio
    # At a pole the isometric latitude is infinite and the line is the meridian.
    distance = np.where(np.isfinite(isometric), distance, np.abs(meridian))
    # From a pole to itself the difference of two infinities is no number, and any bearing will do.
    isometric = np.where(np.isnan(isometric), 0.0, isometric)
    return distance, np.degrees(np.arctan2(lam, isometric)) % 360.0


def rhumb_direct_arrays(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    bearing_true_deg: ArrayLike,
    distance_m: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[FloatArray, FloatArray]:
    """Ends of many rhumb lines; shapes broadcast; NaN where the line would run past a pole."""
    lat, lon, bearing, distance = broadcast_floats(lat_deg, lon_deg, bearing_true_deg, distance_m)
    phi1, course = np.radians(lat), np.radians(bearing)
    # Exact on the cardinal courses, where rounding would otherwise leave the parallel.
    cos = np.where(np.mod(bearing, 180.0) == 90.0, 0.0, np.cos(course))
    mu = (_meridian_m(phi1, ellipsoid) + distance * cos) / rectifying_radius_m(ellipsoid)
    phi2 = mu + sine_series(geographic_from_rectifying(ellipsoid), np.sin(mu), np.cos(mu))
    phi2 = np.where(cos == 0.0, phi1, phi2)
    beyond = np.abs(mu) > np.pi / 2
    ratio, _ = _stretch(phi1, np.where(beyond, phi1, phi2), ellipsoid)
    with np.errstate(divide="ignore", invalid="ignore"):
        east = np.where(ratio > 0, distance * np.sin(course) / ratio, 0.0)
    end_lat = np.where(beyond, np.nan, np.degrees(phi2))
    return end_lat, np.where(beyond, np.nan, half_turn_deg(lon + np.degrees(east)))


def _stretch(
    phi1: FloatArray, phi2: FloatArray, ellipsoid: Ellipsoid
) -> tuple[FloatArray, FloatArray]:
    """Metres of meridian for each unit of isometric latitude between two, and the units."""
    step = phi2 - phi1
    middle = (phi1 + phi2) / 2
    mean_m = _simpson(_meridian_rate, phi1, middle, phi2, ellipsoid)
    mean_psi = _simpson(_isometric_rate, phi1, middle, phi2, ellipsoid)
    with np.errstate(divide="ignore", invalid="ignore"):
        isometric = _isometric(phi2, ellipsoid) - _isometric(phi1, ellipsoid)
        small = np.abs(step) < _SMALL
        isometric = np.where(small & np.isfinite(isometric), mean_psi * step, isometric)
        meridian = _meridian_m(phi2, ellipsoid) - _meridian_m(phi1, ellipsoid)
        ratio = np.where(small, mean_m / mean_psi, meridian / isometric)
    return np.abs(ratio), isometric


def _simpson(
    rate: _Rate, phi1: FloatArray, middle: FloatArray, phi2: FloatArray, ellipsoid: Ellipsoid
) -> FloatArray:
    with np.errstate(divide="ignore"):
        total = rate(phi1, ellipsoid) + 4 * rate(middle, ellipsoid) + rate(phi2, ellipsoid)
    return as_float(total / 6)


def _meridian_rate(phi: FloatArray, ellipsoid: Ellipsoid) -> FloatArray:
    """Radius of curvature of the meridian, metres for each radian."""
    w2 = 1 - ellipsoid.e2 * np.sin(phi) ** 2
    return as_float(ellipsoid.a_m * (1 - ellipsoid.e2) / w2**1.5)


def _isometric_rate(phi: FloatArray, ellipsoid: Ellipsoid) -> FloatArray:
    """Isometric latitude for each radian of latitude."""
    return as_float(
        (1 - ellipsoid.e2) / ((1 - ellipsoid.e2 * np.sin(phi) ** 2) * np.abs(np.cos(phi)))
    )


def _meridian_m(phi: FloatArray, ellipsoid: Ellipsoid) -> FloatArray:
    """Meridian length from the equator, metres."""
    mu = phi + sine_series(rectifying_from_geographic(ellipsoid), np.sin(phi), np.cos(phi))
    return as_float(rectifying_radius_m(ellipsoid) * mu)


def _isometric(phi: FloatArray, ellipsoid: Ellipsoid) -> FloatArray:
    """Isometric latitude; infinite at the poles."""
    e = np.sqrt(ellipsoid.e2)
    # asinh(tan) keeps the digits near the pole that atanh(sin) loses.
    sphere = np.arcsinh(np.tan(phi))
    sphere = np.where(np.abs(phi) >= np.pi / 2, np.copysign(np.inf, phi), sphere)
    return as_float(sphere - e * np.arctanh(e * np.sin(phi)))
