"""The 100 km squares of an area of operations in which figures alone, or letters, have a place.

They are enumerated from the area's extent and projected back all at once, so that a short
reference costs about as much as a full one, however large the area is.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from plotter.formats.mgrs_letters import (
    COLUMN_SETS,
    POLAR_COLUMNS,
    POLAR_ROWS,
    ROWS,
    SQUARE_M,
    first_row,
)
from plotter.formats.zones import band_of
from plotter.geodesy.arrays import FloatArray, IntArray, as_float, half_turn_deg
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import (
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_LIMIT_DEG,
    utm_zone_grid,
)
from plotter.geodesy.position import Area

__all__ = [
    "MOST_SQUARES",
    "SquareCorners",
    "polar_squares_about",
    "squares_about",
    "squares_in",
    "zones_about",
]

# Figures that fit more squares than these are no position: nobody reads so long a list.
MOST_SQUARES: Final = 24
# A degree of latitude is nowhere shorter, so that an extent in degrees is never too small.
_DEGREE_M: Final = 110_500.0
# A square's far corner, and the widest zone's edge, from where it is looked for.
_MARGIN_DEG: Final = 1.5
_WIDEST_ZONE_DEG: Final = 9.0
# How much farther from the equator, at most, a parallel lies at a zone's edge: with zone 31X,
# nine degrees off its meridian, by less than this share.
_BENT: Final = 1.013


@dataclass(frozen=True, slots=True)
class SquareCorners:
    """The south-western corners of some 100 km squares of UTM zones, as columns.

    Parameters
    ----------
    zone : ndarray of int, shape (n,)
        Zone number.
    east_m, north_m : ndarray, shape (n,)
        Corner on the zone's grid; northings south of the equator are negative, with no false one.
    """

    zone: IntArray
    east_m: FloatArray
    north_m: FloatArray

    def latlon(
        self, east_m: float | FloatArray, north_m: float | FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Latitudes and longitudes of places in each square, given from its corner.

        Parameters
        ----------
        east_m, north_m : float or ndarray, shape (k,)
            One place, or k places in each square.

        Returns
        -------
        lat_deg, lon_deg : ndarray, shape (n,) or (n, k)
        """
        grid = utm_zone_grid(31, south=False)  # a zone's plane is every zone's, turned
        east, north, zone = (part[..., None] for part in (self.east_m, self.north_m, self.zone))
        shape = (*self.zone.shape, *np.shape(east_m))
        lat, lon = grid.inverse((east + east_m).ravel(), (north + north_m).ravel())
        turned = half_turn_deg(lon.reshape(-1, lon.size // max(zone.size, 1)) + 6.0 * (zone - 31))
        return lat.reshape(shape), turned.reshape(shape)

    def letters(self, i: int) -> str:
        """The two letters of one of the squares."""
        zone = int(self.zone[i])
        column = COLUMN_SETS[(zone - 1) % 3][round(self.east_m[i] / SQUARE_M) - 1]
        return column + ROWS[(round(self.north_m[i] / SQUARE_M) + first_row(zone)) % 20]


def squares_in(area: Area) -> float:
    """How many 100 km squares an area holds, roughly: its size over theirs.

    Examples
    --------
    >>> from plotter.geodesy.position import Position
    >>> round(squares_in(Area(Position(48.0, 2.0), 2_000_000.0)))
    1257
    """
    return math.pi * (area.radius_m / SQUARE_M) ** 2


def squares_about(area: Area, letters: str = "") -> SquareCorners:
    """Every UTM square that reaches into an area, and a few beside it.

    Parameters
    ----------
    area : Area
        The area of operations.
    letters : str
        Only squares of these two letters; all where empty.
    """
    corners, by_letters = _all_squares(area)
    if not letters:
        return corners
    rows = by_letters.get(letters, np.zeros(0, dtype=np.int64))
    return SquareCorners(corners.zone[rows], corners.east_m[rows], corners.north_m[rows])


@lru_cache(maxsize=8)
def _all_squares(area: Area) -> tuple[SquareCorners, dict[str, IntArray]]:
    """The squares of an area, and which of them have which letters."""
    south, north, half_deg = _extent(area)
    # A parallel is farther from the equator at the zone's edge than on its meridian.
    lowest = math.floor(south * _DEGREE_M / SQUARE_M * (_BENT if south < 0 else 1.0)) - 1
    highest = math.ceil(north * _DEGREE_M / SQUARE_M * (_BENT if north > 0 else 1.0)) + 1
    found = [
        (zone, (column + 1) * SQUARE_M, row * SQUARE_M)
        for zone in range(1, 61)
        if abs((area.centre.lon_deg - 6.0 * zone + 3.0) % 360.0 - 180.0)
        <= half_deg + _WIDEST_ZONE_DEG
        for column in range(len(COLUMN_SETS[0]))
        for row in range(lowest, highest + 1)
    ]
    columns = as_float(found).reshape(-1, 3)
    corners = SquareCorners(columns[:, 0].astype(np.int64), columns[:, 1], columns[:, 2])
    if not found:
        return corners, {}
    lat, lon = corners.latlon(SQUARE_M / 2.0, SQUARE_M / 2.0)
    far, _, _ = inverse_arrays(area.centre.lat_deg, area.centre.lon_deg, lat, lon)
    near = far <= area.radius_m + SQUARE_M
    corners = SquareCorners(corners.zone[near], corners.east_m[near], corners.north_m[near])
    by_letters: dict[str, list[int]] = {}
    for i in range(corners.zone.size):
        by_letters.setdefault(corners.letters(i), []).append(i)
    return corners, {key: np.array(rows) for key, rows in by_letters.items()}


def _extent(area: Area) -> tuple[float, float, float]:
    """Southern and northern latitude, and half the width in longitude, with a margin."""
    reach_deg = area.radius_m / _DEGREE_M + _MARGIN_DEG
    lat = area.centre.lat_deg
    south, north = max(lat - reach_deg, -90.0), min(lat + reach_deg, 90.0)
    if reach_deg >= 90.0 - abs(lat):
        return south, north, 180.0
    across = math.sin(math.radians(reach_deg)) / math.cos(math.radians(lat))
    return south, north, math.degrees(math.asin(min(across, 1.0)))


def polar_squares_about(area: Area, letters: str = "") -> tuple[str, ...]:
    """The same at the poles, as texts: zone letter and square letters."""
    south_deg, north_deg, _ = _extent(area)
    zones = ("AB" if south_deg < UTM_SOUTH_LIMIT_DEG else "") + (
        "YZ" if north_deg > UTM_NORTH_LIMIT_DEG else ""
    )
    return tuple(
        zone + column + row
        for zone in zones
        for column in POLAR_COLUMNS[zone][1]
        if letters[:1] in ("", column)
        for row in (POLAR_ROWS if zone in "AB" else POLAR_ROWS[:14])
        if letters[1:] in ("", row)
    )


def zones_about(area: Area) -> tuple[str, ...]:
    """Grid zones of an area, as in ``31U``, the nearest to its middle first."""
    corners = squares_about(area)
    if not corners.zone.size:
        return ()
    lat, lon = corners.latlon(SQUARE_M / 2.0, SQUARE_M / 2.0)
    far, _, _ = inverse_arrays(area.centre.lat_deg, area.centre.lon_deg, lat, lon)
    found: dict[str, None] = {}
    for i in np.argsort(far, kind="stable").tolist():
        if UTM_SOUTH_LIMIT_DEG <= lat[i] < UTM_NORTH_LIMIT_DEG:
            found[f"{corners.zone[i]:02d}{band_of(float(lat[i]))}"] = None
    return tuple(found)
