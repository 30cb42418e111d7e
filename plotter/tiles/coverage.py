"""How much of an area the map archives cover, level by level: what is there, what is missing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from plotter.geodesy.position import Area
from plotter.tiles.archive import Archive
from plotter.tiles.area_box import box_of_area
from plotter.tiles.grid import WEB_MERCATOR_RADIUS_M, tiles_in
from plotter.tiles.reading import tile_ids

__all__ = ["LevelCoverage", "level_coverage", "metres_per_pixel"]

_TILE_PIXELS: Final = 256
# Levels with more tiles than this over the area are not counted one by one.
_MOST_TILES: Final = 100_000


@dataclass(frozen=True, slots=True)
class LevelCoverage:
    """What all archives together have of an area at one level.

    Parameters
    ----------
    zoom : int
        The level.
    wanted, present : int
        Tiles that touch the area's box, and how many of them some archive has.
    metres_per_pixel : float
        How fine its pixels are on the ground, at the middle of the area.
    """

    zoom: int
    wanted: int
    present: int
    metres_per_pixel: float

    @property
    def share(self) -> float:
        """Present over wanted, 0 to 1."""
        return self.present / self.wanted if self.wanted else 1.0


def metres_per_pixel(lat_deg: float, zoom: int) -> float:
    """Ground under one pixel of a web-mercator tile of 256 pixels.

    Source
    ------
    EPSG Guidance Note 7-2, method 1024: the scale along a parallel is its own length over the
    equator's, that of a sphere here (0.3 % off).
    """
    circle_m = 2.0 * math.pi * WEB_MERCATOR_RADIUS_M
    return circle_m * math.cos(math.radians(lat_deg)) / float(_TILE_PIXELS << zoom)


def level_coverage(archives: Sequence[Archive], area: Area) -> tuple[LevelCoverage, ...]:
    """Coverage of an area at every level that some archive has.

    Parameters
    ----------
    archives : sequence of Archive
        From `archives_in`.
    area : Area
        The area of operations.

    Returns
    -------
    tuple of LevelCoverage
        Coarsest first; levels with more than 100 000 tiles over the area are left out.

    Raises
    ------
    TileError
        If an archive has gone or is damaged.
    """
    box = box_of_area(area)
    zooms = sorted({level.zoom for archive in archives for level in archive.coverage})
    found = []
    for zoom in zooms:
        wanted = 0
        for _ in tiles_in(box, zoom):
            wanted += 1
            if wanted > _MOST_TILES:
                break
        if wanted > _MOST_TILES:
            break
        present = {tile for archive in archives for tile in tile_ids(archive, box, zoom)}
        scale = metres_per_pixel(area.centre.lat_deg, zoom)
        found.append(LevelCoverage(zoom, wanted, len(present), scale))
    return tuple(found)
