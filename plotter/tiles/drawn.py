"""Archives whose tiles are drawn when they are asked for: a block at a time, as in building one."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from plotter.errors import TileError
from plotter.tiles.archive import ZoomCoverage, tile_ranges
from plotter.tiles.grid import Box, TileId

if TYPE_CHECKING:
    from plotter.tiles.build import MapFeatures, Rasters

__all__ = ["Ground", "drawn_tiles", "level_over", "tiles_over"]

Ground: TypeAlias = Callable[[TileId], "tuple[MapFeatures, Rasters | None]"]
"""From the north-western tile of a block to what there is to draw in it."""


def drawn_tiles(
    path: Path, wanted: Iterable[TileId], ground: Ground
) -> Iterator[tuple[TileId, bytes]]:
    """Draw tiles in the order asked; those of nothing are passed over.

    Parameters
    ----------
    path : Path
        The archive, for what goes wrong.
    wanted : iterable of TileId
        Which tiles; neighbours that follow each other are drawn together.
    ground : callable
        What there is to draw.

    Raises
    ------
    TileError
        If what drawing needs is not installed.
    """
    try:
        import shapely

        from plotter.tiles.build.draw import BLOCK, draw_block
    except ImportError as error:
        raise TileError(
            f"{str(path)!r} has to be drawn first, which needs the extra: "
            "pip install 'plotter[maps]'"
        ) from error
    blocks: dict[TileId, dict[TileId, bytes]] = {}
    for tile in wanted:
        first = TileId(tile.zoom, tile.x // BLOCK * BLOCK, tile.y // BLOCK * BLOCK)
        if first not in blocks:
            features, under = ground(first)
            tree = shapely.STRtree(features.geometries)
            blocks[first] = dict(draw_block(features, tree, first, under))
        if tile in blocks[first]:
            yield tile, blocks[first][tile]


def level_over(box: Box, zoom: int) -> ZoomCoverage:
    """A level that has every tile over a box; the box does not cross 180 degrees."""
    west, east, top, bottom = tile_ranges(box, zoom)[0]
    count = (east - west + 1) * (bottom - top + 1)
    return ZoomCoverage(zoom, count, west, east, top, bottom)


def tiles_over(box: Box, level: ZoomCoverage) -> tuple[TileId, ...]:
    """Tiles of such a level that touch a box, row by row from the north."""
    found = {
        TileId(level.zoom, x, y)
        for west, east, top, bottom in tile_ranges(box, level.zoom)
        for y in range(max(top, level.north_y), min(bottom, level.south_y) + 1)
        for x in range(max(west, level.west_x), min(east, level.east_x) + 1)
    }
    return tuple(sorted(found, key=lambda tile: (tile.y, tile.x)))
