"""How well a bearing fits a place: right within its error, reciprocal, or simply wrong.

With r the angle off the bearing, p = (1−ε−ρ) g(r) + ρ g(r−π) + ε/2π, where g is a normal density
cut to the circle. Its variance takes in the observer's own position error and, because one value
stands for a whole cell, the spread of a square of half side h (h²/3 in every direction).

A kind of evidence is one class with `log_likelihood(points, h)`; the grid knows no more of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.fix.chart import Chart, Sights, sights
from plotter.fix.evidence import Bearing
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["BearingModel", "Terms", "bearing_model", "erf"]

# Densities of good and of reciprocal bearings, (n, m) each; single precision keeps a hundred
# bearings on sixty thousand cells within a small machine.
Terms: TypeAlias = tuple[NDArray[np.float32], NDArray[np.float32]]

# Keeps bearings that are declared certain, but contradict each other, from leaving nothing at all.
_FLOOR: Final = 1e-15
# So many factors between the floor and 1e4 stay well inside the range of a double.
_FACTORS: Final = 16
# Numbers in one table, 48 kB: twice as fast as whole arrays that go out to memory.
_TABLE: Final = 6144
# Below this an exponential is no longer a normal number, and slow.
_LEAST_EXPONENT: Final = -700.0


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


def _angle_off(across_m: FloatArray, ahead_m: FloatArray) -> FloatArray:
    """Angle between a bearing and the way to a point, [0, π]; half the time of an arctan2."""
    # At the observer itself 0/0 would be no number; a right angle is as good as any.
    return np.asarray(0.5 * np.pi - np.arctan(ahead_m / (np.abs(across_m) + 1e-200)))


def _bell(factor: FloatArray, off_rad: FloatArray) -> FloatArray:
    exponent = factor * off_rad
    exponent *= off_rad
    np.maximum(exponent, _LEAST_EXPONENT, out=exponent)
    return np.asarray(np.exp(exponent, out=exponent))


@dataclass(frozen=True, slots=True, eq=False)
class BearingModel:
    """Bearings ready to be held against points of a chart.

    Parameters
    ----------
    along : Sights
        The observers, each looking along its bearing.
    variance : ndarray, shape (n, 1)
        σ², rad².
    observer_variance_m2 : ndarray, shape (n, 1)
        Square of the observer's position sigma.
    p_reciprocal, p_gross : ndarray, shape (n, 1)
        Prior chances of a wrong bearing.
    doubtful : ndarray of int, shape (k,)
        Which bearings have a second meaning.
    other : Sights
        Those observers, each looking along the second meaning.
    """

    along: Sights
    variance: FloatArray
    observer_variance_m2: FloatArray
    p_reciprocal: FloatArray
    p_gross: FloatArray
    doubtful: IntArray
    other: Sights

    def terms(
        self, points_m: FloatArray, half_side_m: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Weighted densities of a good and of a reciprocal bearing.

        Parameters
        ----------
        points_m : ndarray, shape (3, m)
            Lifted chart points, the middles of cells.
        half_side_m : ndarray, shape (m,)
            Half the side of each cell; 0 for a bare point.

        Returns
        -------
        good, reciprocal : ndarray, shape (n, m)
            Densities per radian, each times its prior chance.
        width2_m2 : ndarray, shape (n, m)
            Variance of the bearing's error across the line at that distance, without the cell's.
        """
        across, ahead = self.along.components(points_m)
        # A metre more keeps an observer's own place from being infinitely near.
        distance2 = across * across + ahead * ahead + 1.0
        width2 = self.variance * distance2 + self.observer_variance_m2
        variance = (width2 + half_side_m * half_side_m / 3.0) / distance2
        off = _angle_off(across, ahead)
        factor = -0.5 / variance
        good = _bell(factor, off)
        off -= np.pi
        back = _bell(factor, off)
        if self.doubtful.size:
            self._mix_second_meaning(points_m, factor, good, back)
        height = np.sqrt(factor * (-1.0 / np.pi))
        wide = variance > 0.35  # below, the tails beyond ±180° hold less than 1.1e-7
        if wide.any():
            height[wide] /= erf(np.pi * np.sqrt(-factor[wide]))
        good *= height * (1.0 - self.p_gross - self.p_reciprocal)
        back *= height * self.p_reciprocal
        return good, back, width2

    def _mix_second_meaning(
        self, points_m: FloatArray, factor: FloatArray, good: FloatArray, back: FloatArray
    ) -> None:
        off = _angle_off(*self.other.components(points_m))
        rows = self.doubtful
        good[rows] = 0.5 * (good[rows] + _bell(factor[rows], off))
        off -= np.pi
        back[rows] = 0.5 * (back[rows] + _bell(factor[rows], off))

    def log_likelihood(
        self, points_m: FloatArray, half_side_m: FloatArray, terms: list[Terms] | None = None
    ) -> tuple[FloatArray, FloatArray]:
        """Logarithm of the likelihood of all bearings together.

        Parameters
        ----------
        points_m, half_side_m : ndarray
            As for `terms`.
        terms : list or None
            Where given, the densities of good and of reciprocal bearings are appended, (n, m) each:
            the verdicts need them once more, and they cost most of the time.

        Returns
        -------
        log_likelihood : ndarray, shape (m,)
            Natural logarithm.
        finest_m : ndarray, shape (m,)
            One standard deviation across all bearing lines together, were they parallel there.
        """
        total, finest2 = np.empty_like(half_side_m), np.empty_like(half_side_m)
        if terms is not None:
            shape = (len(self.variance), half_side_m.size)
            terms.append((np.empty(shape, np.float32), np.empty(shape, np.float32)))
        for part in self._parts(half_side_m.size):
            good, back, width2 = self.terms(points_m[:, part], half_side_m[part])
            if terms is not None:
                terms[-1][0][:, part], terms[-1][1][:, part] = good, back
            good += back
            good += self.p_gross / (2.0 * np.pi) + _FLOOR
            finest2[part] = 1.0 / (1.0 / width2).sum(axis=0)
            total[part] = sum(
                np.log(np.multiply.reduce(good[first : first + _FACTORS]))
                for first in range(0, len(good), _FACTORS)
            )
        return total, np.sqrt(finest2)

    def verdicts(
        self, good: NDArray[np.floating], back: NDArray[np.floating]
    ) -> tuple[FloatArray, FloatArray]:
        """Chance that each bearing is good, and reciprocal, from its `terms`; (n, m) each."""
        all_ways = good + back + (self.p_gross / (2.0 * np.pi) + _FLOOR)
        return np.asarray(good / all_ways), np.asarray(back / all_ways)

    def _parts(self, count: int) -> list[slice]:
        """Cut the points into lots whose tables stay in the processor's cache."""
        lot = max(_TABLE // len(self.variance), 128)
        return [slice(first, first + lot) for first in range(0, count, lot)]

    def residuals_rad(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Bearing minus azimuth, and distance; the meaning that fits better where there are two.

        Returns
        -------
        residual_rad, distance_m : ndarray, shape (n, m)
            Residuals in [−π, π).
        """
        across, ahead = self.along.components(points_m)
        residual = -np.arctan2(across, ahead)
        if self.doubtful.size:
            second = -np.arctan2(*self.other.components(points_m))
            first = residual[self.doubtful]
            residual[self.doubtful] = np.where(np.abs(second) < np.abs(first), second, first)
        return residual, np.hypot(across, ahead)


def bearing_model(chart: Chart, bearings: Sequence[Bearing]) -> BearingModel:
    """Prepare bearings for a chart."""

    def column(values: list[float]) -> FloatArray:
        return as_float(values)[:, None]

    seen = sights(chart, [b.observer for b in bearings])
    doubtful = [i for i, b in enumerate(bearings) if b.other_true_deg is not None]
    second = [b.other_true_deg for b in bearings if b.other_true_deg is not None]
    some = Sights(
        seen.east[doubtful],
        seen.north[doubtful],
        seen.east_offset_m[doubtful],
        seen.north_offset_m[doubtful],
    )
    return BearingModel(
        along=seen.turned(np.radians([b.bearing_true_deg for b in bearings])),
        variance=np.radians(column([b.sigma_deg for b in bearings])) ** 2,
        observer_variance_m2=column([b.observer_sigma_m for b in bearings]) ** 2,
        p_reciprocal=column([b.p_reciprocal for b in bearings]),
        p_gross=column([b.p_gross for b in bearings]),
        doubtful=np.asarray(doubtful, dtype=np.int64),
        other=some.turned(np.radians(as_float(second))),
    )
