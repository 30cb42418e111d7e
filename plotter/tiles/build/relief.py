"""Hill shading and contours of a block from its heights."""

from typing import Final

import numpy as np
import shapely

from plotter.geodesy.arrays import FloatArray
from plotter.tiles.build.features import MapFeatures
from plotter.tiles.build.rasters import Window
from plotter.tiles.grid import WEB_MERCATOR_RADIUS_M

__all__ = ["contour_interval_m", "contours", "shading"]

# Pale, so that dark lines and letters stay legible over the steepest slope: at most 30 % darker.
_PALEST: Final = 0.70
_SUN_HEIGHT_DEG: Final = 45.0
_EVERY: Final = 5


def contour_interval_m(zoom: int) -> float:
    """Height from one contour to the next at a level; every fifth is an index contour.

    Examples
    --------
    >>> [contour_interval_m(zoom) for zoom in (11, 12, 14, 15)]
    [100.0, 50.0, 20.0, 10.0]
    """
    return 100.0 if zoom <= 11 else 50.0 if zoom == 12 else 20.0 if zoom <= 14 else 10.0


def shading(heights_m: FloatArray, window: Window) -> FloatArray:
    """Brightness of the ground with light from the north-west.

    Parameters
    ----------
    heights_m : ndarray of float64, shape (n, n)
        Heights of the window's cells, rows from the north; NaN where unknown.
    window : Window
        Where they lie.

    Returns
    -------
    ndarray of float64, shape (n, n)
        0.7 on a slope in full shade to 1 on one that faces the light; where unknown as on level
        ground, so that a model's edge does not show.

    Source
    ------
    Lambert's cosine law; light from the north-west at 45 degrees is common practice, no source.
    """
    count = len(heights_m)
    rows = window.top + (np.arange(count) + 0.5) * window.pixels / count
    y = np.pi * (1.0 - 2.0 * rows / (256 << window.zoom))
    # Mercator draws the ground larger by 1/cos(latitude), which is cosh(y).
    equator_m = 2.0 * np.pi * WEB_MERCATOR_RADIUS_M / (256 << window.zoom)
    cell_m = (equator_m * window.pixels / count / np.cosh(y))[:, None]
    to_south, to_east = np.gradient(heights_m)
    east, north = to_east / cell_m, -to_south / cell_m
    up = np.sin(np.radians(_SUN_HEIGHT_DEG))
    along = np.cos(np.radians(_SUN_HEIGHT_DEG)) / np.sqrt(2.0)
    # The normal is (−east, −north, 1); the light comes from (−along, +along, up).
    lit = (up + east * along - north * along) / np.sqrt(1.0 + east**2 + north**2)
    bright = _PALEST + (1.0 - _PALEST) * np.clip(lit, 0.0, 1.0)
    level = _PALEST + (1.0 - _PALEST) * float(up)
    return np.where(np.isnan(bright), level, bright)


def contours(heights_m: FloatArray, window: Window) -> MapFeatures:
    """Lines of equal height, as features.

    Parameters
    ----------
    heights_m : ndarray of float64, shape (n, n)
        Heights of the window's cells, rows from the north; NaN where unknown.
    window : Window
        Where they lie.

    Returns
    -------
    MapFeatures
        Kinds ``contour`` and ``index contour``; the latter are named by their height in metres.
    """
    from contourpy import LineType, contour_generator  # loaded late: only building needs it

    shapes: list[shapely.LineString] = []
    kinds: list[str] = []
    names: list[str] = []
    if not np.isnan(heights_m).all():
        interval = contour_interval_m(window.zoom)
        first = int(np.ceil(np.nanmin(heights_m) / interval))
        last = int(np.floor(np.nanmax(heights_m) / interval))
        count = len(heights_m)
        cell = window.pixels / count / (256 << window.zoom)
        corner = np.array([window.left, window.top]) / (256 << window.zoom)
        # Heights belong to the middles of cells, hence the half.
        lines_at = contour_generator(
            z=np.ma.masked_invalid(heights_m), line_type=LineType.Separate
        ).lines
        for number in range(first, last + 1):
            index = number % _EVERY == 0
            for line in lines_at(number * interval):
                shapes.append(shapely.LineString(corner + (np.asarray(line) + 0.5) * cell))
                kinds.append("index contour" if index else "contour")
                names.append(f"{number * interval:.0f}" if index else "")
    return MapFeatures(np.array(shapes, dtype=object), tuple(kinds), tuple(names), "")
