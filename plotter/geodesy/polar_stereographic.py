"""The polar stereographic projection: the arithmetic under UPS."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from plotter.geodesy.arrays import FloatArray, as_float, half_turn_deg
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.latitude_series import geographic_from_conformal, sine_series

__all__ = ["PolarStereographic"]

_DEG = math.pi / 180.0


@dataclass(frozen=True, slots=True)
class PolarStereographic:
    """One polar grid about either pole.

    Parameters
    ----------
    south : bool
        True for the south pole.
    k0 : float
        Scale at the pole.
    false_easting_m, false_northing_m : float
        Coordinates of the pole.
    ellipsoid : Ellipsoid
        WGS 84 unless given.

    Source
    ------
    DMA TM 8358.2, The Universal Grids (1989), chapter 3; the closed form of the conformal latitude
    is Karney 2011, eqs. 7–9.
    """

    south: bool
    k0: float
    false_easting_m: float
    false_northing_m: float
    ellipsoid: Ellipsoid = WGS84

    def _radius_m(self) -> float:
        e = math.sqrt(self.ellipsoid.e2)
        return (
            2.0 * self.k0 * self.ellipsoid.a_m / math.sqrt((1 + e) ** (1 + e) * (1 - e) ** (1 - e))
        )

    def forward(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing in metres of many places; shapes broadcast."""
        t, lam, sign = self._polar_t(as_float(lat_deg)), as_float(lon_deg) * _DEG, self._sign()
        rho = self._radius_m() * t
        return (
            self.false_easting_m + rho * np.sin(lam),
            self.false_northing_m - sign * rho * np.cos(lam),
        )

    def inverse(self, easting_m: ArrayLike, northing_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude ([−180, 180)) of many grid coordinates; shapes broadcast."""
        x = as_float(easting_m) - self.false_easting_m
        y = self._sign() * (self.false_northing_m - as_float(northing_m))
        chi = np.pi / 2 - 2.0 * np.arctan(np.hypot(x, y) / self._radius_m())
        coefficients = geographic_from_conformal(self.ellipsoid)
        lat = self._sign() * (chi + sine_series(coefficients, np.sin(chi), np.cos(chi))) / _DEG
        lon = half_turn_deg(np.arctan2(x, y) / _DEG)
        return lat, lon

    def convergence_and_scale(
        self, lat_deg: ArrayLike, lon_deg: ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Grid convergence (grid north, clockwise from true north, degrees) and point scale."""
        lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
        phi = lat * _DEG
        sin, cos = np.sin(phi), np.cos(phi)
        k_pole = self.k0
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = (
                self._radius_m()
                * self._polar_t(lat)
                * np.sqrt(1 - self.ellipsoid.e2 * sin * sin)
                / (self.ellipsoid.a_m * cos)
            )
        scale = np.where(np.abs(lat) > 89.9999999, k_pole, scale)
        convergence = half_turn_deg(self._sign() * lon)
        return convergence, scale

    def _sign(self) -> float:
        return -1.0 if self.south else 1.0

    def _polar_t(self, lat_deg: FloatArray) -> FloatArray:
        """Tangent of half the conformal distance from the pole; exact at the pole itself."""
        phi = self._sign() * lat_deg * _DEG
        cos = np.where(np.abs(lat_deg) == 90.0, 0.0, np.cos(phi))
        sin = np.sin(phi)
        e = math.sqrt(self.ellipsoid.e2)
        # With τ = tan φ: σ = sinh(e atanh(e sin φ)), τ' = τ√(1+σ²) − σ√(1+τ²), t = √(1+τ'²) − τ'.
        # Multiplied through by cos φ so that nothing is infinite at the pole.
        sigma = np.sinh(e * np.arctanh(e * sin))
        scaled = sin * np.hypot(1.0, sigma) - sigma
        with np.errstate(invalid="ignore"):  # the opposite pole is infinitely far: NaN
            return as_float(cos / (np.hypot(cos, scaled) + scaled))
