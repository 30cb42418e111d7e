"""UTM in bulk: complete references with zone and band to columns."""

import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from plotter.formats.protocol import Texts
from plotter.formats.result import Squares
from plotter.formats.zones import BANDS
from plotter.geodesy.arrays import half_turn_deg
from plotter.geodesy.grid import (
    UTM_FALSE_EASTING_M,
    UTM_K0,
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_FALSE_NORTHING_M,
    UTM_SOUTH_LIMIT_DEG,
    zones_of,
)
from plotter.geodesy.transverse_mercator import TransverseMercator

__all__ = ["read_utm_array"]

# S is read only with its word: alone it may be the hemisphere.
_SHAPE: Final = re.compile(
    r"(\d{1,2}) ?([C-HJ-NP-RT-X]|S north) (\d{6}(?:\.\d{1,3})?) (\d{7}(?:\.\d{1,3})?)", re.ASCII
)


def read_utm_array(texts: Sequence[str] | Texts) -> Squares:
    """Squares of complete references, as the reader of single texts would have them.

    Parameters
    ----------
    texts : sequence of str, length n
        Such as ``31U 448251 5411932``.

    Returns
    -------
    Squares
        NaN, without a reason, in every row that the reader of single texts must decide.
    """
    lat, lon, size = (np.full(len(texts), np.nan) for _ in range(3))
    rows: list[int] = []
    fields: list[tuple[float, float, float, float, float]] = []
    for row, text in enumerate(texts):
        match = _SHAPE.fullmatch(text)
        if match is None:
            continue
        zone, band, easting, northing = match.groups()
        decimals = min(len(easting.partition(".")[2]), len(northing.partition(".")[2]))
        rows.append(row)
        fields.append(
            (float(zone), BANDS.index(band[0]), float(easting), float(northing), 10.0**-decimals)
        )
    if not rows:
        return Squares(lat, lon, size)
    zone_of, band_at, east, north, unit = np.array(fields).T
    south = band_at < BANDS.index("N")
    half = unit / 2.0
    # All zones are one projection turned about the axis.
    grid = TransverseMercator(0.0, UTM_K0, UTM_FALSE_EASTING_M, 0.0)
    y = north - np.where(south, UTM_SOUTH_FALSE_NORTHING_M, 0.0)
    sound = (zone_of >= 1) & (zone_of <= 60) & (east >= 100_000.0) & (east < 900_000.0)
    sound &= np.abs(y) < UTM_SOUTH_FALSE_NORTHING_M
    found_lat, turn = grid.inverse(
        np.where(sound, east, 5e5) + half, np.where(sound, y, 0.0) + half
    )
    found_lon = half_turn_deg(turn + 6.0 * zone_of - 183.0)
    sound &= (found_lat >= UTM_SOUTH_LIMIT_DEG) & (found_lat < UTM_NORTH_LIMIT_DEG)
    bands = np.minimum((found_lat + 80.0) // 8.0, len(BANDS) - 1)
    sound &= (bands == band_at) & ((found_lat < 0) == south)
    sound &= zones_of(found_lat, found_lon) == zone_of
    at = np.array(rows)[sound]
    lat[at], lon[at], size[at] = found_lat[sound], found_lon[sound], unit[sound]
    return Squares(lat, lon, size)
