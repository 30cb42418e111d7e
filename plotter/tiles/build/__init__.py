"""Map archives made from layers: read the features of an area, draw them, write the tiles."""

from plotter.tiles.build.archive import Estimate, Progress, build_archive, estimate_archive
from plotter.tiles.build.layers import NO_FEATURES, MapFeatures, read_layers
from plotter.tiles.build.rasters import Rasters, is_raster, read_rasters

__all__ = [
    "NO_FEATURES",
    "Estimate",
    "MapFeatures",
    "Progress",
    "Rasters",
    "build_archive",
    "estimate_archive",
    "is_raster",
    "read_layers",
    "read_rasters",
]
