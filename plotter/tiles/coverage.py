"""How much of an area the map archives cover, level by level: what is there, where data ends."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Final

import numpy as np

from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Area
from plotter.tiles.archive import Archive
from plotter.tiles.area_box import box_of_area
from plotter.tiles.grid import WEB_MERCATOR_RADIUS_M, Box, TileId, tiles_in
from plotter.tiles.reading import tile_ids

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["LevelCoverage", "level_coverage", "metres_per_pixel"]

_TILE_PIXELS: Final = 256
# Levels with more tiles than this over the area are not counted one by one.
_MOST_TILES: Final = 100_000
_SIDES: Final = ("north", "north-east", "east", "south-east", "south", "south-west", "west",
                 "north-west")  # fmt: skip
_HALF: Final = 0.5
_NEARLY: Final = 1e-6


@dataclass(frozen=True, slots=True)
class LevelCoverage:
    """What all archives together have of an area at one level.

    Parameters
    ----------
    zoom : int
        The level.
    wanted, present : int
        Tiles that touch the area's box, and how many of them some archive has.
    share : float
        Part of the area, 0 to 1, that lies on such a tile and of which its archive says something:
        where data ends within a tile the rest of it is not covered.
    metres_per_pixel : float
        How fine its pixels are on the ground, at the middle of the area.
    missing : tuple of str
        Sides of the area, from its middle, of which more than half is not covered.
    sea_unknown : float
        Part of the area of which it is not known whether it is land or sea.
    """

    zoom: int
    wanted: int
    present: int
    share: float
    metres_per_pixel: float
    missing: tuple[str, ...] = ()
    sea_unknown: float = 0.0


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
    circle, sectors = _circle(area, box)
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
        tiles = [(archive, tile_ids(archive, box, zoom)) for archive in archives]
        present = {tile for _, some in tiles for tile in some}
        if not present:
            continue
        covered, unsure = _ground(tiles, circle)
        found.append(
            LevelCoverage(
                zoom,
                wanted,
                len(present),
                min(covered.area / circle.area + _NEARLY, 1.0),
                metres_per_pixel(area.centre.lat_deg, zoom),
                tuple(
                    side
                    for side, sector in zip(_SIDES, sectors, strict=True)
                    if covered.intersection(sector).area < _HALF * sector.area
                ),
                unsure.intersection(covered).area / circle.area,
            )
        )
    return tuple(found)


def _circle(area: Area, box: Box) -> tuple["BaseGeometry", list["BaseGeometry"]]:
    """The area in longitude and latitude, running on past 180 degrees; and its eight sides."""
    import shapely

    whole = shapely.box(box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    if box.east_deg - box.west_deg >= 360.0:
        return whole, [whole] * len(_SIDES)
    lon, lat = area.centre.lon_deg, area.centre.lat_deg
    places = [destination(area.centre, turn, area.radius_m) for turn in np.arange(0.0, 360.0, 2.5)]
    ring = [(lon + (p.lon_deg - lon + 180.0) % 360.0 - 180.0, p.lat_deg) for p in places]
    step = len(ring) // len(_SIDES)
    sectors = [
        shapely.Polygon([(lon, lat), *[ring[(k * step + j) % len(ring)] for j in range(-9, 10)]])
        for k in range(len(_SIDES))
    ]
    return shapely.Polygon(ring), sectors


def _ground(
    tiles: Sequence[tuple[Archive, Sequence[TileId]]], circle: "BaseGeometry"
) -> tuple["BaseGeometry", "BaseGeometry"]:
    """Ground within a circle that some archive covers; the part where sea and land are open."""
    import shapely
    import shapely.affinity

    covered, unsure = [], []
    for archive, some in tiles:
        here = shapely.union_all(list(_runs(some)))
        for turn in (-360.0, 0.0, 360.0):
            there = shapely.affinity.translate(here, turn).intersection(circle)
            if archive.known is not None:
                known = shapely.affinity.translate(archive.known, turn)
                there = there.intersection(known)
            covered.append(there)
            if archive.sea_unknown is not None:
                unsure.append(shapely.affinity.translate(archive.sea_unknown, turn))
    return shapely.union_all(covered), shapely.union_all(unsure).intersection(circle)


def _runs(tiles: Sequence[TileId]) -> "list[BaseGeometry]":
    """Boxes of tiles, neighbours in a row joined; the tiles come row by row."""
    import shapely

    found = []
    for _, run in groupby(enumerate(tiles), key=lambda pair: (pair[1].y, pair[1].x - pair[0])):
        row = [tile for _, tile in run]
        west, east = row[0].box(), row[-1].box()
        found.append(shapely.box(west.west_deg, west.south_deg, east.east_deg, west.north_deg))
    return found
