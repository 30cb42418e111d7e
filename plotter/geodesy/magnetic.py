"""The Earth's magnetic field by the World Magnetic Model 2025: declination and how sure it is."""

import datetime as dt
import importlib.resources
import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.geodesy.arrays import FloatArray, broadcast_floats
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position

__all__ = [
    "Declination",
    "Field",
    "decimal_year",
    "declination",
    "field_arrays",
    "gauss_coefficients",
]

_EPOCH: Final = 2025.0
_VALID_UNTIL: Final = 2030.0
_DEGREE: Final = 12
_REFERENCE_RADIUS_M: Final = 6_371_200.0  # geomagnetic reference radius, WMM2025 technical report
_BLACKOUT_NT: Final = 2_000.0  # horizontal intensity below which a compass is not to be trusted
_CAUTION_NT: Final = 6_000.0
_HEIGHT_RANGE_M: Final = (-1_000.0, 850_000.0)


@dataclass(frozen=True, slots=True)
class Field:
    """Magnetic field at many places; every member has the common shape.

    Parameters
    ----------
    north_nt, east_nt, down_nt : ndarray
        Components in nanotesla along geodetic north, east and down.
    """

    north_nt: FloatArray
    east_nt: FloatArray
    down_nt: FloatArray

    @property
    def horizontal_nt(self) -> FloatArray:
        """Horizontal intensity in nanotesla."""
        return np.hypot(self.north_nt, self.east_nt)

    @property
    def declination_deg(self) -> FloatArray:
        """Magnetic north, clockwise from true north, (−180, 180]."""
        return np.degrees(np.arctan2(self.east_nt, self.north_nt))

    @property
    def inclination_deg(self) -> FloatArray:
        """Dip below the horizontal."""
        return np.degrees(np.arctan2(self.down_nt, self.horizontal_nt))

    @property
    def declination_sigma_deg(self) -> FloatArray:
        """One standard deviation of the declination by the model's own error budget.

        Source: WMM2025 technical report (NCEI, BGS 2024), sqrt(0.26² + (5417/H)²); the two figures
        as carried by the package wmm-calculator 1.4.4.
        """
        with np.errstate(divide="ignore"):
            return np.minimum(np.hypot(0.26, 5417.0 / self.horizontal_nt), 180.0)


@dataclass(frozen=True, slots=True)
class Declination:
    """Declination at one place and date.

    Parameters
    ----------
    declination_deg : float
        Magnetic north, clockwise (east) from true north.
    sigma_deg : float
        One standard deviation, local iron and magnetic storms not included.
    horizontal_nt : float
        Horizontal intensity.
    warnings : tuple of str
        Why it may not be trusted; empty where nothing speaks against it.
    """

    declination_deg: float
    sigma_deg: float
    horizontal_nt: float
    warnings: tuple[str, ...]


def decimal_year(date: dt.date) -> float:
    """Date as a decimal year, noon not counted.

    Examples
    --------
    >>> decimal_year(dt.date(2025, 7, 2))
    2025.4986301369863
    """
    start = dt.date(date.year, 1, 1)
    days = (dt.date(date.year + 1, 1, 1) - start).days if date.year < dt.MAXYEAR else 365
    return date.year + (date.toordinal() - start.toordinal()) / days


def declination(position: Position, date: dt.date, height_m: float = 0.0) -> Declination:
    """Declination at a place, date and height, with what speaks against trusting it.

    Parameters
    ----------
    position : Position
        The place.
    date : datetime.date
        The day (UTC).
    height_m : float
        Above the ellipsoid, −1 000 to 850 000.

    Returns
    -------
    Declination
        Outside 2025.0–2030.0 the model is still evaluated and the result carries a warning.

    Raises
    ------
    FormatError
        If the height is outside the model's range.

    Accuracy
    --------
    The model itself: about 0.26° in mid latitudes, worse near the magnetic poles; local iron,
    power lines and magnetic storms come on top.

    Source
    ------
    The US/UK World Magnetic Model for 2025–2030, NCEI and BGS (2024).
    """
    if not (math.isfinite(height_m) and _HEIGHT_RANGE_M[0] <= height_m <= _HEIGHT_RANGE_M[1]):
        raise FormatError(f"height must be between -1000 and 850000 m, got {height_m!r}")
    year = decimal_year(date)
    field = field_arrays([position.lat_deg], [position.lon_deg], year, height_m)
    horizontal = float(field.horizontal_nt[0])
    warnings: list[str] = []
    if not _EPOCH <= year < _VALID_UNTIL:
        warnings.append(
            f"The magnetic model covers 2025 to 2029, not {date.isoformat()}: the declination may "
            "be wrong by a degree or more. Get a newer model or use true bearings."
        )
    if horizontal < _BLACKOUT_NT:
        warnings.append(
            "Too close to the magnetic pole: a compass is not usable here. Ask for true bearings."
        )
    elif horizontal < _CAUTION_NT:
        warnings.append(
            "Near the magnetic pole: a compass is unreliable here. Prefer true bearings."
        )
    return Declination(
        float(field.declination_deg[0]),
        float(field.declination_sigma_deg[0]),
        horizontal,
        tuple(warnings),
    )


