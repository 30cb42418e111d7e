"""The transverse Mercator projection by Krüger's series: the arithmetic under UTM."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import factorial
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from plotter.geodesy.arrays import FloatArray, as_float, half_turn_deg
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.latitude_series import (
    conformal_from_geographic,
    geographic_from_conformal,
    horner,
    kruger_forward,
    kruger_inverse,
    powers_of_cosine,
    rectifying_radius_m,
    sine_series,
)

__all__ = ["TransverseMercator", "plane_from_sphere", "sphere_from_plane"]

_DEG = np.pi / 180.0


def plane_from_sphere(
    lat_deg: FloatArray, east_deg: FloatArray, ellipsoid: Ellipsoid
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Project with unit scale, and give convergence and scale on the way.

    Parameters
    ----------
    lat_deg : ndarray
        Latitude.
    east_deg : ndarray
        Longitude east of the central meridian, same shape.
    ellipsoid : Ellipsoid
        The ellipsoid.

    Returns
    -------
    x_m, y_m, sin_conformal, sin_east_times_cos : ndarray
        Easting from the central meridian and northing from the equator at scale 1.
    """
    phi = lat_deg * _DEG
    sin_phi, cos_phi = np.sin(phi), np.cos(phi)
    # χ − φ is below 0.0034, so its sine and cosine need few terms (error 1e-17).
    delta = sine_series(conformal_from_geographic(ellipsoid), sin_phi, cos_phi)
    d2 = delta * delta
    sin_d = delta * (1.0 - d2 * (1 / 6 - d2 / 120))
    cos_d = 1.0 - d2 * (0.5 - d2 / 24)
    sin_chi = sin_phi * cos_d + cos_phi * sin_d
    cos_chi = cos_phi * cos_d - sin_phi * sin_d
    lam = east_deg * _DEG
    functions = _NEAR if float(np.abs(lam).max(initial=0.0)) <= _NEAR_RAD else _ANYWHERE
    sin_lam, one_minus_cos_lam = functions.sine(lam), functions.one_minus_cosine(lam)
    t = cos_chi * sin_lam
    short = cos_chi * one_minus_cos_lam
    p = cos_chi - short
    # sin² χ + cos² χ cos² λ = 1 − t²: one denominator serves the circle and the hyperbola.
    t2 = t * t
    scale = 1.0 / (1.0 - t2)
    xi, eta = _complex_series(
        kruger_forward(ellipsoid),
        2.0 * sin_chi * p * scale,
        (p * p - sin_chi * sin_chi) * scale,
        2.0 * t * scale,
        (1.0 + t2) * scale,
    )
    # ξ' − χ is small and known by its tangent: better than ξ' by two of its own.
    xi += functions.arctangent(sin_chi * short, 1.0 - cos_chi * short)
    xi += phi
    xi += delta
    eta += functions.area_tangent(t)
    radius = rectifying_radius_m(ellipsoid)
    return radius * eta, radius * xi, sin_chi, t


class _Functions(NamedTuple):
    """What the forward projection needs of the longitude east of the meridian."""

    sine: Callable[[FloatArray], FloatArray]
    one_minus_cosine: Callable[[FloatArray], FloatArray]
    arctangent: Callable[[FloatArray, FloatArray], FloatArray]
    area_tangent: Callable[[FloatArray], FloatArray]


_ANYWHERE: Final = _Functions(
    np.sin, lambda lam: 2.0 * np.sin(0.5 * lam) ** 2, np.arctan2, np.arctanh
)
# Within a UTM zone, the wide ones of Norway and Svalbard too, a few terms leave less than 1e-17,
# in half the time: |λ| ≤ 6.01°, and |t| ≤ 0.105, as it is at most sin λ.
_NEAR_RAD: Final = 6.01 * _DEG
_SINE: Final = tuple((-1.0) ** k / factorial(2 * k + 1) for k in range(6))
_ONE_MINUS_COSINE: Final = tuple(-((-1.0) ** k) / factorial(2 * k) for k in range(1, 7))
_ARCTANGENT: Final = tuple((-1.0) ** k / (2 * k + 1) for k in range(4))
_AREA_TANGENT: Final = tuple(1.0 / (2 * k + 1) for k in range(8))


