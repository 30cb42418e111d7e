"""Vector tiles, in MBTiles or PMTiles: drawn in our own style when they are asked for."""

import sqlite3
import warnings
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Final

import numpy as np

from plotter.errors import TileError
from plotter.geodesy.arrays import as_float
from plotter.tiles import mbtiles, pmtiles_archive
from plotter.tiles.archive import ADVICE, Archive, ZoomCoverage, tile_ranges
from plotter.tiles.drawn import drawn_tiles
from plotter.tiles.grid import WEB_MERCATOR_RADIUS_M, Box, TileId

if TYPE_CHECKING:
    from plotter.tiles.build import MapFeatures, Rasters
    from plotter.tiles.build.draw import Block
    from plotter.tiles.build.layers import Drawable, KindsOf

__all__ = ["holds_vectors", "open_archive", "read_tiles", "tile_ids"]

_DEEPER: Final = 2  # levels below its finest that are drawn from it: lines stay sharp
_MARGIN: Final = 0.4  # of a tile: wide lines and names that reach over a block's edge
_PMTILES_TYPE_AT: Final = 99
_MVT: Final = 1


def holds_vectors(path: Path) -> bool:
    """Whether an archive says that its tiles are vectors; False for what cannot be read."""
    if path.suffix.lower() == ".pmtiles":
        try:
            with path.open("rb") as file:
                header = file.read(127)
        except OSError:
            return False
        return len(header) == 127 and header[_PMTILES_TYPE_AT] == _MVT
    if not path.is_file():
        return False
    try:
        with closing(
            sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
        ) as base:
            query = "SELECT value FROM metadata WHERE name = 'format'"
            told = base.execute(query).fetchone()
    except (sqlite3.Error, UnicodeDecodeError):
        return False
    return told is not None and str(told[0]).lower() in {"pbf", "mvt"}


def open_archive(path: Path) -> Archive:
    """Read what an archive says about itself.

    Parameters
    ----------
    path : Path
        An .mbtiles or .pmtiles file of Mapbox vector tiles.

    Returns
    -------
    Archive
        With two levels more than it has: they are drawn from its finest.

    Raises
    ------
    TileError
        If it is missing or damaged, or the extra that draws vector tiles is not installed.

    Source
    ------
    Mapbox Vector Tile specification 2.1; decoded by GDAL.
    """
    archive: Archive = _module(path).open_archive(path, vectors=True)
    _layers(path)
    deeper = tuple(_deeper(archive.coverage[-1]))
    return replace(archive, kind="vector", coverage=archive.coverage + deeper)


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level over a box; see `plotter.tiles.reading.tile_ids`."""
    finest = _finest(archive)
    if zoom <= finest:
        found: tuple[TileId, ...] = _module(archive.path).tile_ids(archive, box, zoom)
        return found
    if zoom > finest + _DEEPER:
        return ()
    down = zoom - finest
    parents = {(t.x, t.y) for t in _module(archive.path).tile_ids(archive, box, finest)}
    return tuple(
        sorted(
            (
                TileId(zoom, x, y)
                for west, east, top, bottom in tile_ranges(box, zoom)
                for y in range(top, bottom + 1)
                for x in range(west, east + 1)
                if (x >> down, y >> down) in parents
            ),
            key=lambda tile: (tile.y, tile.x),
        )
    )


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that there are, drawn; see `plotter.tiles.reading.read_tiles`."""
    finest = _finest(archive)
    layers = _layers(archive.path)

    def ground(block: "Block") -> "tuple[MapFeatures, Rasters | None]":
        return _features(archive.path, layers, block, min(block.zoom, finest)), None

    def there() -> Iterator[TileId]:
        for tile in wanted:
            ids = tile_ids(archive, tile.box(), tile.zoom)
            if tile in ids:
                yield tile

    yield from drawn_tiles(archive.path, there(), ground)


def _module(path: Path) -> ModuleType:
    return pmtiles_archive if path.suffix.lower() == ".pmtiles" else mbtiles


def _finest(archive: Archive) -> int:
    return archive.coverage[-1].zoom - _DEEPER


def _deeper(level: ZoomCoverage) -> Iterator[ZoomCoverage]:
    for down in range(1, _DEEPER + 1):
        yield ZoomCoverage(
            level.zoom + down,
            level.tiles << 2 * down,
            level.west_x << down,
            ((level.east_x + 1) << down) - 1,
            level.north_y << down,
            ((level.south_y + 1) << down) - 1,
        )


def _layers(path: Path) -> tuple[str, ...]:
    try:
        import geopandas  # type: ignore[import-untyped]  # noqa: F401 - reading features needs it
        import pyogrio
    except ImportError as error:
        raise TileError(
            f"{str(path)!r} holds vector tiles; drawing them needs the extra: "
            "pip install 'plotter[maps]'"
        ) from error
    try:
        layers = tuple(str(name) for name, _ in pyogrio.list_layers(path))
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        raise TileError(f"{str(path)!r} cannot be read as vector tiles: {error}") from error
    if not layers:
        raise TileError(f"the vector tiles in {str(path)!r} name no layers; {ADVICE}")
    return layers


def _features(path: Path, layers: tuple[str, ...], block: "Block", zoom: int) -> "MapFeatures":
    """Everything in a block and a little round it, from the tiles of one level."""
    import pyogrio

    from plotter.tiles.build.layers import drawables, map_features
    from plotter.tiles.build.repair import repaired

    half_m = np.pi * WEB_MERCATOR_RADIUS_M
    tile_m = 2.0 * half_m / (1 << block.zoom)
    corners = as_float(
        [
            block.x - _MARGIN,
            -(block.y + block.count + _MARGIN),
            block.x + block.count + _MARGIN,
            -(block.y - _MARGIN),
        ]
    )
    bounds = corners * tile_m + half_m * as_float([-1, 1, -1, 1])
    found: list[Drawable] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # rings that a tile's edge leaves open, by the dozen
            for layer in layers:
                frame = pyogrio.read_dataframe(
                    path, layer=layer, bbox=tuple(bounds.tolist()), ZOOM_LEVEL=zoom
                ).to_crs(4326)
                sound, _ = repaired(np.asarray(frame.geometry.array, dtype=object))
                found += drawables(frame.set_geometry(sound, crs=4326), _kinds(layer))
    except (pyogrio.errors.DataSourceError, pyogrio.errors.FeatureError, ValueError) as error:
        raise TileError(f"{str(path)!r} cannot be read as vector tiles: {error}") from error
    return replace(map_features(found, ""), known=None)


def _kinds(layer: str) -> "KindsOf":
    from plotter.tiles.build.schemas import kind_in_layer

    def kinds(tags: Mapping[str, object], _dimension: int) -> tuple[str, ...]:
        kind = kind_in_layer(layer, tags)
        return () if kind is None else (kind,)

    return kinds
