"""Map archives made from layers: read the features of an area, draw them, write the tiles."""

from plotter.tiles.build.archive import (
    Built,
    Estimate,
    Progress,
    build_archive,
    estimate_archive,
)
from plotter.tiles.build.features import NO_FEATURES, MapFeatures, MapSource
from plotter.tiles.build.layers import is_extract, open_layers, read_layers
from plotter.tiles.build.rasters import Rasters, is_raster, read_rasters
from plotter.tiles.build.roads import road_lines, write_roads

__all__ = [
    "NO_FEATURES",
    "Built",
    "Estimate",
    "MapFeatures",
    "MapSource",
    "Progress",
    "Rasters",
    "build_archive",
    "estimate_archive",
    "is_extract",
    "is_raster",
    "open_layers",
    "read_layers",
    "read_rasters",
    "road_lines",
    "write_roads",
]