def _odd(coefficients: tuple[float, ...], x: FloatArray) -> FloatArray:
    return x * horner(coefficients, x * x)


def _one_minus_cosine(lam: FloatArray) -> FloatArray:
    square = lam * lam
    return square * horner(_ONE_MINUS_COSINE, square)


_NEAR: Final = _Functions(
    lambda lam: _odd(_SINE, lam),
    _one_minus_cosine,
    lambda up, along: _odd(_ARCTANGENT, up / along),
    lambda t: _odd(_AREA_TANGENT, t),
)


def sphere_from_plane(
    x_m: FloatArray, y_m: FloatArray, ellipsoid: Ellipsoid
) -> tuple[FloatArray, FloatArray]:
    """Undo `plane_from_sphere`.

    Returns
    -------
    lat_deg, east_deg : ndarray
        Latitude, and longitude east of the central meridian.
    """
    radius = rectifying_radius_m(ellipsoid)
    xi, eta = y_m / radius, x_m / radius
    sin_xi, cos_xi = np.sin(xi), np.cos(xi)
    e2 = np.exp(2.0 * eta)
    sinh2, cosh2 = (e2 - 1.0 / e2) * 0.5, (e2 + 1.0 / e2) * 0.5
    d_xi, d_eta = _complex_series(
        kruger_inverse(ellipsoid),
        2.0 * sin_xi * cos_xi,
        1.0 - 2.0 * sin_xi * sin_xi,
        sinh2,
        cosh2,
    )
    eta = eta - d_eta
    sinh = np.sinh(eta)
    xi = xi - d_xi
    sin_xi, cos_xi = np.sin(xi), np.cos(xi)
    r = np.sqrt(1.0 + sinh * sinh)
    sin_chi = sin_xi / r
    cos_chi = np.sqrt(cos_xi * cos_xi + sinh * sinh) / r
    delta = sine_series(geographic_from_conformal(ellipsoid), sin_chi, cos_chi)
    # atan2 keeps its precision near the pole, where an arcsine would not.
    return (
        (np.arctan2(sin_chi, cos_chi) + delta) / _DEG,
        np.arctan2(sinh, cos_xi) / _DEG,
    )


