"""The ground as drawable values: points, paths and rings in degrees."""

from typing import TypeAlias

__all__ = ["LatLon", "Path", "Ring"]

# Latitude and longitude in degrees. Inside a scene longitudes are not wrapped: they run on past
# 180, so that what lies side by side on the ground lies side by side on the map.
LatLon: TypeAlias = tuple[float, float]
Path: TypeAlias = tuple[LatLon, ...]
Ring: TypeAlias = tuple[LatLon, ...]
