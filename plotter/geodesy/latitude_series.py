"""Trigonometric series in the third flattening: conformal and rectifying latitude, Krüger terms.

Source: C. F. F. Karney, Transverse Mercator with an accuracy of a few nanometers, J. Geodesy 85
(2011) 475–485, eqs. 35 and 36, and On auxiliary latitudes, Survey Review 56 (2024) 165–180, for the
conformal and the rectifying latitude; all to order n⁶. Truncation is below 1e-15 for every
ellipsoid used here.
"""

from functools import cache

import numpy as np

from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.ellipsoid import Ellipsoid

__all__ = [
    "conformal_from_geographic",
    "geographic_from_conformal",
    "geographic_from_rectifying",
    "horner",
    "kruger_forward",
    "kruger_inverse",
    "powers_of_cosine",
    "rectifying_from_geographic",
    "rectifying_radius_m",
    "sine_series",
]

# Row j holds the coefficients of sin 2jx, from n**j upward.
_CONFORMAL = (
    (-2.0, 2 / 3, 4 / 3, -82 / 45, 32 / 45, 4642 / 4725),
    (5 / 3, -16 / 15, -13 / 9, 904 / 315, -1522 / 945),
    (-26 / 15, 34 / 21, 8 / 5, -12686 / 2835),
    (1237 / 630, -12 / 5, -24832 / 14175),
    (-734 / 315, 109598 / 31185),
    (444337 / 155925,),
)
_GEOGRAPHIC = (
    (2.0, -2 / 3, -2.0, 116 / 45, 26 / 45, -2854 / 675),
    (7 / 3, -8 / 5, -227 / 45, 2704 / 315, 2323 / 945),
    (56 / 15, -136 / 35, -1262 / 105, 73814 / 2835),
    (4279 / 630, -332 / 35, -399572 / 14175),
    (4174 / 315, -144838 / 6237),
    (601676 / 22275,),
)
_KRUGER_FORWARD = (
    (1 / 2, -2 / 3, 5 / 16, 41 / 180, -127 / 288, 7891 / 37800),
    (13 / 48, -3 / 5, 557 / 1440, 281 / 630, -1983433 / 1935360),
    (61 / 240, -103 / 140, 15061 / 26880, 167603 / 181440),
    (49561 / 161280, -179 / 168, 6601661 / 7257600),
    (34729 / 80640, -3418889 / 1995840),
    (212378941 / 319334400,),
)
_KRUGER_INVERSE = (
    (1 / 2, -2 / 3, 37 / 96, -1 / 360, -81 / 512, 96199 / 604800),
    (1 / 48, 1 / 15, -437 / 1440, 46 / 105, -1118711 / 3870720),
    (17 / 480, -37 / 840, -209 / 4480, 5569 / 90720),
    (4397 / 161280, -11 / 504, -830251 / 7257600),
    (4583 / 161280, -108847 / 3991680),
    (20648693 / 638668800,),
)

_RECTIFYING = (
    (-3 / 2, 0.0, 9 / 16, 0.0, -3 / 32, 0.0),
    (15 / 16, 0.0, -15 / 32, 0.0, 135 / 2048),
    (-35 / 48, 0.0, 105 / 256, 0.0),
    (315 / 512, 0.0, -189 / 512),
    (-693 / 1280, 0.0),
    (1001 / 2048,),
)
_GEOGRAPHIC_FROM_RECTIFYING = (
    (3 / 2, 0.0, -27 / 32, 0.0, 269 / 512, 0.0),
    (21 / 16, 0.0, -55 / 32, 0.0, 6759 / 4096),
    (151 / 96, 0.0, -417 / 128, 0.0),
    (1097 / 512, 0.0, -15543 / 2560),
    (8011 / 2560, 0.0),
    (293393 / 61440,),
)

# Half a nanometre on the Earth: a term below this costs time and changes nothing.
_NEGLIGIBLE = 1e-16

_Table = tuple[tuple[float, ...], ...]


@cache
def _coefficients(table: _Table, ellipsoid: Ellipsoid) -> tuple[float, ...]:
    n = ellipsoid.n
    values = [
        sum(c * n ** (j + k) for k, c in enumerate(row)) for j, row in enumerate(table, start=1)
    ]
    while abs(values[-1]) < _NEGLIGIBLE:
        values.pop()
    return tuple(values)


def conformal_from_geographic(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Coefficients c of χ = φ + Σ c_j sin 2jφ."""
    return _coefficients(_CONFORMAL, ellipsoid)


def geographic_from_conformal(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Coefficients c of φ = χ + Σ c_j sin 2jχ."""
    return _coefficients(_GEOGRAPHIC, ellipsoid)


def rectifying_from_geographic(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Coefficients c of μ = φ + Σ c_j sin 2jφ; μ times the rectifying radius is meridian length."""
    return _coefficients(_RECTIFYING, ellipsoid)


def geographic_from_rectifying(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Coefficients c of φ = μ + Σ c_j sin 2jμ."""
    return _coefficients(_GEOGRAPHIC_FROM_RECTIFYING, ellipsoid)


def kruger_forward(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Karney's α, sphere to ellipsoid."""
    return _coefficients(_KRUGER_FORWARD, ellipsoid)


def kruger_inverse(ellipsoid: Ellipsoid) -> tuple[float, ...]:
    """Karney's β, ellipsoid to sphere."""
    return _coefficients(_KRUGER_INVERSE, ellipsoid)


@cache
def rectifying_radius_m(ellipsoid: Ellipsoid) -> float:
    """Radius of the circle whose quarter is as long as the quarter meridian, metres."""
    n2 = ellipsoid.n**2
    return ellipsoid.a_m / (1 + ellipsoid.n) * (1 + n2 / 4 + n2**2 / 64 + n2**3 / 256)


def horner(coefficients: tuple[float, ...], x: FloatArray) -> FloatArray:
    """Sum c_k x^k, at least two terms, in one buffer: fetching memory costs more than adding."""
    total = coefficients[-1] * x
    total += coefficients[-2]
    for c in coefficients[-3::-1]:
        total *= x
        total += c
    return total


@cache
def powers_of_cosine(coefficients: tuple[float, ...]) -> tuple[float, ...]:
    """Coefficients p with Σ c_j sin 2jx = sin 2x · Σ p_k cos^k 2x.

    The c_j fall so fast that the powers of two that this brings in cost no precision.
    """
    # sin 2jx = sin 2x · U_(j−1)(cos 2x), Chebyshev's polynomials of the second kind.
    before, this = np.zeros(1), np.ones(1)
    total = np.zeros(len(coefficients))
    for c in coefficients:
        total[: this.size] += c * this
        following = np.append(0.0, 2.0 * this)
        following[: before.size] -= before
        before, this = this, following
    return tuple(total.tolist())


def sine_series(coefficients: tuple[float, ...], sin: FloatArray, cos: FloatArray) -> FloatArray:
    """Sum c_j sin 2jx from sin x and cos x, without calling a sine again.

    Parameters
    ----------
    coefficients : tuple of float
        c_1 ... c_m.
    sin, cos : ndarray
        Sine and cosine of x, same shape.

    Returns
    -------
    ndarray
        The sum, same shape, radians if the coefficients are.
    """
    cos2 = -2.0 * sin
    cos2 *= sin
    cos2 += 1.0
    total = horner(powers_of_cosine(coefficients), cos2)
    total *= 2.0 * sin
    total *= cos
    return total
