"""Bearings turned by many values of a shared error at once, where one way of each can be meant.

A place lies ahead of a bearing or behind it. A narrow bell about the other way is nothing there, so
that one exponential does for both, and what does not hang on the turn is worked out once: a third
of the time of taking every turn by itself, and the same to 1e-5.
"""

import math
from typing import Final, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.fix.mixture import Held, Shares, blend
from plotter.geodesy.arrays import BoolArray, FloatArray, as_float

__all__ = ["erf", "exponential", "height_of", "hold_turned", "log_of_product"]

# A bell about the other way counts for nothing where it is less than this part of the density of
# a gross error.
_NOTHING: Final = 4e-6

_Real: TypeAlias = NDArray[np.floating]
# Below this an exponential is no longer a normal number, and slow.
_LEAST_EXPONENT: Final = {np.dtype(np.float64): -700.0, np.dtype(np.float32): -80.0}
# Below this variance the tails beyond ±180° hold less than 1.1e-7.
_CUT_AT_BACK: Final = 0.35


def erf(x: FloatArray) -> FloatArray:
    """Error function for x ≥ 0, to 1.5e-7.

    Source
    ------
    Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 7.1.26, from memory; compared
    with the standard library in the tests.
    """
    t = 1.0 / (1.0 + 0.3275911 * x)
    series = t * (
        0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429)))
    )
    return np.asarray(1.0 - series * np.exp(-x * x))


def exponential(exponent: _Real) -> _Real:
    """Exponential of numbers below zero, in place, where it is a normal number."""
    np.maximum(exponent, _LEAST_EXPONENT[exponent.dtype], out=exponent)
    return np.asarray(np.exp(exponent, out=exponent))


def height_of(factor: _Real, variance: _Real) -> _Real:
    """Height of a bell cut to the circle; `factor` is −1/2 over its variance."""
    height = np.sqrt(factor * factor.dtype.type(-1.0 / np.pi))
    if variance.max(initial=0.0) > _CUT_AT_BACK:
        wide = variance > _CUT_AT_BACK
        height[wide] /= erf(np.pi * np.sqrt(-factor[wide]))
    return height


def log_of_product(factors: _Real, at_once: int) -> FloatArray:
    """Sum of the logarithms of the rows, so many factors to a logarithm."""
    total = np.zeros(factors.shape[1])
    for first in range(0, len(factors), at_once):
        total += np.log(np.multiply.reduce(factors[first : first + at_once]))
    return total


def hold_turned(
    off: _Real,
    side: _Real,
    narrow: _Real,
    wide: _Real,
    wide_share: _Real,
    priors: tuple[_Real, _Real, _Real],
    turns_rad: FloatArray,
    log_weights: FloatArray,
    at_once: int,
    lost: _Real | None = None,
    *,
    shares: bool,
) -> Held:
    """Hold bearings against points under every turn, and mix.

    Parameters
    ----------
    off, side : ndarray, shape (n, m)
        Angle off each bearing, [0, π]; above zero where the point lies to its right.
    narrow, wide : ndarray, shape (n, m)
        Variances of the two bells, rad².
    wide_share : ndarray, shape (n, 1)
        Weight of the wide bell.
    priors : tuple of ndarray, shape (n, 1)
        Chances that a bearing is right, and the reciprocal, and the density of a gross error.
    turns_rad : ndarray, shape (k, n, 1)
        By how much each bearing is turned, less than a right angle.
    log_weights : ndarray, shape (k,)
        Of those turns.
    at_once : int
        As for `log_of_product`.
    lost : ndarray, shape (n, m), optional
        Chance that the observer stood so near that it may lie in any direction.
    shares : bool
        Whether to say which bearings are right.
    """
    right, reciprocal, gross = priors
    ahead = off < off.dtype.type(0.5 * np.pi)
    # From the nearer of the two ways: a turn changes both alike.
    to_way = _to_nearer(off, side, ahead)
    here, there = np.where(ahead, right, reciprocal), np.where(ahead, reciprocal, right)
    any_way = None
    if lost is not None:
        any_way = lost * off.dtype.type(0.5 / np.pi)
        any_here, any_there, any_right = any_way * here, any_way * there, any_way * right
        here, there = here - lost * here, there - lost * there
    least = _NOTHING * float(gross.min())
    bells = [_Bell.of(narrow, 1 - wide_share, (here, there), least)]
    if wide_share.any():
        bells.append(_Bell.of(wide, wide_share, (here, there), least))
    far = [bell for bell in bells if bell.far_height is not None]
    ways: list[Held] = []
    for turn in turns_rad.astype(off.dtype, copy=False):
        from_way = np.abs(to_way - turn)
        square = from_way * from_way
        near = bells[0].at(square)
        if any_way is not None:
            near += any_here
        way = near + bells[1].at(square) if len(bells) > 1 else near
        either = way + gross
        other: _Real | None = None
        near_right = near * ahead if shares else near
        if far:
            np.subtract(off.dtype.type(np.pi), from_way, out=from_way)
            np.multiply(from_way, from_way, out=square)
        if any_way is not None:
            other = any_there
            either += any_there
            if shares:
                near_right += any_right * ~ahead
        for bell in far:
            behind = bell.far_at(square)
            if shares and bell is bells[0]:
                near_right += behind * ~ahead
            other = behind if other is None else other + behind
            either += behind
        told = None
        if shares:
            there = np.zeros_like(way) if other is None else other
            good, back = np.where(ahead, way, there), np.where(ahead, there, way)
            for part in (good, back, near_right):
                np.divide(part, either, out=part)
            told = Shares(good, back, near_right, as_float(np.multiply.reduce(good)))
        ways.append(Held(log_of_product(either, at_once), told))
    return blend(log_weights, ways)


class _Bell(NamedTuple):
    """One bell about each bearing, (n, m), times the chance of the way it stands about.

    Parameters
    ----------
    factor : ndarray
        −1/2 over its variance.
    height : ndarray
        About the way that is nearer.
    far_height : ndarray or None
        About the other one, where that is anything.
    """

    factor: _Real
    height: _Real
    far_height: _Real | None

    @classmethod
    def of(cls, variance: _Real, share: _Real, ways: tuple[_Real, _Real], least: float) -> "_Bell":
        factor = variance.dtype.type(-0.5) / variance
        height = height_of(factor, variance)
        height *= share
        here, there = ways
        far = _at_right_angle(float(variance.max())) * float(share.max()) > least
        return cls(factor, height * here, height * there if far else None)

    def at(self, square: _Real) -> _Real:
        bell = exponential(self.factor * square)
        bell *= self.height
        return bell

    def far_at(self, square: _Real) -> _Real:
        if self.far_height is None:
            return np.zeros_like(square)
        bell = exponential(self.factor * square)
        bell *= self.far_height
        return bell


def _at_right_angle(variance: float) -> float:
    """Density of a bell a right angle off, the most that it can be about the farther way."""
    return math.exp(-0.125 * math.pi**2 / variance) / math.sqrt(2.0 * math.pi * variance)


def _to_nearer(off: _Real, side: _Real, ahead: BoolArray) -> _Real:
    """Angle from the bearing or its reciprocal, whichever is nearer, above zero to the right."""
    angle = np.copysign(off, side)
    behind = angle - np.copysign(off.dtype.type(np.pi), side)
    return np.where(ahead, angle, behind)
