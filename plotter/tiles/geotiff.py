"""GeoTIFF and COG files as archives: a scanned map, or heights, cut into tiles when asked for."""

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from plotter.tiles.archive import Archive
from plotter.tiles.drawn import drawn_tiles, level_over, tiles_over
from plotter.tiles.grid import WEB_MERCATOR_RADIUS_M, Box, TileId

if TYPE_CHECKING:
    from plotter.tiles.build import MapFeatures, Rasters

__all__ = ["open_archive", "read_tiles", "tile_ids"]

_TILE_PIXELS: Final = 256
_FINEST: Final = 18
_LEVELS: Final = 8


def open_archive(path: Path) -> Archive:
    """Read what a raster says about itself.

    Parameters
    ----------
    path : Path
        A .tif or .tiff file that says where on Earth it lies.

    Returns
    -------
    Archive
        Levels up to the first that is no coarser than its pixels, at most 18, and seven above.

    Raises
    ------
    TileError
        If the file is missing, cannot be read, does not say where it lies, or the extra that reads
        rasters is not installed.
    """
    import shapely  # loaded late: only where there is such a file

    under, box, pixel_m = _looked_at(path, path.stat().st_mtime if path.is_file() else 0.0)
    world_m = 2.0 * math.pi * WEB_MERCATOR_RADIUS_M
    finest = math.ceil(math.log2(world_m / (_TILE_PIXELS * pixel_m)) - 0.1)
    finest = min(max(finest, 0), _FINEST)
    return Archive(
        path=path,
        kind="geotiff",
        size_bytes=path.stat().st_size,
        name=path.stem,
        attribution=under.credit,
        coverage=tuple(
            level_over(box, zoom) for zoom in range(max(finest - _LEVELS + 1, 0), finest + 1)
        ),
        known=shapely.box(box.west_deg, box.south_deg, box.east_deg, box.north_deg),
    )


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level over a box; see `plotter.tiles.reading.tile_ids`.

    Tiles of the raster's own box: at its edge some may turn out to be empty.
    """
    levels = [level for level in archive.coverage if level.zoom == zoom]
    return tiles_over(box, levels[0]) if levels else ()


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that the raster has; see `plotter.tiles.reading.read_tiles`."""
    from plotter.tiles.build import NO_FEATURES, read_rasters

    under = read_rasters([archive.path])

    def ground(_: object) -> "tuple[MapFeatures, Rasters | None]":
        return NO_FEATURES, under

    yield from drawn_tiles(archive.path, wanted, ground)


@lru_cache(maxsize=16)
def _looked_at(path: Path, _changed: float) -> tuple["Rasters", Box, float]:
    """What the raster holds, its box, and its pixel in metres of web mercator."""
    from plotter.tiles.build.rasters import reach, read_rasters

    return read_rasters([path]), *reach(path)
