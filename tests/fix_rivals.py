"""What a user would do otherwise: a flat crossing, the middle of the crossings, least squares."""

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
from fix_families import GEOD
from pyproj import Proj
from scipy.optimize import least_squares
from scipy.spatial import ConvexHull, Delaunay, QhullError

from plotter.fix import Bearing
from plotter.geodesy.position import Position

CHI2_95 = -2.0 * math.log(0.05)


def _plane(bearings: Sequence[Bearing]) -> Proj:
    lon = float(np.mean([b.observer.lon_deg for b in bearings]))
    return Proj(proj="utm", zone=int((lon + 180.0) // 6.0) + 1, ellps="WGS84")


def _crossing(a: np.ndarray, a_deg: float, b: np.ndarray, b_deg: float) -> np.ndarray | None:
    """Where two rays of the plane meet ahead of both."""
    u = np.array([math.sin(math.radians(a_deg)), math.cos(math.radians(a_deg))])
    v = np.array([math.sin(math.radians(b_deg)), math.cos(math.radians(b_deg))])
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 1e-6:
        return None
    way = b - a
    s = (way[0] * v[1] - way[1] * v[0]) / cross
    t = (way[0] * u[1] - way[1] * u[0]) / cross
    return a + s * u if s > 0 and t > 0 else None


def flat_crossing(bearings: Sequence[Bearing]) -> Position | None:
    """First two bearings crossed on the UTM grid, true bearings taken for grid bearings."""
    plane = _plane(bearings)
    a, b = (np.array(plane(x.observer.lon_deg, x.observer.lat_deg)) for x in bearings[:2])
    meet = _crossing(a, bearings[0].bearing_true_deg, b, bearings[1].bearing_true_deg)
    if meet is None:
        return None
    lon, lat = plane(*meet, inverse=True)
    return Position(lat, lon)


def middle_of_crossings(
    bearings: Sequence[Bearing], truth: Position
) -> tuple[Position | None, bool]:
    """Mean of all crossings, convergence heeded, and whether their hull holds the truth."""
    plane = _plane(bearings)
    places = [np.array(plane(b.observer.lon_deg, b.observer.lat_deg)) for b in bearings]
    turned = [
        b.bearing_true_deg
        - plane.get_factors(b.observer.lon_deg, b.observer.lat_deg).meridian_convergence
        for b in bearings
    ]
    meets = [
        meet
        for i, k in combinations(range(len(bearings)), 2)
        if (meet := _crossing(places[i], turned[i], places[k], turned[k])) is not None
    ]
    if not meets:
        return None, False
    points = np.array(meets)
    lon, lat = plane(*points.mean(axis=0), inverse=True)
    held = False
    if len(points) > 2:
        try:
            ConvexHull(points)
            there = np.array(plane(truth.lon_deg, truth.lat_deg))
            held = bool(Delaunay(points).find_simplex(there) >= 0)
        except QhullError:
            held = False
    return Position(lat, lon), held


def least_squares_ellipse(
    bearings: Sequence[Bearing], truth: Position
) -> tuple[Position | None, bool]:
    """Least squares from the middle of the crossings; whether its 95 % ellipse holds the truth."""
    start, _ = middle_of_crossings(bearings, truth)
    if start is None:
        return None, False
    lat = np.array([b.observer.lat_deg for b in bearings])
    lon = np.array([b.observer.lon_deg for b in bearings])
    said = np.array([b.bearing_true_deg for b in bearings])
    sigma = np.array([b.sigma_deg for b in bearings])
    east_m, north_m = 111_320.0 * math.cos(math.radians(start.lat_deg)), 111_320.0

    def place(point: np.ndarray) -> tuple[float, float]:
        return start.lat_deg + point[1] / north_m, start.lon_deg + point[0] / east_m

    def residuals(point: np.ndarray) -> np.ndarray:
        there_lat, there_lon = place(point)
        there_lat = min(max(there_lat, -89.0), 89.0)
        full = np.full_like(lon, 1.0)
        azimuth, _, _ = GEOD.inv(lon, lat, there_lon * full, there_lat * full)
        return ((said - azimuth + 180.0) % 360.0 - 180.0) / sigma

    found = least_squares(residuals, (0.0, 0.0))
    there_lat, there_lon = place(found.x)
    if not abs(there_lat) < 89.0:
        return None, False
    information = found.jac.T @ found.jac
    true = np.array(
        [(truth.lon_deg - start.lon_deg) * east_m, (truth.lat_deg - start.lat_deg) * north_m]
    )
    off = true - found.x
    held = bool(off @ information @ off <= CHI2_95)
    return Position(there_lat, (there_lon + 180.0) % 360.0 - 180.0), held
