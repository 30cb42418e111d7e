"""How large the 95 % region will be after one more report, before the report is taken."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from plotter.fix.next_report import NextReport
from plotter.fix.posterior import Posterior
from plotter.fix.region import densest_first, region
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position

__all__ = ["areas_after", "present_area_km2"]

_PROBABILITY: Final = 0.95
# The likelier bearings, and the rest, which are rare and leave the largest areas.
_LIKELY: Final = 0.85
_FUTURES: Final = (16, 16)
# Rows of likelihoods that stay in the processor's cache together.
_LOT: Final = 4
# Classes of density 5 % wide, over a factor of 1e13.
_PER_E_FOLD: Final = 20.0
_CLASSES: Final = 600
_TURN: Final = 2.0 * math.pi


def present_area_km2(after: Posterior) -> float:
    """Area of the 95 % region now, the same that a fix states."""
    leaves = after.leaves
    order = densest_first(leaves)
    return region(after.chart, leaves, order, _PROBABILITY, lambda _: (0.0, 0.0)).area_km2


def areas_after(
    after: Posterior, place: Position, report: NextReport, heard: FloatArray, silent: float
) -> tuple[float, float]:
    """Mean and median area of the 95 % region over the outcomes of a report.

    The cells of the posterior are weighted anew with the likelihood of each of 32 bearings and of
    "not heard": 16 bearings stand for the likeliest 85 % in equal parts, 16 for the others.

    Parameters
    ----------
    after : Posterior
        What is known now.
    place : Position
        Where the report comes from.
    report : NextReport
        How well it is taken.
    heard : ndarray, shape (bins,)
        Chance of hearing it with the bearing in each bin, from north clockwise.
    silent : float
        Chance of not hearing it.

    Returns
    -------
    mean_km2, median_km2 : float
        The mean counts reports that turn out wrong by their chance.

    Accuracy
    --------
    Reweighting costs 1 % against whole new fixes, the few outcomes about a tenth of the mean.
    """
    leaves = after.leaves
    points = after.chart.lift(leaves.x_m, leaves.y_m)
    east, north = (part[0] for part in after.chart.sights([place]).components(points))
    distance2 = east * east + north * north + 1.0
    spread2 = leaves.half_side_m**2 / 3.0 + report.observer_sigma_m**2
    variance = (math.radians(report.sigma_deg) ** 2 + spread2 / distance2).astype(np.float32)
    azimuth = np.arctan2(east, north) % _TURN
    p_heard = report.p_heard(np.sqrt(distance2))
    bearings, shares = _outcomes(heard)
    areas = []
    for first in range(0, len(bearings), _LOT):
        # Single precision is plenty for an area, and twice as fast.
        off = np.abs(np.float32(bearings[first : first + _LOT, None]) - np.float32(azimuth))
        np.minimum(off, np.float32(_TURN) - off, out=off)
        likelihood = report.density(off, variance) * np.float32(p_heard)
        areas += _areas_km2(after, likelihood).tolist()
    if silent > 0.0:
        areas += _areas_km2(after, (1.0 - p_heard)[None]).tolist()
        shares = np.append(shares, silent)
    area, share = as_float(areas), shares / shares.sum()
    order = np.argsort(area)
    half = int(np.searchsorted(np.cumsum(share[order]), 0.5))
    return float(share @ area), float(area[order][half])


def _outcomes(heard: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Bearings that stand for all, radians, and the chance that each stands for."""
    densest = np.argsort(-heard, kind="stable")
    likely = np.zeros(heard.size, dtype=np.bool_)
    likely[densest[np.cumsum(heard[densest]) <= _LIKELY * heard.sum()]] = True
    bearings, shares = [], []
    for part, count in zip((likely, ~likely), _FUTURES, strict=True):
        held = np.cumsum(heard * part)
        middle = (np.arange(count) + 0.5) / count * held[-1]
        bearings.append(np.searchsorted(held, middle) * (_TURN / heard.size))
        shares.append(np.full(count, held[-1] / count))
    return np.concatenate(bearings), np.concatenate(shares)


def _areas_km2(after: Posterior, likelihood: NDArray[np.floating]) -> FloatArray:
    """Area of the 95 % region for each row of likelihoods of the cells, shape (k,).

    The cells are not sorted but dealt into classes of density, densest first; within one class
    ground and weight grow alike.
    """
    leaves = after.leaves
    before = np.log(np.maximum(leaves.mass / leaves.area_m2, 1e-300)).astype(likelihood.dtype)
    density = np.log(likelihood) + before
    depth = (density.max(axis=1, keepdims=True) - density) * _PER_E_FOLD
    classes = np.minimum(depth, _CLASSES - 1).astype(np.int64)
    found = np.empty(len(likelihood))
    for row, each in enumerate(likelihood):
        held, covered = (
            np.append(0.0, np.cumsum(np.bincount(classes[row], weight, _CLASSES)))
            for weight in (leaves.mass * each, leaves.area_m2)
        )
        found[row] = np.interp(_PROBABILITY * held[-1], held, covered) / 1e6
    return found