def field_arrays(
    lat_deg: ArrayLike, lon_deg: ArrayLike, year: ArrayLike, height_m: ArrayLike = 0.0
) -> Field:
    """Magnetic field at many places, decimal years and heights above the ellipsoid.

    Parameters
    ----------
    lat_deg, lon_deg, year, height_m : array_like
        Shapes broadcast.

    Returns
    -------
    Field
        Common shape.
    """
    lat, lon, when, height = broadcast_floats(lat_deg, lon_deg, year, height_m)
    phi, lam = np.radians(lat), np.radians(lon)
    # Geodetic to geocentric (technical report, eqs. 7 and 8).
    prime = WGS84.a_m / np.sqrt(1 - WGS84.e2 * np.sin(phi) ** 2)
    axis = (prime + height) * np.cos(phi)
    z = (prime * (1 - WGS84.e2) + height) * np.sin(phi)
    radius = np.hypot(axis, z)
    # At the pole itself sin θ = 0 divides the east component; a millimetre away it does not.
    sin_theta = np.maximum(axis / radius, 1e-10)
    cos_theta = z / radius
    outward, south, east = _spherical(sin_theta, cos_theta, lam, radius, when - _EPOCH)
    tilt = np.arctan2(z, axis) - phi
    return Field(
        -south * np.cos(tilt) - outward * -np.sin(tilt),
        east,
        -south * np.sin(tilt) - outward * np.cos(tilt),
    )


def gauss_coefficients(date: dt.date) -> tuple[FloatArray, FloatArray]:
    """Main field coefficients g and h at a day, (13, 13) each by degree and order, nanotesla."""
    g, h, g_rate, h_rate = _coefficients()
    years = decimal_year(date) - _EPOCH
    return g + years * g_rate, h + years * h_rate


def _spherical(
    sin: FloatArray, cos: FloatArray, lam: FloatArray, radius_m: FloatArray, years: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Field along outward, south and east at geocentric colatitude θ by Schmidt harmonics."""
    g, h, g_rate, h_rate = _coefficients()
    outward, south, east = np.zeros_like(sin), np.zeros_like(sin), np.zeros_like(sin)
    ratio = _REFERENCE_RADIUS_M / radius_m
    # Schmidt functions by order: S_mm up the diagonal, then S_nm up each column.
    diagonal = np.ones_like(sin)
    diagonal_slope = np.zeros_like(sin)
    for m in range(_DEGREE + 1):
        if m > 0:
            factor = 1.0 if m == 1 else math.sqrt((2 * m - 1) / (2 * m))
            diagonal_slope = factor * (cos * diagonal + sin * diagonal_slope)
            diagonal = factor * sin * diagonal
        cos_m, sin_m = np.cos(m * lam), np.sin(m * lam)
        before = slope_before = np.zeros_like(sin)
        value, slope = diagonal, diagonal_slope
        for n in range(m, _DEGREE + 1):
            if n > m:
                root = math.sqrt(n * n - m * m)
                last = math.sqrt((n - 1) ** 2 - m * m)
                value, before, slope, slope_before = (
                    ((2 * n - 1) * cos * value - last * before) / root,
                    value,
                    ((2 * n - 1) * (cos * slope - sin * value) - last * slope_before) / root,
                    slope,
                )
            if n == 0:
                continue
            gnm = g[n, m] + years * g_rate[n, m]
            hnm = h[n, m] + years * h_rate[n, m]
            in_phase = gnm * cos_m + hnm * sin_m
            power = ratio ** (n + 2)
            outward += (n + 1) * power * in_phase * value
            south -= power * in_phase * slope
            east += power * m * (gnm * sin_m - hnm * cos_m) * value / sin
    return outward, south, east


@cache
def _coefficients() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Read g, h and their yearly change, (13, 13) each, nanotesla, from the packed model file."""
    tables = tuple(np.zeros((_DEGREE + 1, _DEGREE + 1)) for _ in range(4))
    text = importlib.resources.files("plotter.geodesy").joinpath("data/WMM2025.COF").read_text()
    for line in text.splitlines()[1:]:
        fields = line.split()
        if len(fields) != 6:
            break
        n, m = int(fields[0]), int(fields[1])
        for table, figure in zip(tables, fields[2:], strict=True):
            table[n, m] = float(figure)
    g, h, g_rate, h_rate = tables
    return g, h, g_rate, h_rate
