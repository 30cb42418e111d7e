"""Locators in bulk: texts of 6, 8 or 10 characters to columns."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from plotter.formats.protocol import Texts
from plotter.formats.result import Squares
from plotter.formats.squares import metres_per_degree_arrays

__all__ = ["read_maidenhead_array"]

_BASES: Final = (18, 10, 24, 10, 24)
_LONGEST: Final = 10


def read_maidenhead_array(texts: Sequence[str] | Texts) -> Squares:
    """Cells of locators in one run, as the reader of single texts would have them.

    Parameters
    ----------
    texts : sequence of str, length n
        Such as ``JN58td25``; the field in capitals, so that the text is nothing else.

    Returns
    -------
    Squares
        NaN, without a reason, in every row that the reader of single texts must decide.
    """
    wide = np.array(texts, dtype=f"U{_LONGEST + 2}")  # one more shows a longer text
    codes = np.ascontiguousarray(wide.view(np.uint32).reshape(wide.size, _LONGEST + 2).T)
    length = (codes != 0).sum(axis=0)
    upper = np.where((codes >= ord("a")) & (codes <= ord("z")), codes - 32, codes)
    ok = np.isin(length, (6, 8, 10))
    lon_cell = np.zeros(wide.size, dtype=np.int64)
    lat_cell, cells = lon_cell.copy(), np.ones(wide.size, dtype=np.int64)
    for level, base in enumerate(_BASES):
        here = length > 2 * level
        first = ord("A") if base != 10 else ord("0")
        digits = [upper[2 * level + i].astype(np.int64) - first for i in (0, 1)]
        for digit in digits:
            ok &= ~here | ((digit >= 0) & (digit < base))
        lon_cell = np.where(here, lon_cell * base + digits[0], lon_cell)
        lat_cell = np.where(here, lat_cell * base + digits[1], lat_cell)
        cells = np.where(here, cells * base, cells)
    # Small letters in the field: it may be a geohash.
    ok &= (codes[0] < ord("a")) & (codes[1] < ord("a"))
    # One division of whole numbers each: the nearest float to the exact middle.
    lat = (90 * (2 * lat_cell + 1) - 90 * cells) / cells
    lon = (180 * (2 * lon_cell + 1) - 180 * cells) / cells
    north, east = metres_per_degree_arrays(lat)
    size = np.maximum(180.0 / cells * north, 360.0 / cells * east)
    nothing = np.full(wide.size, np.nan)
    lat, lon, size = (np.where(ok, value, nothing) for value in (lat, lon, size))
    return Squares(lat, lon, size)
