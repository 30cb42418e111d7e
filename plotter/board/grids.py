"""Grid lines over an area: the UTM grid with its MGRS squares, and Maidenhead squares."""

import math
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Final

import numpy as np

from plotter.board.grid_values import GridLabel, GridLevel, GridLine
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import (
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_LIMIT_DEG,
    latlon_from_utm,
    utm_from_latlon,
    zones_of,
)
from plotter.geodesy.position import wrap_longitude_deg
from plotter.tiles.grid import Box

__all__ = ["maidenhead_grid", "maidenhead_levels", "maidenhead_name", "utm_grid", "utm_levels"]

_SPACINGS_M: Final = (100_000.0, 10_000.0, 1_000.0, 100.0)
# Steps of latitude of the three sizes of Maidenhead square; longitude steps are twice as long.
# IARU Region 1, VHF Managers Handbook: field 20° x 10°, square 2° x 1°, subsquare 5′ x 2.5′.
_MAIDENHEAD_STEPS_DEG: Final = (10.0, 1.0, 2.5 / 60.0)
_MOST_LINES: Final = 160
# Over a wider area the zones change so often that their lines are only a tangle.
_WIDEST_UTM_M: Final = 3_000_000.0
_MOST_LABELS: Final = 600
# Between points this far apart a grid line leaves the straight line by about a metre at 70
# degrees of latitude (chord squared, over eight radii, times the tangent of the latitude).
_POINT_EVERY_M: Final = 4_000.0
_MOST_POINTS: Final = 65
_EDGE_POINTS: Final = 17

# Names the MGRS square of 100 km that holds a place.
SquareName = Callable[[float, float], str]


def utm_levels(box: Box, square_name: SquareName | None = None) -> tuple[GridLevel, ...]:
    """Return the UTM grid of an area, at most three spacings, coarse to fine.

    Parameters
    ----------
    box : Box
        The area.
    square_name : callable or None
        From latitude and longitude to the name of the square of 100 km; no names without it.

    Returns
    -------
    tuple of GridLevel
        Those spacings that put at most 160 lines across the area's longer side; empty where the
        area holds no UTM ground or is wider than 3 000 km.
    """
    high_m, wide_m = _extent_m(box)
    longer_m = max(high_m, wide_m)
    if longer_m > _WIDEST_UTM_M:
        return ()
    chosen = [s for s in _SPACINGS_M if longer_m / s <= _MOST_LINES][-3:]
    levels = (utm_grid(box, spacing, square_name) for spacing in chosen)
    return tuple(level for level in levels if level.lines)


def utm_grid(box: Box, spacing_m: float, square_name: SquareName | None = None) -> GridLevel:
    """Return the UTM grid of an area at one spacing, zone by zone.

    Lines end at the edge of their zone, where the next zone's grid meets them at an angle.

    Parameters
    ----------
    box : Box
        The area; it may cross 180 degrees, zones and the equator.
    spacing_m : float
        Between lines, metres.
    square_name : callable or None
        As in `utm_levels`.

    Returns
    -------
    GridLevel
        Lines of equal easting and northing, labelled in kilometres, and zone edges.
    """
    lines: list[GridLine] = []
    labels: list[GridLabel] = []
    for zone, cell in _zone_cells(box):
        east, north = _utm_range(cell, zone)
        south = cell.north_deg <= 0.0
        eastings = _multiples(*east, spacing_m)
        northings = _multiples(*north, spacing_m)
        along_n, along_e = _along(*north), _along(*east)
        if cell.west_deg > box.west_deg:
            edge = ((cell.south_deg, cell.west_deg), (cell.north_deg, cell.west_deg))
            lines.append(GridLine(f"zone {zone}", edge, northing=False))
        paths = latlon_from_utm(eastings[:, None], along_n, zone, south=south)
        lines += _clipped(eastings, paths, cell, northing=False)
        paths = latlon_from_utm(along_e, northings[:, None], zone, south=south)
        lines += _clipped(northings, paths, cell, northing=True)
        if square_name is not None and spacing_m == _SPACINGS_M[0]:
            labels += _square_labels(cell, zone, (east, north), square_name)
    return GridLevel("utm", spacing_m, tuple(lines), tuple(labels[:_MOST_LABELS]))


