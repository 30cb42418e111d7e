"""Where things lie beside each other: longitudes that run on, and the ground to show first."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from plotter.board.paths import LatLon, Ring
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.position import Position
from plotter.tiles.grid import Box

__all__ = ["beside", "beside_all", "centre_of", "path_beside", "ring_of", "view_of"]

# A report this many times farther out than three in four of them are does not widen the first
# view: one wrong square on the far side of the world must not shrink the area to a dot. Among
# four or fewer nobody can say which one is wrong, and all are shown.
_MOST_OF_THEM = 0.75
_FAR_TIMES = 8.0
_NEAR_ANYWAY_M = 50_000.0
_LEAST_SPAN_DEG = 0.01
_EMPTY_VIEW = Box(-58.0, -170.0, 74.0, 170.0)


def beside(lon_deg: float, reference_deg: float) -> float:
    """Return the longitude, whole turns added, that lies nearest to a reference.

    Examples
    --------
    >>> beside(-179.5, 179.0)
    180.5
    """
    if abs(lon_deg - reference_deg) <= 180.0:  # nearly always, and this is called very often
        return lon_deg
    return lon_deg + 360.0 * round((reference_deg - lon_deg) / 360.0)


def beside_all(lon_deg: FloatArray, reference_deg: float) -> FloatArray:
    """Return longitudes, whole turns added, that lie nearest to a reference; shape (n,)."""
    return lon_deg + 360.0 * np.round((reference_deg - lon_deg) / 360.0)


def path_beside(lat_deg: FloatArray, lon_deg: FloatArray, reference_deg: float) -> Ring:
    """Turn arrays into a path whose longitudes run on from one point to the next.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray
        Degrees, shape (n,).
    reference_deg : float
        The first point is put beside this longitude.

    Returns
    -------
    tuple of LatLon
        The path.
    """
    lon = np.unwrap(lon_deg, period=360.0)
    lon = lon + (beside(float(lon[0]), reference_deg) - lon[0])
    return tuple(zip(lat_deg.tolist(), lon.tolist(), strict=True))


def ring_of(positions: Iterable[Position], reference_deg: float) -> Ring:
    """Turn positions into a ring beside a reference longitude."""
    return tuple([(place.lat_deg, beside(place.lon_deg, reference_deg)) for place in positions])


def centre_of(places: Sequence[Position]) -> float:
    """Return the longitude about which places gather; 0 without places.

    The mean of unit vectors, because the mean of 179 and −179 is not 0.
    """
    if not places:
        return 0.0
    lon = np.radians([place.lon_deg for place in places])
    east, north = float(np.sin(lon).mean()), float(np.cos(lon).mean())
    return math.degrees(math.atan2(east, north)) if math.hypot(east, north) > 1e-9 else 0.0


def view_of(
    points: Sequence[LatLon], always: Sequence[LatLon], reference_deg: float
) -> tuple[Box, int]:
    """Return the ground to show first, and how many points lie outside it.

    Parameters
    ----------
    points : sequence of LatLon
        Where things are.
    always : sequence of LatLon
        What must be inside however far it is.
    reference_deg : float
        The longitude they lie beside.

    Returns
    -------
    Box, int
        The view, and the number of `points` outside it.
    """
    if not points and not always:
        return _EMPTY_VIEW, 0
    near = np.array([*always], dtype=np.float64).reshape(-1, 2)
    far = 0
    if points:
        places = np.array(points, dtype=np.float64)
        middle = np.median(places, axis=0)
        distance, _, _ = inverse_arrays(places[:, 0], places[:, 1], middle[0], middle[1])
        usual = float(np.quantile(distance, _MOST_OF_THEM))
        limit = max(_FAR_TIMES * usual, _NEAR_ANYWAY_M)
        near = np.concatenate([near, places[distance <= limit]])
    south, west = near.min(axis=0).tolist()
    north, east = near.max(axis=0).tolist()
    if points:
        inside = (
            (places[:, 0] >= south)
            & (places[:, 0] <= north)
            & (places[:, 1] >= west)
            & (places[:, 1] <= east)
        )
        far = int(np.count_nonzero(~inside))
    high = max(north - south, _LEAST_SPAN_DEG)
    wide = max(east - west, _LEAST_SPAN_DEG)
    lat, lon = (south + north) / 2.0, (west + east) / 2.0
    west = max(lon - wide / 2.0, reference_deg - 180.0)
    east = min(lon + wide / 2.0, reference_deg + 180.0)
    return Box(max(lat - high / 2.0, -90.0), west, min(lat + high / 2.0, 90.0), east), far
