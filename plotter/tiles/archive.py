"""What every kind of map archive is to the rest: name, credit, and the levels it covers."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from plotter.tiles.grid import Box, TileId, tile_at

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "ADVICE",
    "Archive",
    "ArchiveKind",
    "ZoomCoverage",
    "image_type",
    "plain_text",
    "tile_ranges",
]

ArchiveKind: TypeAlias = Literal["mbtiles", "pmtiles", "folder", "geotiff", "vector"]
ADVICE: Final = (
    "use PNG, JPEG, WebP or vector tiles in web mercator (.mbtiles, .pmtiles, z/x/y), or a GeoTIFF"
)

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_JPEG: Final = b"\xff\xd8\xff"


@dataclass(frozen=True, slots=True)
class ZoomCoverage:
    """What one zoom level of an archive holds.

    Parameters
    ----------
    zoom : int
        The level.
    tiles : int
        How many tiles it has.
    west_x, east_x, north_y, south_y : int
        First and last column and row, counted from the north-west; there may be gaps between.
    """

    zoom: int
    tiles: int
    west_x: int
    east_x: int
    north_y: int
    south_y: int

    def box(self) -> Box:
        """Ground from the first to the last column and row."""
        north_west = TileId(self.zoom, self.west_x, self.north_y).box()
        south_east = TileId(self.zoom, self.east_x, self.south_y).box()
        return Box(
            south_east.south_deg, north_west.west_deg, north_west.north_deg, south_east.east_deg
        )

    def touches(self, box: Box) -> bool:
        """Whether the rectangle of this level has a tile in common with a box."""
        own = self.box()
        if box.north_deg < own.south_deg or box.south_deg > own.north_deg:
            return False
        return any(
            box.west_deg + turn <= own.east_deg and box.east_deg + turn >= own.west_deg
            for turn in (-360.0, 0.0, 360.0)
        )


@dataclass(frozen=True, slots=True)
class Archive:
    """A map archive on this machine.

    Parameters
    ----------
    path : Path
        The file, or the folder of tiles.
    kind : str
        ``mbtiles``, ``pmtiles``, ``folder``, ``geotiff`` or ``vector``: how it is read.
    size_bytes : int
        Of the file, or of all tiles of the folder.
    name : str
        Its name by its own account, else the file's.
    attribution : str
        Whom to credit, as plain text; empty if it does not say.
    coverage : tuple of ZoomCoverage
        One for each level it has, lowest zoom first.
    known : shapely geometry or None
        Ground, in longitude and latitude, of which its data says something; None where it does not
        say, and every tile is taken as full.
    sea_unknown : shapely geometry or None
        The part of it of which it is not known whether it is land or sea.
    """

    path: Path
    kind: ArchiveKind
    size_bytes: int
    name: str
    attribution: str
    coverage: tuple[ZoomCoverage, ...]
    known: "BaseGeometry | None" = None
    sea_unknown: "BaseGeometry | None" = None

    def covers(self, box: Box) -> bool:
        """Whether any level has ground in common with a box."""
        return any(level.touches(box) for level in self.coverage)

    def ends_in(self, box: Box) -> bool:
        """Whether its data, by its own account, ends within a box."""
        if self.known is None:
            return False
        import shapely  # loaded already, with what is known

        for turn in (-360.0, 0.0, 360.0):
            west, east = max(box.west_deg + turn, -180.0), min(box.east_deg + turn, 180.0)
            part = shapely.box(west, box.south_deg, east, box.north_deg)
            if west < east and not self.known.covers(part):
                return True
        return False


def image_type(tile: bytes) -> str | None:
    """Name the media type of an image by its first bytes; None if it is not one a browser draws.

    Examples
    --------
    >>> image_type(bytes.fromhex("ffd8ffe0"))
    'image/jpeg'
    """
    if tile.startswith(_PNG):
        return "image/png"
    if tile.startswith(_JPEG):
        return "image/jpeg"
    if tile[:4] == b"RIFF" and tile[8:12] == b"WEBP":
        return "image/webp"
    return None


def plain_text(marked_up: str) -> str:
    """Take the HTML marks out of a credit, and let it be one line."""
    return " ".join(re.sub(r"<[^>]*>", " ", marked_up).split())


def tile_ranges(box: Box, zoom: int) -> list[tuple[int, int, int, int]]:
    """Return the tiles over a box: first and last column, first and last row.

    Two such rectangles where the box crosses 180 degrees.
    """
    corners = (
        tile_at(box.north_deg, box.west_deg, zoom),
        tile_at(box.south_deg, box.east_deg, zoom),
    )
    (west, top), (east, bottom) = ((corner.x, corner.y) for corner in corners)
    last = (1 << zoom) - 1
    if box.east_deg - box.west_deg >= 360.0 * last / (last + 1):
        return [(0, last, top, bottom)]
    if west <= east:
        return [(west, east, top, bottom)]
    return [(west, last, top, bottom), (0, east, top, bottom)]
