"""What the 95 % region would be if the stated errors were believed more, or less."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from plotter.fix.evidence import Bearing
from plotter.fix.likelihood import bearing_model
from plotter.fix.posterior import Posterior
from plotter.fix.region import densest_leaves

__all__ = ["half_trusted", "otherwise_km2"]


def half_trusted(bearings: Sequence[Bearing]) -> bool:
    """Whether a stated error is among them that is taken as an opinion."""
    return any(each.sigma_stated and not each.exact for each in bearings)


def otherwise_km2(after: Posterior) -> float | None:
    """Area of the 95 % region with the other trust in the stated errors.

    At face value where any of them is half trusted, half trusted where all are exact.

    Returns
    -------
    float or None
        To about a tenth: the cells are those of the posterior. None where no error was stated, or
        the thing moves.
    """
    bearings = after.bearings
    if after.model.moves_m or not any(each.sigma_stated for each in bearings):
        return None
    exact = half_trusted(bearings)
    others = [replace(b, exact=exact) if b.sigma_stated else b for b in bearings]
    leaves = after.leaves
    model = replace(after.still_model, bearings=bearing_model(after.chart, others)).in_single()
    points = after.chart.lift(leaves.x_m, leaves.y_m)
    log, _ = model.log_likelihood(points, leaves.half_side_m)
    mass = np.exp(log - log.max()) * leaves.area_m2
    chosen = densest_leaves(np.argsort(-log), mass / mass.sum(), 0.95)
    return float(leaves.area_m2[chosen].sum()) / 1e6
