"""Raster MBTiles archives: opened read-only, described, and read tile by tile."""

import re
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from plotter.errors import TileError
from plotter.tiles.grid import MAX_ZOOM, Box, TileId, tile_at

__all__ = ["Archive", "ZoomCoverage", "image_type", "open_archive", "read_tiles", "tile_ids"]

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_JPEG: Final = b"\xff\xd8\xff"
_ADVICE: Final = "use a raster MBTiles archive (PNG, JPEG or WebP tiles) in web mercator"


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
        The file.
    name : str
        Its name by its own account, else the file's.
    attribution : str
        Whom to credit, as plain text; empty if it does not say.
    coverage : tuple of ZoomCoverage
        One for each level it has, lowest zoom first.
    """

    path: Path
    name: str
    attribution: str
    coverage: tuple[ZoomCoverage, ...]

    def covers(self, box: Box) -> bool:
        """Whether any level has ground in common with a box."""
        return any(level.touches(box) for level in self.coverage)


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


def open_archive(path: Path) -> Archive:
    """Read what an archive says about itself.

    Parameters
    ----------
    path : Path
        An .mbtiles file. It is opened read-only and taken as unchanging.

    Returns
    -------
    Archive
        Its name, credit and coverage.

    Raises
    ------
    TileError
        If the file is missing, damaged, not an MBTiles archive, or holds no raster tiles.

    Source
    ------
    MBTiles specification 1.3, Mapbox, 2018: tables `metadata` and `tiles`, rows from the south.
    """
    with closing(_connect(path)) as connection:
        try:
            told = _metadata(connection)
            coverage = tuple(_coverage(connection))
            sample = connection.execute("SELECT tile_data FROM tiles LIMIT 1").fetchone()
        except (sqlite3.Error, OverflowError, UnicodeDecodeError) as error:
            raise TileError(
                f"{str(path)!r} cannot be read as MBTiles ({error}); {_ADVICE}"
            ) from error
    if sample is None or not coverage:
        raise TileError(f"{str(path)!r} holds no tiles; {_ADVICE}")
    if told.get("format", "").lower() in {"pbf", "mvt"}:
        raise TileError(f"{str(path)!r} holds vector tiles, which are not drawn here; {_ADVICE}")
    if not isinstance(sample[0], bytes) or image_type(sample[0]) is None:
        raise TileError(f"the tiles in {str(path)!r} are not PNG, JPEG or WebP images; {_ADVICE}")
    return Archive(
        path=path,
        name=told.get("name", "").strip() or path.stem,
        attribution=" ".join(re.sub(r"<[^>]*>", " ", told.get("attribution", "")).split()),
        coverage=coverage,
    )


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level that the archive has over a box, row by row from the north.

    Parameters
    ----------
    archive : Archive
        From `open_archive`.
    box : Box
        The ground; it may cross 180 degrees.
    zoom : int
        The level.

    Returns
    -------
    tuple of TileId
        In order; empty where it has none.

    Raises
    ------
    TileError
        If the file has gone or is damaged.
    """
    rows_and_columns = _ranges(box, zoom)
    query = (
        "SELECT tile_column, tile_row FROM tiles WHERE zoom_level = ? "
        "AND tile_column BETWEEN ? AND ? AND tile_row BETWEEN ? AND ?"
    )
    last = (1 << zoom) - 1
    found: set[TileId] = set()
    with closing(_connect(archive.path)) as connection:
        try:
            for west, east, top, bottom in rows_and_columns:
                limits = (zoom, west, east, last - bottom, last - top)
                found.update(
                    TileId(zoom, x, last - row) for x, row in connection.execute(query, limits)
                )
        except sqlite3.Error as error:
            raise _damaged(archive.path, error) from error
    return tuple(sorted(found, key=lambda tile: (tile.y, tile.x)))


def _ranges(box: Box, zoom: int) -> list[tuple[int, int, int, int]]:
    """Return first and last column, first and last row; two runs where the box crosses 180."""
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


def _damaged(path: Path, error: sqlite3.Error) -> TileError:
    return TileError(f"{str(path)!r} is damaged ({error}); copy it again from its source")


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that the archive has, in the order asked; those it lacks are passed over.

    Parameters
    ----------
    archive : Archive
        From `open_archive`.
    wanted : iterable of TileId
        Which tiles.

    Yields
    ------
    tuple of TileId and bytes
        The tile and its image; entries that are not images are passed over as well.

    Raises
    ------
    TileError
        If the file has gone or is damaged.
    """
    query = "SELECT tile_data FROM tiles WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?"
    with closing(_connect(archive.path)) as connection:
        try:
            for tile in wanted:
                row = connection.execute(query, (tile.zoom, tile.x, tile.flipped_row)).fetchone()
                if row is not None and isinstance(row[0], bytes) and image_type(row[0]):
                    yield tile, row[0]
        except sqlite3.Error as error:
            raise _damaged(archive.path, error) from error


def _connect(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise TileError(f"there is no map archive at {str(path)!r}; check the path")
    try:
        # immutable: no lock and no journal is written beside the file, so a stick that is
        # write-protected, or mounted twice, still opens.
        return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
    except sqlite3.Error as error:
        raise TileError(f"{str(path)!r} cannot be opened ({error}); {_ADVICE}") from error


def _metadata(connection: sqlite3.Connection) -> dict[str, str]:
    try:
        rows = connection.execute("SELECT name, value FROM metadata").fetchall()
    except sqlite3.OperationalError:
        return {}  # some archives carry tiles only; the tiles speak for themselves
    return {str(name).lower(): str(value) for name, value in rows if value is not None}


def _coverage(connection: sqlite3.Connection) -> Iterator[ZoomCoverage]:
    rows = connection.execute(
        "SELECT zoom_level, COUNT(*), MIN(tile_column), MAX(tile_column), MIN(tile_row), "
        "MAX(tile_row) FROM tiles GROUP BY zoom_level ORDER BY zoom_level"
    )
    for zoom, tiles, west, east, south, north in rows:
        numbers = (zoom, west, east, south, north)
        if not all(isinstance(number, int) for number in numbers) or not 0 <= zoom <= MAX_ZOOM:
            continue  # a level outside the grid cannot be placed on the ground
        last = (1 << zoom) - 1
        if min(west, south) < 0 or max(east, north) > last:
            continue
        yield ZoomCoverage(zoom, tiles, west, east, last - north, last - south)
