"""The web-mercator tile grid: which tile holds a place, and which tiles cover a box."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError

__all__ = [
    "MAX_ZOOM",
    "WEB_MERCATOR_MAX_LAT_DEG",
    "WEB_MERCATOR_RADIUS_M",
    "Box",
    "TileId",
    "tile_at",
    "tiles_in",
]

# EPSG:3857 treats WGS 84 latitudes as if they lay on a sphere of this radius. It equals the
# ellipsoid's equatorial radius but is a different thing: nothing is ever measured with it.
WEB_MERCATOR_RADIUS_M: Final = 6378137.0
# Where the square world ends: the latitude whose northing is pi times the radius.
WEB_MERCATOR_MAX_LAT_DEG: Final = math.degrees(math.atan(math.sinh(math.pi)))
MAX_ZOOM: Final = 30


@dataclass(frozen=True, slots=True)
class Box:
    """A box between two parallels and two meridians; it may cross 180 degrees.

    Parameters
    ----------
    south_deg, north_deg : float
        −90 to 90, south not above north.
    west_deg, east_deg : float
        West not above east, at most 360 apart; a box that crosses 180 degrees has an east above
        180 or a west below −180.

    Raises
    ------
    FormatError
        If the edges are not finite or in the wrong order.
    """

    south_deg: float
    west_deg: float
    north_deg: float
    east_deg: float

    def __post_init__(self) -> None:
        """Reject edges in the wrong order."""
        edges = (self.south_deg, self.west_deg, self.north_deg, self.east_deg)
        if not all(math.isfinite(edge) for edge in edges):
            raise FormatError(f"a box needs four finite edges in degrees, got {edges!r}")
        if not -90.0 <= self.south_deg <= self.north_deg <= 90.0:
            raise FormatError(
                f"a box needs -90 <= south <= north <= 90, got south {self.south_deg!r} "
                f"and north {self.north_deg!r}"
            )
        if not 0.0 <= self.east_deg - self.west_deg <= 360.0:
            raise FormatError(
                f"a box needs west <= east, at most 360 degrees apart, got west {self.west_deg!r} "
                f"and east {self.east_deg!r}; add 360 to the east to cross 180 degrees"
            )

    def grown(self, share: float) -> "Box":
        """Return the box with `share` of its own height and width added on every side."""
        high = (self.north_deg - self.south_deg) * share
        wide = min((self.east_deg - self.west_deg) * share, 180.0)
        west, east = self.west_deg - wide, self.east_deg + wide
        if east - west > 360.0:
            middle = (east + west) / 2.0
            west, east = middle - 180.0, middle + 180.0
        return Box(max(self.south_deg - high, -90.0), west, min(self.north_deg + high, 90.0), east)


@dataclass(frozen=True, slots=True, order=True)
class TileId:
    """One tile, counted from the north-west corner.

    Parameters
    ----------
    zoom : int
        0 (one tile holds the world) to 30.
    x, y : int
        Column from 180 degrees west, row from the north edge.

    Raises
    ------
    FormatError
        If there is no such tile.
    """

    zoom: int
    x: int
    y: int

    def __post_init__(self) -> None:
        """Reject a tile outside the world."""
        if not 0 <= self.zoom <= MAX_ZOOM:
            raise FormatError(f"zoom must be between 0 and {MAX_ZOOM}, got {self.zoom!r}")
        side = 1 << self.zoom
        if not (0 <= self.x < side and 0 <= self.y < side):
            raise FormatError(
                f"at zoom {self.zoom} column and row must be below {side}, "
                f"got column {self.x!r} and row {self.y!r}"
            )

    def box(self) -> Box:
        """Return the ground under this tile."""
        side = 1 << self.zoom
        return Box(
            south_deg=_row_lat_deg(self.y + 1, side),
            west_deg=360.0 * self.x / side - 180.0,
            north_deg=_row_lat_deg(self.y, side),
            east_deg=360.0 * (self.x + 1) / side - 180.0,
        )

    @property
    def flipped_row(self) -> int:
        """The row counted from the south, as MBTiles stores it."""
        return (1 << self.zoom) - 1 - self.y


def _row_lat_deg(row: int, side: int) -> float:
    return math.degrees(math.atan(math.sinh(math.pi * (1.0 - 2.0 * row / side))))


def tile_at(lat_deg: float, lon_deg: float, zoom: int) -> TileId:
    """Return the tile that holds a place; latitudes beyond the square world go to its edge.

    Parameters
    ----------
    lat_deg, lon_deg : float
        Degrees; any longitude.
    zoom : int
        0 to 30.

    Returns
    -------
    TileId
        The tile. A place on an edge belongs to the tile east and south of it.

    Source
    ------
    EPSG Guidance Note 7-2, method 1024 (Popular Visualisation Pseudo Mercator).

    Examples
    --------
    >>> tile_at(0.0, 0.0, 1)
    TileId(zoom=1, x=1, y=1)
    """
    column, row = _column_row(lat_deg, lon_deg, zoom)
    return TileId(zoom, column % (1 << zoom), row)


def _column_row(lat_deg: float, lon_deg: float, zoom: int) -> tuple[int, int]:
    """Return column and row; the column runs on past the edges of the world."""
    side = 1 << zoom
    column = math.floor((lon_deg + 180.0) / 360.0 * side)
    lat_deg = min(max(lat_deg, -WEB_MERCATOR_MAX_LAT_DEG), WEB_MERCATOR_MAX_LAT_DEG)
    northing = math.asinh(math.tan(math.radians(lat_deg))) / math.pi
    row = math.floor((1.0 - northing) / 2.0 * side)
    return column, min(max(row, 0), side - 1)


def tiles_in(box: Box, zoom: int) -> Iterator[TileId]:
    """Yield every tile that touches a box, row by row from the north, west to east.

    Parameters
    ----------
    box : Box
        The ground; it may cross 180 degrees.
    zoom : int
        0 to 30.

    Yields
    ------
    TileId
        Each tile once.
    """
    side = 1 << zoom
    first, top = _column_row(box.north_deg, box.west_deg, zoom)
    last, bottom = _column_row(box.south_deg, box.east_deg, zoom)
    columns = range(first, min(last, first + side - 1) + 1)
    for row in range(top, bottom + 1):
        for column in columns:
            yield TileId(zoom, column % side, row)
