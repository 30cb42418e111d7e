"""Raster MBTiles archives: opened read-only, described, and read tile by tile."""

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from plotter.errors import TileError
from plotter.tiles.archive import (
    ADVICE,
    Archive,
    ZoomCoverage,
    image_type,
    plain_text,
    tile_ranges,
)
from plotter.tiles.grid import MAX_ZOOM, Box, TileId

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["open_archive", "read_tiles", "tile_ids"]


def open_archive(path: Path, *, vectors: bool = False) -> Archive:
    """Read what an archive says about itself.

    Parameters
    ----------
    path : Path
        An .mbtiles file. It is opened read-only and taken as unchanging.
    vectors : bool
        Whether its tiles are to be vectors, not images.

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
                f"{str(path)!r} cannot be read as MBTiles ({error}); {ADVICE}"
            ) from error
    if sample is None or not coverage:
        raise TileError(f"{str(path)!r} holds no tiles; {ADVICE}")
    if not isinstance(sample[0], bytes) or (image_type(sample[0]) is None) != vectors:
        raise TileError(f"the tiles in {str(path)!r} are not PNG, JPEG or WebP images; {ADVICE}")
    return Archive(
        path=path,
        kind="mbtiles",
        size_bytes=path.stat().st_size,
        name=told.get("name", "").strip() or path.stem,
        attribution=plain_text(told.get("attribution", "")),
        coverage=coverage,
        known=_ground(told.get("known_ground")),
        sea_unknown=_ground(told.get("sea_unknown")),
    )


def _ground(text: str | None) -> "BaseGeometry | None":
    """An area that the metadata state as GeoJSON; None where they do not, or not one that is."""
    if not text:
        return None
    import shapely  # loaded late: most archives state none

    try:
        shape: BaseGeometry = shapely.from_geojson(text)
    except shapely.errors.GEOSException:
        return None
    return shape if shape is not None and shape.is_valid and not shape.is_empty else None


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
    rows_and_columns = tile_ranges(box, zoom)
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
        raise TileError(f"{str(path)!r} cannot be opened ({error}); {ADVICE}") from error


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