def maidenhead_levels(box: Box) -> tuple[GridLevel, ...]:
    """Return the Maidenhead squares of an area, those sizes that are neither too many nor none."""
    high, wide = box.north_deg - box.south_deg, box.east_deg - box.west_deg
    return tuple(
        maidenhead_grid(box, step)
        for step in _MAIDENHEAD_STEPS_DEG
        if max(high / step, wide / (2 * step)) <= _MOST_LINES / 2
    )


def maidenhead_grid(box: Box, step_deg: float) -> GridLevel:
    """Return the Maidenhead squares of one size, each with its name.

    Parameters
    ----------
    box : Box
        The area.
    step_deg : float
        Height of a square in degrees; its width is twice that.

    Returns
    -------
    GridLevel
        Lines, and the name of each square at its middle.
    """
    lats = _multiples(box.south_deg, box.north_deg, step_deg)
    lons = _multiples(box.west_deg, box.east_deg, 2 * step_deg)
    lines = [
        GridLine("", ((float(lat), box.west_deg), (float(lat), box.east_deg)), northing=True)
        for lat in lats
    ] + [
        GridLine("", ((box.south_deg, float(lon)), (box.north_deg, float(lon))), northing=False)
        for lon in lons
    ]
    labels = []
    for row in range(math.floor(box.south_deg / step_deg), math.ceil(box.north_deg / step_deg)):
        for column in range(
            math.floor(box.west_deg / (2 * step_deg)), math.ceil(box.east_deg / (2 * step_deg))
        ):
            lat, lon = (row + 0.5) * step_deg, (column + 0.5) * 2 * step_deg
            if abs(lat) < 90.0:
                square = Box(lat - step_deg / 2, lon - step_deg, lat + step_deg / 2, lon + step_deg)
                labels.append(GridLabel(square, maidenhead_name(lat, lon, step_deg)))
    return GridLevel("maidenhead", step_deg, tuple(lines), tuple(labels[:_MOST_LABELS]))


