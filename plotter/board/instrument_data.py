"""The figures that the board's own scripts compute with, handed over so that they stand once."""

import datetime as dt

from plotter.formats.mgrs_letters import (
    COLUMN_SETS,
    POLAR_COLUMNS,
    POLAR_FIRST_ROW_M,
    POLAR_ROWS,
    ROWS,
    first_row,
)
from plotter.formats.zones import BANDS
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.grid import (
    TRUNCATION_NUDGE_M,
    UPS_NORTH,
    UTM_FALSE_EASTING_M,
    UTM_K0,
    UTM_SOUTH_FALSE_NORTHING_M,
)
from plotter.geodesy.latitude_series import (
    conformal_from_geographic,
    geographic_from_conformal,
    kruger_forward,
    kruger_inverse,
    rectifying_radius_m,
)
from plotter.geodesy.magnetic import gauss_coefficients

__all__ = ["instrument_data"]


def instrument_data(day: dt.date) -> dict[str, object]:
    """Series of the grids, letters of MGRS, and the magnetic model at a day, as JSON data."""
    g_nt, h_nt = gauss_coefficients(day)
    return {
        "krugerForward": kruger_forward(WGS84),
        "krugerInverse": kruger_inverse(WGS84),
        "conformal": conformal_from_geographic(WGS84),
        "geographic": geographic_from_conformal(WGS84),
        "rectifyingRadius": rectifying_radius_m(WGS84),
        "utm": {
            "k0": UTM_K0,
            "falseEasting": UTM_FALSE_EASTING_M,
            "southFalseNorthing": UTM_SOUTH_FALSE_NORTHING_M,
            "nudge": TRUNCATION_NUDGE_M,
        },
        "ups": {"k0": UPS_NORTH.k0, "falseEasting": UPS_NORTH.false_easting_m},
        "bands": BANDS,
        "columns": COLUMN_SETS,
        "rows": ROWS,
        "evenZonesFirstRow": first_row(2),
        "polarColumns": POLAR_COLUMNS,
        "polarRows": POLAR_ROWS,
        "polarFirstRow": POLAR_FIRST_ROW_M,
        "field": {"day": day.isoformat(), "g": g_nt.tolist(), "h": h_nt.tolist()},
    }
