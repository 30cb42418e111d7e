"""Map archives made from layers: read the features of an area, draw them, write the tiles."""

from plotter.tiles.build.archive import Estimate, Progress, build_archive, estimate_archive
from plotter.tiles.build.layers import MapFeatures, read_layers

__all__ = [
    "Estimate",
    "MapFeatures",
    "Progress",
    "build_archive",
    "estimate_archive",
    "read_layers",
]
