"""The universal grids: which UTM zone a place is in, UTM and UPS coordinates, grid convergence."""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.geodesy.arrays import FloatArray, IntArray, as_float, half_turn_deg
from plotter.geodesy.polar_stereographic import PolarStereographic
from plotter.geodesy.position import Position
from plotter.geodesy.transverse_mercator import TransverseMercator

__all__ = [
    "TRUNCATION_NUDGE_M",
    "UPS_NORTH",
    "UPS_SOUTH",
    "UTM_FALSE_EASTING_M",
    "UTM_K0",
    "UTM_NORTH_LIMIT_DEG",
    "UTM_SOUTH_FALSE_NORTHING_M",
    "UTM_SOUTH_LIMIT_DEG",
    "central_meridian_deg",
    "convergence_deg",
    "convergence_deg_array",
    "latlon_from_utm",
    "utm_from_latlon",
    "utm_zone_grid",
    "zone_of",
    "zones_of",
]

# DMA TM 8358.2 (1989), 2-1 and 3-1; UTM covers [−80, 84), UPS the rest (NGA.STND.0037).
UTM_SOUTH_LIMIT_DEG: Final = -80.0
UTM_NORTH_LIMIT_DEG: Final = 84.0
UTM_K0: Final = 0.9996
UTM_FALSE_EASTING_M: Final = 500_000.0
UTM_SOUTH_FALSE_NORTHING_M: Final = 10_000_000.0
# Added before a grid coordinate is cut to whole units: a micrometre above the rounding of the
# projection and its inverse, so that the corner of a square stays in that square.
TRUNCATION_NUDGE_M: Final = 1e-6
UPS_NORTH: Final = PolarStereographic(False, 0.994, 2_000_000.0, 2_000_000.0)
UPS_SOUTH: Final = PolarStereographic(True, 0.994, 2_000_000.0, 2_000_000.0)


def central_meridian_deg(zone: int) -> float:
    """Central meridian of a UTM zone.

    Examples
    --------
    >>> central_meridian_deg(31)
    3.0
    """
    if not 1 <= zone <= 60:
        raise FormatError(f"a UTM zone must be between 1 and 60, got {zone!r}")
    return 6.0 * zone - 183.0


@cache
def utm_zone_grid(zone: int, *, south: bool) -> TransverseMercator:
    """Return the grid of one UTM zone in one hemisphere."""
    return TransverseMercator(
        central_meridian_deg(zone),
        UTM_K0,
        UTM_FALSE_EASTING_M,
        UTM_SOUTH_FALSE_NORTHING_M if south else 0.0,
    )


def zones_of(lat_deg: ArrayLike, lon_deg: ArrayLike) -> IntArray:
    """UTM zones of many places; 0 stands for the polar areas that UPS covers.

    Zone 32 is widened over the south-west coast of Norway (band V), and zones 31, 33, 35 and 37
    share Svalbard (band X). Every zone includes its western and southern edge.

    Source
    ------
    NGA.STND.0037 (2014), DMA TM 8358.1: the grid zone exceptions.
    """
    lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
    shape = lat.shape
    lat, lon = lat.ravel(), lon.ravel()
    east = lon + 180.0
    if not ((east >= 0.0) & (east < 360.0)).all():
        east = np.mod(east, 360.0)
    # The remainder of a tiny negative number rounds up to 360: the last zone all the same.
    zone = np.minimum((east / 6.0).astype(np.int64), 59) + 1
    north = np.flatnonzero(lat >= 56.0)
    special = north[(zone[north] >= 31) & (zone[north] <= 37)]
    if special.size:
        zone[special] = _scandinavian_zones(lat[special], east[special], zone[special])
    polar = (lat < UTM_SOUTH_LIMIT_DEG) | (lat >= UTM_NORTH_LIMIT_DEG)
    zone[polar] = 0
    return zone.reshape(shape)


def _scandinavian_zones(lat: FloatArray, east: FloatArray, zone: IntArray) -> IntArray:
    """Zones of the north-east Atlantic with the exceptions; `east` counts from 180 west."""
    norway = (lat < 64.0) & (zone == 31) & (east >= 183.0)
    svalbard = (lat >= 72.0) & (east < 222.0)
    shared = np.select([east < 189.0, east < 201.0, east < 213.0], [31, 33, 35], 37)
    return np.where(svalbard, shared, np.where(norway, 32, zone))


def zone_of(position: Position) -> int:
    """UTM zone of one place; 0 in the polar areas.

    Examples
    --------
    >>> zone_of(Position(60.0, 4.0)), zone_of(Position(85.0, 4.0))
    (32, 0)
    """
    return int(zones_of([position.lat_deg], [position.lon_deg])[0])


def utm_from_latlon(
    lat_deg: ArrayLike, lon_deg: ArrayLike, zone: int
) -> tuple[FloatArray, FloatArray]:
    """UTM easting and northing in one zone, false northing by each place's own hemisphere.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Degrees; shapes broadcast. Places outside the zone are projected all the same.
    zone : int
        1 to 60.

    Returns
    -------
    easting_m, northing_m : ndarray
        Metres.
    """
    easting, northing = utm_zone_grid(zone, south=False).forward(lat_deg, lon_deg)
    south = np.broadcast_to(as_float(lat_deg) < 0, northing.shape)
    return easting, northing + np.where(south, UTM_SOUTH_FALSE_NORTHING_M, 0.0)


def latlon_from_utm(
    easting_m: ArrayLike, northing_m: ArrayLike, zone: int, *, south: bool
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude of UTM coordinates in one zone and hemisphere; shapes broadcast."""
    return utm_zone_grid(zone, south=south).inverse(easting_m, northing_m)


def convergence_deg(position: Position) -> float:
    """Grid convergence of UTM (or UPS) at a place: grid north, clockwise from true north.

    bearing_grid = bearing_true − convergence. The sign is that of PROJ and GeographicLib; some
    national manuals, the Australian one among them, print the opposite sign.

    Examples
    --------
    >>> round(convergence_deg(Position(33.33, 44.44)), 6)
    -0.307705
    """
    return float(convergence_deg_array([position.lat_deg], [position.lon_deg])[0])


def convergence_deg_array(lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
    """`convergence_deg` of many places, each in its own zone; shapes broadcast."""
    lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
    zone = zones_of(lat, lon)
    # All zones are one projection turned about the axis: compute on the first with the
    # longitude counted from each place's own central meridian.
    east = np.where(zone > 0, half_turn_deg(lon - (6.0 * zone - 183.0)), 0.0)
    utm, _ = TransverseMercator(0.0, UTM_K0, 0.0, 0.0).convergence_and_scale(lat, east)
    ups = np.where(lat > 0, lon, half_turn_deg(-lon))
    return np.where(zone > 0, utm, ups)
