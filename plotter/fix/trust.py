"""What the 95 % region would be if the stated errors were believed more, or less."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from plotter.fix.evidence import Bearing
from plotter.fix.likelihood import bearing_model
from plotter.fix.posterior import Posterior
from plotter.fix.region import densest_first, densest_leaves

__all__ = ["half_trusted", "otherwise_km2"]

_NEARLY_ALL: Final = 0.9999


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
    if exact:
        # Narrower than what is there: the emptiest cells do not count.
        held = densest_leaves(densest_first(leaves), leaves.mass, _NEARLY_ALL)
    else:
        held = np.arange(leaves.mass.size)
    area = leaves.area_m2[held]
    model = replace(after.still_model, bearings=bearing_model(after.chart, others)).in_single()
    points = after.chart.lift(leaves.x_m[held], leaves.y_m[held])
    log, _ = model.log_likelihood(points, leaves.half_side_m[held])
    mass = np.exp(log - log.max()) * area
    chosen = densest_leaves(np.argsort(-log), mass / mass.sum(), 0.95)
    return float(area[chosen].sum()) / 1e6
