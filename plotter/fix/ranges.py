"""A distance to the thing: measured, or guessed from how strong its signal is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart, AnySights
from plotter.fix.evidence import check_report
from plotter.fix.mixture import Held, Shares
from plotter.fix.ways import Ways, moved_ways, ways_to
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position

__all__ = ["GUESS_LOG_SD", "Range", "RangeModel", "range_model"]

GUESS_LOG_SD: Final = 0.6
"""Standard deviation of the logarithm of a distance guessed from a signal's strength; assumed."""


@dataclass(frozen=True, slots=True)
class Range:
    """One distance from an observer to the thing.

    Parameters
    ----------
    observer : Position
        Where it was taken.
    distance_m : float
        The distance, above zero.
    sigma_m : float or None
        One standard deviation of a measured distance.
    log_sd : float or None
        Standard deviation of its logarithm where it was guessed; `GUESS_LOG_SD` where neither is
        given.
    sender : str
        Who reported it.
    observer_sigma_m : float
        One standard deviation of the observer's own position, per axis.
    p_gross : float
        Prior probability that it is simply wrong.
    time_utc : datetime or None
        When it was taken, aware.

    Raises
    ------
    FormatError
        If a value is out of range, or both errors are given.
    """

    observer: Position
    distance_m: float
    sigma_m: float | None = None
    log_sd: float | None = None
    sender: str = ""
    observer_sigma_m: float = 0.0
    p_gross: float = 0.05
    time_utc: datetime | None = None

    def __post_init__(self) -> None:
        """Reject what cannot be a distance."""
        if not (math.isfinite(self.distance_m) and self.distance_m > 0):
            raise FormatError(f"a distance must be above 0 m: {self.distance_m!r}")
        if self.sigma_m is not None and self.log_sd is not None:
            raise FormatError("a distance is measured (sigma_m) or guessed (log_sd), not both")
        for error in (self.sigma_m, self.log_sd):
            if error is not None and not (math.isfinite(error) and error > 0):
                raise FormatError(f"the error of a distance must be above 0: {error!r}")
        check_report("distance", self.observer_sigma_m, self.p_gross, self.time_utc)


@dataclass(frozen=True, slots=True, eq=False)
class RangeModel:
    """Distances ready to be held against points of a chart; each array of shape (n, 1).

    Parameters
    ----------
    sights : Sights
        The observers.
    distance_m, variance_m2, log_variance : ndarray
        What was said, and its variance: of the distance or, where above zero, of its logarithm.
    observer_variance_m2, p_gross : ndarray
        Of the observer's place, and the chance of a wrong report.
    span_m : float
        A wrong distance is taken as likely at any value up to this one.
    """

    sights: AnySights
    distance_m: FloatArray
    variance_m2: FloatArray
    log_variance: FloatArray
    observer_variance_m2: FloatArray
    p_gross: FloatArray
    span_m: float

    @property
    def count(self) -> int:
        """How many distances."""
        return len(self.distance_m)

    def look(self, points_m: FloatArray) -> Ways:
        """Look from every observer at points of the chart, shape (3, m)."""
        return ways_to(self.sights, points_m)

    def moved(self, seen: Ways, moves_m: FloatArray) -> Ways:
        """What was seen of points that the thing had still to move to; see `BearingModel.moved`."""
        return moved_ways(self.sights, seen, moves_m)

    def _variance_m2(self, there_m: FloatArray, blur_m2: FloatArray) -> FloatArray:
        """Variance of the distance said about the true one."""
        return as_float(
            np.where(self.log_variance > 0, self.log_variance * there_m**2, self.variance_m2)
            + blur_m2
        )

    def precision(self, seen: Ways) -> FloatArray:
        """Sum of one over the variance of each distance at the points, 1/m², shape (m,)."""
        return as_float((1.0 / self._variance_m2(seen[0], self.observer_variance_m2)).sum(axis=0))

    def hold(
        self,
        seen: Ways,
        half_side_m: FloatArray,
        *,
        shares: bool,
    ) -> Held:
        """Hold all distances against points; see `plotter.fix.likelihood.BearingModel.hold`."""
        there = seen.distance_m
        there = np.maximum(there, 1.0)
        blur = self.observer_variance_m2 + half_side_m * half_side_m / 3.0
        guessed = self.log_variance > 0
        variance = np.where(guessed, self.log_variance + blur / there**2, self.variance_m2 + blur)
        off = np.where(guessed, np.log(self.distance_m / there), self.distance_m - there)
        density = np.exp(np.maximum(-0.5 * off * off / variance, -700.0))
        density /= np.sqrt(2.0 * np.pi * variance) * np.where(guessed, self.distance_m, 1.0)
        good = (1.0 - self.p_gross) * density
        either = good + self.p_gross / self.span_m + 1e-30
        log = as_float(np.log(either).sum(axis=0))
        if not shares:
            return Held(log, None)
        good /= either
        return Held(log, Shares(good, np.zeros_like(good), good, np.multiply.reduce(good)))

    def residuals_m(self, points_m: FloatArray) -> FloatArray:
        """Distance said minus distance to points, shape (n, m)."""
        return as_float(self.distance_m - self.sights.distance_m(points_m))

    def residuals_in_sigmas(self, points_m: FloatArray, least_variance_m2: float) -> FloatArray:
        """Residuals over their standard deviation at the first point, shape (n, m)."""
        there = np.maximum(self.sights.distance_m(points_m), 1.0)
        own = np.maximum(self.observer_variance_m2, least_variance_m2)
        guessed = self.log_variance > 0
        off = np.where(guessed, np.log(self.distance_m / there), self.distance_m - there)
        near2 = there[:, :1] ** 2
        variance = np.where(guessed, self.log_variance + own / near2, self.variance_m2 + own)
        return as_float(off / np.sqrt(variance))


def range_model(
    chart: AnyChart, ranges: Sequence[Range], radius_m: float, more_variance_m2: FloatArray
) -> RangeModel:
    """Prepare distances for a chart; `more_variance_m2`, shape (n,), as for bearings."""

    def column(values: list[float]) -> FloatArray:
        return as_float(values)[:, None]

    log_sd = [0.0 if r.sigma_m else (r.log_sd or GUESS_LOG_SD) for r in ranges]
    return RangeModel(
        sights=chart.sights([r.observer for r in ranges]),
        distance_m=column([r.distance_m for r in ranges]),
        variance_m2=column([r.sigma_m or 0.0 for r in ranges]) ** 2,
        log_variance=column(log_sd) ** 2,
        observer_variance_m2=column([r.observer_sigma_m for r in ranges]) ** 2
        + more_variance_m2[:, None],
        p_gross=column([r.p_gross for r in ranges]),
        span_m=2.0 * radius_m,
    )