def maidenhead_name(lat_deg: float, lon_deg: float, step_deg: float) -> str:
    """Name the Maidenhead square of one size that holds a place.

    Examples
    --------
    >>> maidenhead_name(48.146, 11.608, 2.5 / 60)
    'JN58td'
    """
    lon = wrap_longitude_deg(lon_deg) + 180.0
    lat = lat_deg + 90.0
    name = chr(65 + int(lon // 20)) + chr(65 + int(lat // 10))
    if step_deg < 10.0:
        name += f"{int(lon % 20 // 2)}{int(lat % 10)}"
    if step_deg < 1.0:
        name += chr(97 + int(lon % 2 * 12)) + chr(97 + int(lat % 1 * 24))
    return name


def _extent_m(box: Box) -> tuple[float, float]:
    middle = (box.south_deg + box.north_deg) / 2.0
    half = min((box.east_deg - box.west_deg) / 2.0, 90.0)
    distance, _, _ = inverse_arrays(
        [box.south_deg, middle], [0.0, 0.0], [box.north_deg, middle], [0.0, half]
    )
    return float(distance[0]), 2.0 * float(distance[1])


def _multiples(low: float, high: float, step: float) -> FloatArray:
    return as_float(np.arange(math.ceil(low / step), math.floor(high / step) + 1) * step)


def _along(low: float, high: float) -> FloatArray:
    points = min(max(math.ceil((high - low) / _POINT_EVERY_M) + 1, 3), _MOST_POINTS)
    return as_float(np.linspace(low, high, points))


def _zone_cells(box: Box) -> Iterator[tuple[int, Box]]:
    """Cut a box at every meridian and parallel where the zone may change."""
    south = max(box.south_deg, UTM_SOUTH_LIMIT_DEG)
    north = min(box.north_deg, UTM_NORTH_LIMIT_DEG)
    if south >= north:
        return
    # Norway's and Svalbard's exceptions change zones at 3, 9, 21, 33 degrees east and at 56, 64
    # and 72 north; the equator changes the false northing.
    lats = _cuts(south, north, (0.0, 56.0, 64.0, 72.0))
    meridians = [3.0 * step for step in range(-240, 241)]
    lons = _cuts(box.west_deg, box.east_deg, meridians)
    for low, high in pairwise(lats):
        middles = [(west + east) / 2.0 for west, east in pairwise(lons)]
        zones = zones_of((low + high) / 2.0, middles).tolist()
        start = 0
        for index in range(1, len(zones) + 1):
            if index == len(zones) or zones[index] != zones[start]:
                yield zones[start], Box(low, lons[start], high, lons[index])
                start = index


def _cuts(low: float, high: float, at: tuple[float, ...] | list[float]) -> list[float]:
    return [low, *(value for value in at if low < value < high), high]


def _utm_range(cell: Box, zone: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and greatest easting and northing on the edge of a cell."""
    lats = np.linspace(cell.south_deg, cell.north_deg, _EDGE_POINTS)
    lons = np.linspace(cell.west_deg, cell.east_deg, _EDGE_POINTS)
    same = np.ones(_EDGE_POINTS)
    edge_lat = np.concatenate([lats, lats, same * lats[0], same * lats[-1]])
    edge_lon = np.concatenate([same * lons[0], same * lons[-1], lons, lons])
    if cell.north_deg <= 0.0:
        # The equator itself counts as northern: keep this cell's own false northing.
        edge_lat = np.minimum(edge_lat, -1e-12)
    easting, northing = utm_from_latlon(edge_lat, edge_lon, zone)
    return (
        (float(easting.min()), float(easting.max())),
        (float(northing.min()), float(northing.max())),
    )


def _clipped(
    values_m: FloatArray, paths: tuple[FloatArray, FloatArray], cell: Box, *, northing: bool
) -> Iterator[GridLine]:
    import shapely

    lats, lons = paths
    lons = lons + 360.0 * np.round((_middle_deg(cell) - lons) / 360.0)
    whole = shapely.linestrings(np.stack([lons, lats], axis=-1))
    inside = shapely.clip_by_rect(
        whole, cell.west_deg, cell.south_deg, cell.east_deg, cell.north_deg
    )
    for value_m, shape in zip(values_m.tolist(), inside, strict=True):
        for part in shapely.get_parts(shape):
            points = shapely.get_coordinates(part)
            if len(points) >= 2:
                places = tuple((lat, lon) for lon, lat in points.tolist())
                yield GridLine(f"{value_m / 1000:g}", places, northing)


def _square_labels(
    cell: Box,
    zone: int,
    ranges: tuple[tuple[float, float], tuple[float, float]],
    square_name: SquareName,
) -> Iterator[GridLabel]:
    """Name each square of 100 km over the part of it that lies in the cell."""
    side = _SPACINGS_M[0]
    south = cell.north_deg <= 0.0
    (west, east), (low, high) = ranges
    for column in range(math.floor(west / side), math.ceil(east / side)):
        for row in range(math.floor(low / side), math.ceil(high / side)):
            easts = np.clip([column * side, (column + 1) * side], west, east)
            norths = np.clip([row * side, (row + 1) * side], low, high)
            lats, lons = latlon_from_utm(
                easts[[0, 1, 1, 0]], norths[[0, 0, 1, 1]], zone, south=south
            )
            lons = lons + 360.0 * np.round((_middle_deg(cell) - lons) / 360.0)
            inner = _inner_box(lats, lons, cell)
            if inner is not None:
                middle = ((inner.south_deg + inner.north_deg) / 2, _middle_deg(inner))
                yield GridLabel(inner, square_name(*middle))


def _inner_box(lats: FloatArray, lons: FloatArray, cell: Box) -> Box | None:
    """Return the box inside four corners (from the south-west, anticlockwise) and a cell."""
    south = max(float(lats[:2].max()), cell.south_deg)
    north = min(float(lats[2:].min()), cell.north_deg)
    west = max(float(lons[[0, 3]].max()), cell.west_deg)
    east = min(float(lons[[1, 2]].min()), cell.east_deg)
    return Box(south, west, north, east) if south < north and west < east else None


def _middle_deg(box: Box) -> float:
    return (box.west_deg + box.east_deg) / 2.0
