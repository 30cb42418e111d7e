"""What a map was made of, as one hash: a build goes on only into a map of the same."""

import hashlib
import json
from typing import Final

import shapely

from plotter.geodesy.position import Area
from plotter.tiles.build.features import MapSource
from plotter.tiles.build.index import hash_of
from plotter.tiles.build.rasters import Rasters
from plotter.tiles.build.style import AREA_NAMES, LABELS, STYLES

__all__ = ["made_of"]

_DRAWING: Final = 1  # raised when the same style is drawn in another way


def made_of(source: MapSource, under: Rasters, area: Area) -> str:
    """Hash of the features, rasters, area and style of a map, in hexadecimal.

    Two builds with the same hash draw the same tiles, byte for byte, with the same libraries.
    """
    found = hashlib.blake2b(digest_size=16)
    held = source.held
    for wkb in shapely.to_wkb(held.geometries):
        found.update(wkb)
    files = [scan.path for scan in under.scans] + [model.path for model in under.elevations]
    told = [
        _DRAWING,
        held.kinds,
        held.names,
        held.numbers,
        source.reading.hashes,
        [hash_of(path) for path in files],
        [area.centre.lat_deg, area.centre.lon_deg, area.radius_m],
        repr((STYLES, LABELS, AREA_NAMES)),
    ]
    found.update(json.dumps(told).encode())
    return found.hexdigest()
