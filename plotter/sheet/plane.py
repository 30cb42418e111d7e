"""The plane that a sheet lies in: the UTM grid of one zone, or UPS near a pole, both without seam.

North and south of the equator run on in one plane, and places far outside the zone still have
coordinates in it; `Zone.figures` gives the numbers that the grid itself uses there.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays
from plotter.geodesy.grid import (
    UPS_NORTH,
    UPS_SOUTH,
    UTM_SOUTH_FALSE_NORTHING_M,
    utm_zone_grid,
    zones_of,
)
from plotter.geodesy.polar_stereographic import PolarStereographic
from plotter.geodesy.position import Position
from plotter.geodesy.transverse_mercator import TransverseMercator

__all__ = ["Zone", "within_reach", "zone_at", "zone_numbers"]

# Beyond this the projection of one zone is of no use to a sheet: farther points are drawn in
# towards it along their bearing.
_REACH_M: Final = 1_500_000.0
_SOUTH_POLAR: Final = -1


@dataclass(frozen=True, slots=True)
class Zone:
    """One grid of the universal grids.

    Parameters
    ----------
    number : int
        1 to 60 for UTM; 0 for UPS in the north, -1 for UPS in the south.
    """

    number: int

    @property
    def name(self) -> str:
        """The grid's name: "UTM zone 27"."""
        if self.number > 0:
            return f"UTM zone {self.number}"
        return "UPS north" if self.number == 0 else "UPS south"

    @property
    def _grid(self) -> TransverseMercator | PolarStereographic:
        if self.number > 0:
            return utm_zone_grid(self.number, south=False)
        return UPS_NORTH if self.number == 0 else UPS_SOUTH

    def forward(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing in metres; northings run on below zero south of the equator."""
        return self._grid.forward(lat_deg, lon_deg)

    def inverse(self, easting_m: ArrayLike, northing_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude, [−180, 180), of coordinates from `forward`."""
        return self._grid.inverse(easting_m, northing_m)

    def convergence_and_scale(self, place: Position) -> tuple[float, float]:
        """Grid north clockwise from true north in degrees, and the grid's scale, at a place."""
        angle, scale = self._grid.convergence_and_scale([place.lat_deg], [place.lon_deg])
        return float(angle[0]), float(scale[0])

    def figures(self, northing_m: float) -> float:
        """The northing as the grid writes it: with the false northing south of the equator."""
        below = self.number > 0 and northing_m < 0.0
        return northing_m + UTM_SOUTH_FALSE_NORTHING_M if below else northing_m


def zone_numbers(lat_deg: ArrayLike, lon_deg: ArrayLike) -> IntArray:
    """Return the numbers of the zones of many places, as in `Zone`; shapes broadcast."""
    lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
    zones = zones_of(lat, lon)
    return np.where((zones == 0) & (lat < 0.0), _SOUTH_POLAR, zones)


def zone_at(place: Position) -> Zone:
    """Return the grid that a place belongs to.

    Examples
    --------
    >>> zone_at(Position(-38.4, -22.3)).name, zone_at(Position(-85.0, 0.0)).name
    ('UTM zone 27', 'UPS south')
    """
    return Zone(int(zone_numbers([place.lat_deg], [place.lon_deg])[0]))


def within_reach(
    lat_deg: FloatArray, lon_deg: FloatArray, middle: Position
) -> tuple[FloatArray, FloatArray]:
    """Draw points that are too far for one plane in towards its middle; leave the others.

    A line that leaves the sheet keeps its direction, and its far end lies off the page either way.
    """
    distance, bearing, _ = inverse_arrays(
        np.full(lat_deg.shape, middle.lat_deg), np.full(lat_deg.shape, middle.lon_deg),
        lat_deg, lon_deg,
    )  # fmt: skip
    far = distance > _REACH_M
    if not far.any():
        return lat_deg, lon_deg
    lat, lon, _ = direct_arrays(middle.lat_deg, middle.lon_deg, bearing[far], _REACH_M)
    near_lat, near_lon = lat_deg.copy(), lon_deg.copy()
    near_lat[far], near_lon[far] = lat, lon
    return near_lat, near_lon
