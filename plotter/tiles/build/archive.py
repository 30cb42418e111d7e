"""A map archive written block by block: estimated before it starts, resumed where it stopped."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeAlias

import numpy as np
import shapely

from plotter.errors import TileError
from plotter.geodesy.position import Area
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build.draw import BLOCK, draw_block
from plotter.tiles.build.layers import MapFeatures
from plotter.tiles.build.rasters import Rasters
from plotter.tiles.grid import Box, TileId, tiles_in

__all__ = ["Estimate", "Progress", "build_archive", "estimate_archive"]

Progress: TypeAlias = Callable[[float], None]
"""Called with the share of the blocks that are done, 0 to 1."""

_SAMPLES: Final = 6


@dataclass(frozen=True, slots=True)
class Estimate:
    """What an archive will be.

    Parameters
    ----------
    tiles : int
        How many tiles.
    size_bytes : float
        About how large, by a few blocks drawn for it.
    """

    tiles: int
    size_bytes: float


def _blocks(box: Box, zooms: range) -> list[TileId]:
    """North-western tiles of all blocks that touch a box, coarse levels first."""
    found: dict[TileId, None] = {}
    for zoom in zooms:
        for tile in tiles_in(box, zoom):
            found[TileId(zoom, tile.x // BLOCK * BLOCK, tile.y // BLOCK * BLOCK)] = None
    return list(found)


def estimate_archive(
    features: MapFeatures, area: Area, zooms: range, *, under: Rasters | None = None
) -> Estimate:
    """Tiles and size of an archive, by drawing a few of its blocks.

    Parameters
    ----------
    features : MapFeatures
        What there is to draw.
    area : Area
        The ground.
    zooms : range
        Levels.
    under : Rasters, optional
        Scanned maps and heights under the features.

    Returns
    -------
    Estimate
        Tiles that lie wholly outside a scanned map or model are counted, though not written.
    """
    box = box_of_area(area)
    tree = shapely.STRtree(features.geometries)
    tiles, size = 0, 0.0
    for zoom in zooms:
        wanted = set(tiles_in(box, zoom))
        blocks = _blocks(box, range(zoom, zoom + 1))
        some = [blocks[k] for k in np.linspace(0, len(blocks) - 1, _SAMPLES).astype(int)]
        sizes = [
            len(png)
            for block in dict.fromkeys(some)
            for tile, png in draw_block(features, tree, block, under)
            if tile in wanted
        ]
        tiles += len(wanted)
        size += len(wanted) * float(np.mean(sizes or [0]))
    return Estimate(tiles, size)


def build_archive(
    features: MapFeatures,
    area: Area,
    zooms: range,
    output: Path,
    *,
    name: str,
    credit: str,
    under: Rasters | None = None,
    progress: Progress = lambda _: None,
) -> int:
    """Draw an archive; a second call after a stop goes on where the first one stopped.

    Parameters
    ----------
    features : MapFeatures
        What there is to draw.
    area : Area
        The ground; tiles that touch its box are written.
    zooms : range
        Levels.
    output : Path
        An .mbtiles file; its folder is made where there is none. What it already has is kept, so
        one file is for one map.
    name, credit : str
        Its name, and whom to credit; both are shown on the board.
    under : Rasters, optional
        Scanned maps and heights under the features.
    progress : callable
        Told how far it is.

    Returns
    -------
    int
        Tiles written now.

    Raises
    ------
    TileError
        If there is no credit, or the file cannot be written or holds another map.

    Source
    ------
    MBTiles specification 1.3: tables `metadata` and `tiles`, rows from the south.
    """
    if not credit.strip():
        raise TileError("a map needs a credit: say whose data it is, as their licence asks")
    box = box_of_area(area)
    tree = shapely.STRtree(features.geometries)
    wanted = {tile for zoom in zooms for tile in tiles_in(box, zoom)}
    written = 0
    try:
        output.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(output)) as base:
            _prepare(base, output, name, credit, box, zooms)
            blocks = _blocks(box, zooms)
            for done, block in enumerate(blocks):
                missing = [t for t in _tiles_of(block) if t in wanted and not _has(base, t)]
                if missing:
                    with base:  # one block, one transaction: a stop loses no more than that
                        written += _write(
                            base, draw_block(features, tree, block, under), set(missing)
                        )
                progress((done + 1) / len(blocks))
    except (sqlite3.Error, OSError) as error:
        raise TileError(f"{str(output)!r} cannot be written as a map archive: {error}") from error
    return written


def _tiles_of(block: TileId) -> list[TileId]:
    count = min(BLOCK, 1 << block.zoom)
    return [
        TileId(block.zoom, block.x + dx, block.y + dy) for dy in range(count) for dx in range(count)
    ]


def _prepare(
    base: sqlite3.Connection, output: Path, name: str, credit: str, box: Box, zooms: range
) -> None:
    corners = (box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    with base:
        base.execute("CREATE TABLE IF NOT EXISTS metadata (name TEXT PRIMARY KEY, value TEXT)")
        base.execute(
            "CREATE TABLE IF NOT EXISTS tiles (zoom_level INTEGER, tile_column INTEGER, "
            "tile_row INTEGER, tile_data BLOB, PRIMARY KEY (zoom_level, tile_column, tile_row))"
        )
        there = base.execute("SELECT value FROM metadata WHERE name = 'name'").fetchone()
        if there is not None and there[0] != name:
            raise TileError(
                f"{str(output)!r} holds the map {there[0]!r}, not {name!r}: give another file"
            )
        told = {
            "name": name,
            "format": "png",
            "type": "baselayer",
            "version": "1",
            "attribution": credit,
            "bounds": ",".join(f"{degrees:.5f}" for degrees in corners),
            "minzoom": str(zooms.start),
            "maxzoom": str(zooms.stop - 1),
        }
        base.executemany("INSERT OR REPLACE INTO metadata VALUES (?, ?)", told.items())


def _has(base: sqlite3.Connection, tile: TileId) -> bool:
    query = "SELECT 1 FROM tiles WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?"
    return base.execute(query, (tile.zoom, tile.x, tile.flipped_row)).fetchone() is not None


def _write(
    base: sqlite3.Connection, tiles: Iterator[tuple[TileId, bytes]], missing: set[TileId]
) -> int:
    rows = [(t.zoom, t.x, t.flipped_row, png) for t, png in tiles if t in missing]
    base.executemany("INSERT INTO tiles VALUES (?, ?, ?, ?)", rows)
    return len(rows)
