"""When a fix is a direction or a strip rather than a point, and how to say which."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.fix.chart import mean_position, sights
from plotter.fix.posterior import Posterior
from plotter.fix.quadtree import Leaves
from plotter.fix.region import NOTABLE_SHARE, densest_first, densest_leaves
from plotter.fix.result import Region
from plotter.geodesy.arrays import FloatArray, as_float

__all__ = ["Sector", "headline_weights", "reaches_edge", "sector_of", "weighted_quantiles"]

_LONG: Final = 5.0
_OUTER: Final = 0.95
_OUTER_SHARE: Final = 0.01


@dataclass(frozen=True, slots=True)
class Sector:
    """A long region, seen from the middle of the observers.

    Parameters
    ----------
    direction_true_deg : float
        Towards its middle, [0, 360).
    spread_deg : float
        Half the angle that holds 95 % of it, as seen from there; 180 where it lies all round.
    near_m, middle_m, far_m : float
        Distances that 5, 50 and 95 % of the probability lie within.
    at_the_edge : bool
        True where the assumed largest distance cuts it off.
    long : bool
        True where it is more than five times as long as wide.
    axis_true_deg : float
        Bearing of its long axis, [0, 180).
    length_m, width_m : float
        Extent along and across that axis that holds about 95 % each.
    """

    direction_true_deg: float
    spread_deg: float
    near_m: float
    middle_m: float
    far_m: float
    at_the_edge: bool
    long: bool
    axis_true_deg: float
    length_m: float
    width_m: float


def headline_weights(after: Posterior) -> FloatArray:
    """Probability of each leaf for the first sentence, shape (m,), sum 1.

    With one or two bearings it is the one that holds if they are right, since nothing can tell
    that they are wrong; from three on, the full posterior.
    """
    total = float(after.all_good.sum())
    if len(after.bearings) <= 2 and total > 1e-12:
        return np.asarray(after.all_good / total)
    return after.leaves.mass


def weighted_quantiles(values: FloatArray, weights: FloatArray, shares: FloatArray) -> FloatArray:
    """Values below which the given shares of the weight lie."""
    order = np.argsort(values)
    held = np.cumsum(weights[order])
    at = np.searchsorted(held, shares * held[-1]).clip(max=values.size - 1)
    return np.asarray(values[order][at])


def reaches_edge(leaves: Leaves, weights: FloatArray) -> bool:
    """See whether more than 1 % of the weight lies in the outer 5 % of the support."""
    outer = np.maximum(np.abs(leaves.x_m), np.abs(leaves.y_m)) > _OUTER * leaves.radius_m
    return float(weights[outer].sum()) > _OUTER_SHARE


def sector_of(after: Posterior, region95: Region) -> Sector | None:
    """Describe the region as a direction or a strip, or give None where a point describes it.

    Parameters
    ----------
    after : Posterior
        The posterior.
    region95 : Region
        Its 95 % region; from three bearings on, several notable pieces are told one by one.
    """
    count = len(after.bearings)
    if count > 2 and sum(piece.share >= NOTABLE_SHARE for piece in region95.pieces) > 1:
        return None
    leaves, weights = after.leaves, headline_weights(after)
    x, y = leaves.x_m, leaves.y_m
    at_the_edge = reaches_edge(leaves, weights)
    chosen = densest_leaves(densest_first(leaves, weights), weights, 0.95)
    share = weights[chosen] / weights[chosen].sum()
    east = x[chosen] - share @ x[chosen]
    north = y[chosen] - share @ y[chosen]
    values, vectors = np.linalg.eigh(np.cov(np.stack((east, north)), aweights=share, bias=True))
    values = np.maximum(values, 1e-6)
    long = values[1] > _LONG**2 * values[0]
    if not (at_the_edge or long or count == 1):
        return None
    centre = mean_position([b.observer for b in after.bearings])
    points = after.chart.lift(x[chosen], y[chosen])
    across, ahead = (part[0] for part in sights(after.chart, [centre]).components(points))
    azimuth = np.arctan2(across, ahead)
    direction = np.arctan2(share @ np.sin(azimuth), share @ np.cos(azimuth))
    off = np.abs((azimuth - direction + np.pi) % (2.0 * np.pi) - np.pi)
    near, middle, far = weighted_quantiles(
        np.hypot(across, ahead), share, as_float([0.05, 0.5, 0.95])
    )
    return Sector(
        direction_true_deg=float(np.degrees(direction)) % 360.0,
        spread_deg=float(np.degrees(weighted_quantiles(off, share, as_float([0.95]))[0])),
        near_m=float(near),
        middle_m=float(middle),
        far_m=float(far),
        at_the_edge=at_the_edge,
        long=bool(long),
        axis_true_deg=float(np.degrees(np.arctan2(vectors[0, 1], vectors[1, 1]))) % 180.0,
        length_m=4.0 * float(np.sqrt(values[1])),
        width_m=4.0 * float(np.sqrt(values[0])),
    )
