"""Archives whose tiles are drawn when they are asked for: a block at a time, as in building one."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

from plotter.errors import TileError
from plotter.tiles.archive import ZoomCoverage, tile_ranges
from plotter.tiles.grid import Box, TileId

if TYPE_CHECKING:
    from plotter.tiles.build import MapFeatures, Rasters
    from plotter.tiles.build.draw import Block

__all__ = ["AT_ONCE", "Ground", "drawn_tiles", "level_over", "tiles_over"]

AT_ONCE: Final = 4
"""Tiles on each side of a block that is drawn for one of them."""

Ground: TypeAlias = Callable[["Block"], "tuple[MapFeatures, Rasters | None]"]
"""From a block to what there is to draw in it."""


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
        from plotter.tiles.build.draw import block_of, draw_block
        from plotter.tiles.build.features import source_of
    except ImportError as error:
        raise TileError(
            f"{str(path)!r} has to be drawn first, which needs the extra: "
            "pip install 'plotter[maps]'"
        ) from error
    blocks: dict[Block, dict[TileId, bytes]] = {}
    for tile in wanted:
        block = block_of(tile, AT_ONCE)
        if block not in blocks:
            features, under = ground(block)
            blocks[block] = dict(draw_block(source_of(features), block, under).tiles)
        if tile in blocks[block]:
            yield tile, blocks[block][tile]


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
