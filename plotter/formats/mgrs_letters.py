"""The lettering of MGRS and USNG: 100 km columns and rows in each zone, and at the poles.

Source: NGA.STND.0037 (2014) and DMA TM 8358.1 (1990), chapter 3, the WGS 84 lettering scheme.
"""

from functools import cache
from typing import Final

import numpy as np

from plotter.formats.zones import BANDS, band_south_deg
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.grid import UTM_NORTH_LIMIT_DEG, utm_from_latlon

__all__ = [
    "COLUMN_SETS",
    "POLAR_COLUMNS",
    "POLAR_FIRST_ROW_M",
    "POLAR_ROWS",
    "ROWS",
    "ROW_CYCLE_M",
    "SQUARE_M",
    "band_first_northing_m",
    "first_row",
]

SQUARE_M: Final = 100_000.0
ROW_CYCLE_M: Final = 2_000_000.0
# Eight columns a zone, eastings 100 km to 900 km, three sets in turn.
COLUMN_SETS: Final = ("ABCDEFGH", "JKLMNPQR", "STUVWXYZ")
# Twenty rows, beginning at A in odd and at F in even zones.
ROWS: Final = "ABCDEFGHJKLMNPQRSTUV"
# Polar zones: columns from 800 km (A, Y, west) and from 2 000 km (B, Z, east).
POLAR_COLUMNS: Final = {
    "A": (800_000.0, "JKLPQRSTUXYZ"),
    "B": (2_000_000.0, "ABCFGHJKLPQR"),
    "Y": (1_300_000.0, "RSTUXYZ"),
    "Z": (2_000_000.0, "ABCFGHJ"),
}
POLAR_ROWS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
POLAR_FIRST_ROW_M: Final = {"A": 800_000.0, "B": 800_000.0, "Y": 1_300_000.0, "Z": 1_300_000.0}


def first_row(zone: int) -> int:
    """Index in `ROWS` of the row that starts at northing 0 (and at every 2 000 km)."""
    return 0 if zone % 2 else 5


@cache
def band_first_northing_m() -> FloatArray:
    """Northing (own false northing) of the lowest 100 km row that reaches into each band, (20,)."""
    corners = []
    for band in BANDS:
        south = band_south_deg(band)
        # North of the equator a parallel is lowest on the central meridian, south of it at the
        # zone's edge; the widest zone is Svalbard's, 9 degrees off.
        offsets = np.array([0.0, 3.0, 6.0 if band == "V" else 9.0 if band == "X" else 3.0])
        _, northing = utm_from_latlon(
            np.full(3, min(south, UTM_NORTH_LIMIT_DEG)), offsets + 3.0, 31
        )
        corners.append(np.floor(northing.min() / SQUARE_M) * SQUARE_M)
    return np.array(corners)