def _complex_series(
    coefficients: tuple[float, ...],
    sin2: FloatArray,
    cos2: FloatArray,
    sinh2: FloatArray,
    cosh2: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Sum c_j sin 2j(ξ + iη), real and imaginary part, as sin 2ζ times a polynomial in cos 2ζ.

    Source
    ------
    D. E. Knuth, The Art of Computer Programming, vol. 2, 4.6.4 (3): a polynomial with real
    coefficients at a complex place z by real numbers only, dividing by x² − 2 Re(z) x + |z|².
    """
    *powers, second, first = powers_of_cosine(coefficients)
    re, im = cos2 * cosh2, sin2 * sinh2
    im *= -1.0
    twice = 2.0 * re
    square = cos2 * cos2 + sinh2 * sinh2  # |cos 2ζ|²
    later, this = np.full_like(re, first), first * twice + second
    part = np.empty_like(re)
    for c in reversed(powers[1:]):
        later *= -square
        later += c
        later += np.multiply(twice, this, out=part)
        this, later = later, this
    re *= this
    re -= np.multiply(square, later, out=part)
    re += powers[0]
    im *= this
    sine_re, sine_im = sin2 * cosh2, cos2 * sinh2
    return sine_re * re - sine_im * im, sine_re * im + sine_im * re


@cache
def _origin_y_m(lat0_deg: float, ellipsoid: Ellipsoid) -> float:
    """Meridian length from the equator to a grid's origin, metres."""
    _, y, _, _ = plane_from_sphere(as_float([lat0_deg]), as_float([0.0]), ellipsoid)
    return float(y[0])


@dataclass(frozen=True, slots=True)
class TransverseMercator:
    """One transverse Mercator grid by its defining parameters.

    Parameters
    ----------
    lon0_deg : float
        Central meridian.
    k0 : float
        Scale on it.
    false_easting_m, false_northing_m : float
        Coordinates of the origin.
    lat0_deg : float
        Latitude of the origin.
    ellipsoid : Ellipsoid
        WGS 84 unless given.

    Accuracy
    --------
    10 nm within 10 degrees of the central meridian, 0.2 µm within 35 (against PROJ); beyond 80
    degrees `forward` gives NaN.
    """

    lon0_deg: float
    k0: float
    false_easting_m: float
    false_northing_m: float
    lat0_deg: float = 0.0
    ellipsoid: Ellipsoid = WGS84

    def forward(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing in metres of many places; shapes broadcast."""
        lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
        east = self._east(lon)
        x, y, _, _ = plane_from_sphere(lat, east, self.ellipsoid)
        return (
            self.false_easting_m + self.k0 * x,
            self.false_northing_m + self.k0 * (y - _origin_y_m(self.lat0_deg, self.ellipsoid)),
        )

    def inverse(self, easting_m: ArrayLike, northing_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude ([−180, 180)) of many grid coordinates; shapes broadcast."""
        x = (as_float(easting_m) - self.false_easting_m) / self.k0
        y = (as_float(northing_m) - self.false_northing_m) / self.k0 + _origin_y_m(
            self.lat0_deg, self.ellipsoid
        )
        x, y = np.broadcast_arrays(x, y)
        lat, east = sphere_from_plane(x, y, self.ellipsoid)
        return lat, half_turn_deg(east + self.lon0_deg)

    def convergence_and_scale(
        self, lat_deg: ArrayLike, lon_deg: ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Grid convergence (grid north, clockwise from true north, degrees) and point scale.

        The sign is that of PROJ and of NGA manuals: bearing_grid = bearing_true − convergence.
        """
        lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
        lam = self._east(lon) * _DEG
        _, _, sin_chi, t = plane_from_sphere(lat, self._east(lon), self.ellipsoid)
        e2 = self.ellipsoid.e2
        phi = lat * _DEG
        xi = np.arctan2(sin_chi, np.sqrt(np.maximum(1.0 - sin_chi**2, 0.0)) * np.cos(lam))
        eta = np.arctanh(t)
        p, q = np.ones_like(xi), np.zeros_like(xi)
        for j, alpha in enumerate(kruger_forward(self.ellipsoid), start=1):
            p = p + 2 * j * alpha * np.cos(2 * j * xi) * np.cosh(2 * j * eta)
            q = q + 2 * j * alpha * np.sin(2 * j * xi) * np.sinh(2 * j * eta)
        convergence = np.arctan2(sin_chi * np.sin(lam), np.cos(lam)) + np.arctan2(q, p)
        # Karney 2011 eq. 25: scale of the spherical part times that of the series. cos φ over
        # cos χ is finite at the pole, where both vanish; take its limit from the series there.
        cos_chi = np.sqrt(np.maximum(1.0 - sin_chi**2, 1e-300))
        ratio = np.where(np.abs(lat) < 89.9999, np.cos(phi) / cos_chi, _pole_ratio(self.ellipsoid))
        sphere = np.sqrt(1.0 - e2 * np.sin(phi) ** 2) / (ratio * np.sqrt(1.0 - t * t))
        radius = rectifying_radius_m(self.ellipsoid) / self.ellipsoid.a_m
        scale = self.k0 * radius * sphere * np.hypot(p, q)
        return convergence / _DEG, scale

    def _east(self, lon_deg: FloatArray) -> FloatArray:
        east = half_turn_deg(lon_deg - self.lon0_deg)
        return np.where(np.abs(east) <= 80.0, east, np.nan)


def _pole_ratio(ellipsoid: Ellipsoid) -> float:
    """Limit of cos φ / cos χ at the pole."""
    # cos χ / cos φ → dχ/dφ at 90° = 1 + Σ 2j c_j cos(jπ·2/1) with cos 2jφ = (−1)^j.
    slope = 1.0 + sum(
        2 * j * c * (-1.0) ** j for j, c in enumerate(conformal_from_geographic(ellipsoid), start=1)
    )
    return 1.0 / slope
