"""Where the thing can be, given all evidence: the grid, its weights, and the most likely point."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.errors import FormatError, GeometryError
from plotter.fix.chart import REACH_M, Chart, chart_at, mean_position
from plotter.fix.evidence import Bearing, Support
from plotter.fix.likelihood import BearingModel, Terms, bearing_model
from plotter.fix.quadtree import Leaves, grow
from plotter.geodesy.arrays import FloatArray, as_float

__all__ = ["DEFAULT_RADIUS_M", "Posterior", "log_density", "most_likely_near", "posterior"]

DEFAULT_RADIUS_M: Final = 60_000.0
"""Farthest a signal is looked for where the observers themselves stand close; assumed."""

_POLISH_STEPS: Final = 12


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """The probability of every cell, and of every bearing's faults in it.

    Parameters
    ----------
    bearings : tuple of Bearing
        The evidence.
    chart : Chart
        Centred on the support.
    model : BearingModel
        The bearings on that chart.
    leaves : Leaves
        The m cells.
    good, reciprocal : ndarray, shape (n, m)
        Chance that a bearing is right, or reciprocal, if the truth lies in the cell.
    all_good : ndarray, shape (m,)
        Chance that the truth lies in the cell and every bearing is right.
    """

    bearings: tuple[Bearing, ...]
    chart: Chart
    model: BearingModel
    leaves: Leaves
    good: FloatArray
    reciprocal: FloatArray
    all_good: FloatArray


def posterior(
    bearings: Sequence[Bearing], support: Support | None = None, *, tolerance: float = 1 / 4000
) -> Posterior:
    """Compute the posterior of a place from bearings.

    Parameters
    ----------
    bearings : sequence of Bearing
        One or more.
    support : Support, optional
        As for `plotter.fix.fix`.
    tolerance : float
        As for `plotter.fix.quadtree.grow`.

    Raises
    ------
    FormatError
        If there are no bearings.
    GeometryError
        If the scene reaches more than 2 000 km from its middle.
    """
    if not bearings:
        raise FormatError("a fix needs at least one bearing, got none; give a bearing first")
    observers = [b.observer for b in bearings]
    centre = support.centre if support is not None else None
    chart = chart_at(mean_position(observers) if centre is None else centre)
    chart.check_reach(observers)
    model = bearing_model(chart, bearings)
    if support is None:
        spread = float(np.linalg.norm(chart.points(observers)[:2], axis=0).max())
        radius = min(max(3.0 * spread, DEFAULT_RADIUS_M), REACH_M)
    else:
        radius = support.radius_m
    if radius > REACH_M:
        raise GeometryError(
            f"a support of {radius / 1000:.0f} km is too wide: a fix reaches "
            f"{REACH_M / 1000:.0f} km from its middle; give a smaller radius"
        )

    terms: list[Terms] = []

    def density(
        x: FloatArray, y: FloatArray, half_side: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        points = chart.lift(x, y)
        log_likelihood, finest = model.log_likelihood(points, half_side, terms)
        return log_likelihood, chart.area_element(points), finest

    leaves = grow(density, radius, tolerance=tolerance)
    good, reciprocal = model.verdicts(
        *(np.concatenate(each, axis=1)[:, leaves.asked] for each in zip(*terms, strict=True))
    )
    all_good = leaves.mass * np.multiply.reduce(good)
    return Posterior(tuple(bearings), chart, model, leaves, good, reciprocal, all_good)


def log_density(after: Posterior, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
    """Logarithm of the density at bare points, per m² of ground, not normalised; shape (m,)."""
    points = after.chart.lift(x_m, y_m)
    value, _ = after.model.log_likelihood(points, np.zeros_like(x_m))
    return value


def most_likely_near(after: Posterior, leaf: int) -> tuple[float, float]:
    """Climb from the middle of a leaf to the nearest top of the density (Newton's method).

    Where a direction is flat, as along a single bearing, the point stays where it is in that
    direction. No step goes downhill.

    Returns
    -------
    x_m, y_m : float
        Chart point within the support.
    """
    leaves = after.leaves
    here = as_float([leaves.x_m[leaf], leaves.y_m[leaf]])
    reach = 4.0 * float(leaves.half_side_m[leaf])
    step = 0.05 * reach
    offsets = step * as_float(
        [[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1], [1, 1], [-1, -1], [1, -1], [-1, 1]]
    )
    for _ in range(_POLISH_STEPS):
        f = log_density(after, here[0] + offsets[:, 0], here[1] + offsets[:, 1])
        slope = as_float([f[1] - f[2], f[3] - f[4]]) / (2.0 * step)
        cross = (f[5] + f[6] - f[7] - f[8]) / 4.0
        bend = as_float([[f[1] - 2 * f[0] + f[2], cross], [cross, f[3] - 2 * f[0] + f[4]]])
        values, vectors = np.linalg.eigh(bend / step**2)
        hollow = np.maximum(-values, 0.0)
        firm = hollow > max(1e-7 * hollow.max(), 1e-12 / reach**2)
        along = np.where(firm, (vectors.T @ slope) / np.where(firm, hollow, 1.0), 0.0)
        move = vectors @ along
        length = float(np.hypot(*move))
        if length > reach:
            move *= reach / length
        trials = np.clip(
            here + move * as_float([1.0, 0.5, 0.25, 0.0625])[:, None],
            -leaves.radius_m,
            leaves.radius_m,
        )
        heights = log_density(after, trials[:, 0], trials[:, 1])
        winner = int(heights.argmax())
        if not heights[winner] > f[0]:
            break
        moved = float(np.hypot(*(trials[winner] - here)))
        here = trials[winner]
        if moved < 1e-3 * step:
            break
    return float(here[0]), float(here[1])
