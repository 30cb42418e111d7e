"""Offline map archives and the world's land outline: what can be drawn under the reports."""

from plotter.tiles.archive import Archive, ZoomCoverage, image_type
from plotter.tiles.archives import ArchivesFound, RefusedArchive, archives_in, covering
from plotter.tiles.borders import BORDER_CREDIT, borders_in
from plotter.tiles.grid import (
    WEB_MERCATOR_MAX_LAT_DEG,
    WEB_MERCATOR_RADIUS_M,
    Box,
    TileId,
    tile_at,
    tiles_in,
)
from plotter.tiles.outline import LAND_CREDIT, LandPolygon, land_in
from plotter.tiles.reading import open_archive, read_tiles, tile_ids

__all__ = [
    "BORDER_CREDIT",
    "LAND_CREDIT",
    "WEB_MERCATOR_MAX_LAT_DEG",
    "WEB_MERCATOR_RADIUS_M",
    "Archive",
    "ArchivesFound",
    "Box",
    "LandPolygon",
    "RefusedArchive",
    "TileId",
    "ZoomCoverage",
    "archives_in",
    "borders_in",
    "covering",
    "image_type",
    "land_in",
    "open_archive",
    "read_tiles",
    "tile_at",
    "tile_ids",
    "tiles_in",
]
