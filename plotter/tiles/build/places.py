"""Longitude and latitude to places of the web-mercator world, whose side is 1, and back."""

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.grid import WEB_MERCATOR_MAX_LAT_DEG

__all__ = ["placed", "to_lon_lat", "to_world"]


def to_world(lon_lat: FloatArray) -> FloatArray:
    """Longitude and latitude, (n, 2), to units of the web-mercator world's side."""
    lat = np.clip(lon_lat[:, 1], -WEB_MERCATOR_MAX_LAT_DEG, WEB_MERCATOR_MAX_LAT_DEG)
    y = 0.5 - np.arcsinh(np.tan(np.radians(lat))) / (2.0 * np.pi)
    return np.column_stack((lon_lat[:, 0] / 360.0 + 0.5, y))


def to_lon_lat(world: FloatArray) -> FloatArray:
    """Back from units of the world's side, (n, 2)."""
    lat = np.degrees(np.arctan(np.sinh(np.pi * (1.0 - 2.0 * world[:, 1]))))
    return np.column_stack(((world[:, 0] - 0.5) * 360.0, lat))


def placed(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Shapes in longitude and latitude put in their places of the world."""
    there: NDArray[np.object_] = shapely.transform(shapes, lambda xy: to_world(as_float(xy)))
    return there
