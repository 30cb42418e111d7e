"""When a fix is a direction or a strip rather than a point, and how to say which."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.fix.chart import mean_position
from plotter.fix.posterior import Posterior
from plotter.fix.region import NOTABLE_SHARE, densest_first, densest_leaves
from plotter.fix.result import Region
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["Headline", "Sector", "headline_of", "sector_of", "weighted_quantiles"]

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


@dataclass(frozen=True, slots=True, eq=False)
class Headline:
    """What the first sentence is about.

    With one or two reports it is what holds if they are right, since nothing can tell that they are
    wrong; from three on, the full posterior.

    Parameters
    ----------
    weights : ndarray, shape (m,)
        Probability of each leaf; sums to 1.
    chosen : ndarray of int
        The leaves of its 95 % region, densest first.
    area_km2 : float
        Their area.
    at_the_edge : bool
        Whether more than 1 % of the weight lies in the outer 5 % of the support.
    """

    weights: FloatArray
    chosen: IntArray
    area_km2: float
    at_the_edge: bool


def headline_of(after: Posterior, order: IntArray) -> Headline:
    """Read off what the first sentence is about; `order` is that of the leaves by density."""
    leaves, weights = after.leaves, after.leaves.mass
    total = float(after.all_good.sum())
    if 0 < after.told.size <= 2 and total > 1e-12:
        weights = np.asarray(after.all_good / total)
        order = densest_first(leaves, weights)
    chosen = densest_leaves(order, weights, 0.95)
    outer = np.maximum(np.abs(leaves.x_m), np.abs(leaves.y_m)) > _OUTER * leaves.radius_m
    return Headline(
        weights,
        chosen,
        float(leaves.area_m2[chosen].sum()) / 1e6,
        at_the_edge=float(weights[outer].sum()) > _OUTER_SHARE,
    )


def weighted_quantiles(values: FloatArray, weights: FloatArray, shares: FloatArray) -> FloatArray:
    """Values below which the given shares of the weight lie."""
    order = np.argsort(values)
    held = np.cumsum(weights[order])
    at = np.searchsorted(held, shares * held[-1]).clip(max=values.size - 1)
    return np.asarray(values[order][at])


def sector_of(after: Posterior, headline: Headline, region95: Region) -> Sector | None:
    """Describe the region as a direction or a strip, or give None where a point describes it.

    Parameters
    ----------
    after : Posterior
        The posterior.
    headline : Headline
        What the first sentence is about.
    region95 : Region
        Its 95 % region; from three reports on, several notable pieces are told one by one.
    """
    count = after.told.size
    if count > 2 and sum(piece.share >= NOTABLE_SHARE for piece in region95.pieces) > 1:
        return None
    weights, chosen, at_the_edge = headline.weights, headline.chosen, headline.at_the_edge
    x, y = after.leaves.x_m, after.leaves.y_m
    share = weights[chosen] / weights[chosen].sum()
    east = x[chosen] - share @ x[chosen]
    north = y[chosen] - share @ y[chosen]
    about = np.stack((east, north))
    values, vectors = np.linalg.eigh((about * share) @ about.T)
    values = np.maximum(values, 1e-6)
    long = values[1] > _LONG**2 * values[0]
    if not (at_the_edge or long or (count == 1 and len(after.bearings) == 1)):
        return None
    centre = mean_position(after.observers)
    points = after.chart.lift(x[chosen], y[chosen])
    across, ahead = (part[0] for part in after.chart.sights([centre]).components(points))
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
