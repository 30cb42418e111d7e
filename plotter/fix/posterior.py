"""Where the thing can be, given all evidence: the grid, its weights, and the most likely point."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np

from plotter.errors import FormatError, GeometryError
from plotter.fix.chart import REACH_M, AnyChart, chart_at, mean_position
from plotter.fix.evidence import Bearing, Support
from plotter.fix.hearing import Hearing, heard_from, hearing_prior, longest_m
from plotter.fix.listening import Listening
from plotter.fix.mixture import Shares
from plotter.fix.model import Evidence, Model, model_of
from plotter.fix.motion import Motion
from plotter.fix.quadtree import MOST_LEAVES, TOLERANCE, Leaves, coarse_grid, grow
from plotter.fix.ranges import Range
from plotter.fix.repeats import Repeat, merged
from plotter.fix.wide_chart import WIDE_REACH_M, WideChart
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.position import Position

__all__ = ["DEFAULT_REACH_M", "Posterior", "log_density", "most_likely_near", "posterior"]

DEFAULT_REACH_M: Final = 60_000.0
"""How far from the middle a wrong distance or place may lie, where the reports stand close; and
where a thing is looked for that nobody heard. Assumed."""

_POLISH_STEPS: Final = 12


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """The probability of every cell, and of every report's faults in it.

    Parameters
    ----------
    evidence : tuple
        All reports that count: bearings that were repeated are one.
    given : tuple of Bearing
        The bearings as given.
    row_of : tuple of int
        For each of those, which of the bearings that count it is a part of.
    repeats : tuple of Repeat
        What was repeated.
    chart : Chart or WideChart
        Centred on the support.
    model : Model
        The evidence on that chart.
    still_model : Model
        The same in double precision, and as if the thing stood still, its way being part of the
        errors.
    leaves : Leaves
        The m cells.
    told : ndarray of int, shape (n,)
        Which pieces of the evidence the rows below are about: bearings first, then distances, then
        places. Watches are neither right nor wrong.
    right, back, near : ndarray, shape (n, m)
        Chance that a report is right, or the reciprocal, or right and no farther off than its
        stated error leads to expect, if the truth lies in the cell.
    all_good : ndarray, shape (m,)
        Chance that the truth lies in the cell and every report is right.
    hearing : Hearing or None
        How far it may be heard, where that is the prior of the place.
    """

    evidence: tuple[Evidence, ...]
    chart: AnyChart
    model: Model
    still_model: Model
    leaves: Leaves
    told: IntArray
    right: FloatArray
    back: FloatArray
    near: FloatArray
    all_good: FloatArray
    hearing: Hearing | None
    given: tuple[Bearing, ...] = ()
    row_of: tuple[int, ...] = ()
    repeats: tuple[Repeat, ...] = ()

    @property
    def bearings(self) -> tuple[Bearing, ...]:
        """The bearings among the evidence."""
        return tuple(each for each in self.evidence if isinstance(each, Bearing))

    @property
    def reports(self) -> tuple[Evidence, ...]:
        """All evidence: what `told` tells, in that order, then the watches."""
        told = self.told.tolist()
        watches = [i for i in range(len(self.evidence)) if i not in set(told)]
        return tuple(self.evidence[i] for i in (*told, *watches))

    @property
    def observers(self) -> list[Position]:
        """Where every report was made, or what place it named."""
        return [each.observer for each in self.evidence]

    @property
    def good(self) -> FloatArray:
        """Chance that a bearing is right, if the truth lies in the cell, (bearings, m)."""
        return self.right[: len(self.bearings)]

    @property
    def reciprocal(self) -> FloatArray:
        """Chance that a bearing is the reciprocal, if the truth lies in the cell, (bearings, m)."""
        return self.back[: len(self.bearings)]


def posterior(
    evidence: Sequence[Evidence],
    support: Support | None = None,
    *,
    motion: Motion | None = None,
    at_utc: datetime | None = None,
    tolerance: float | None = None,
    most_leaves: int = MOST_LEAVES,
) -> Posterior:
    """Compute the posterior of a place.

    Parameters
    ----------
    evidence : sequence of Bearing, Range, Sighting and Listening
        One or more.
    support, motion, at_utc : optional
        As for `plotter.fix.fix`.
    tolerance, most_leaves
        As for `plotter.fix.quadtree.grow`; 1/1500 unless given for what moves: many ways together
        have no narrow ridges.

    Raises
    ------
    FormatError
        If there is no evidence, or something moves and a report has no time.
    GeometryError
        If the scene reaches more than 9 000 km from its middle, or more than 2 000 km and the thing
        moves.
    """
    if not evidence:
        raise FormatError("a fix needs at least one bearing, got none; give a bearing first")
    given = tuple(each for each in evidence if isinstance(each, Bearing))
    # What moves is told something new by each.
    count, row_of, repeats = merged(given) if motion is None else (given, range(len(given)), ())
    evidence = (*count, *(each for each in evidence if not isinstance(each, Bearing)))
    chart, radius, reach, hearing = _scene(evidence, support or Support())
    ground = support.ground if support is not None else ()
    still, told = model_of(
        chart, evidence, reach, ground, motion, at_utc, hearing=hearing, one_way=True
    )
    if motion is None:
        model = still.in_single()
    else:
        moving, _ = model_of(chart, evidence, reach, ground, motion, at_utc, hearing=hearing)
        model = moving.in_single()
        x, y, half_side = coarse_grid(radius)
        points = chart.lift(x, y)
        area = 4.0 * half_side**2 * chart.area_element(points)
        model = model.without_unlikely_moves(points, half_side, area)
    if tolerance is None:
        tolerance = TOLERANCE if motion is None else 1 / 1500
    shares: list[Shares] = []

    def density(
        x: FloatArray, y: FloatArray, half_side: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        points = chart.lift(x, y)
        log_likelihood, finest = model.log_likelihood(points, half_side, shares)
        return log_likelihood, chart.area_element(points), finest

    leaves = grow(density, radius, tolerance=tolerance, most_leaves=most_leaves)
    if model.ground.shapes:
        leaves = _each_on_its_side(chart, model, leaves)
    right, back, near, all_good = (
        np.take(np.concatenate(each, axis=-1), leaves.asked, axis=-1)
        for each in zip(*shares, strict=True)
    )
    return Posterior(
        evidence=evidence,
        chart=chart,
        model=model,
        still_model=still,
        leaves=leaves,
        told=told,
        right=right,
        back=back,
        near=near,
        all_good=leaves.mass * all_good,
        hearing=hearing if support is None or support.radius_m is None else None,
        given=given,
        row_of=tuple(row_of),
        repeats=repeats,
    )


def _each_on_its_side(chart: AnyChart, model: Model, leaves: Leaves) -> Leaves:
    """Cells that an edge of ground runs through, small now, weigh what their middles do."""
    points = chart.lift(leaves.x_m, leaves.y_m)
    weight, _ = model.ground.log_weight_of_cells(points, leaves.half_side_m)
    log_density = leaves.log_density + model.ground.log_weight(points) - weight
    mass = np.exp(log_density - log_density.max()) * leaves.area_m2
    return replace(leaves, log_density=log_density, mass=mass / mass.sum())


def _scene(
    evidence: Sequence[Evidence], support: Support
) -> tuple[AnyChart, float, float, Hearing | None]:
    """Choose the chart, half the side of the ground, how far wrong reports reach, and hearing."""
    observers = [each.observer for each in evidence]
    centre = mean_position(observers) if support.centre is None else support.centre
    near = chart_at(centre)
    # As the crow flies through the Earth; within reach that is the way on the chart.
    spread = near.reach_m(observers)
    farthest = max((each.distance_m for each in evidence if isinstance(each, Range)), default=0.0)
    reach = max(3.0 * spread, 1.5 * (spread + farthest), DEFAULT_REACH_M)
    heard = heard_from(near, evidence) if support.radius_m is None else []
    radius = support.radius_m
    if radius is None:
        radius = max(reach, 2.0 * longest_m(near, evidence, heard)) if heard else reach
        if spread <= REACH_M:
            radius = min(radius, REACH_M)
    chart: AnyChart = near
    if max(radius, spread) > REACH_M:
        chart = wide = WideChart(centre)
        if support.radius_m is None:
            radius = min(radius, WIDE_REACH_M)
        wide.check_reach(observers)
        if radius > WIDE_REACH_M:
            raise GeometryError(
                f"a support of {radius / 1000:.0f} km is too wide: a fix reaches "
                f"{WIDE_REACH_M / 1000:.0f} km from its middle; give a smaller radius"
            )
    hearing = None
    if heard or any(isinstance(e, Listening) and e.range_m is None for e in evidence):
        hearing = hearing_prior(chart, evidence, heard, radius, support.area)
    return chart, radius, radius if support.radius_m is not None else min(reach, radius), hearing


def log_density(after: Posterior, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
    """Logarithm of the density at bare points, per m² of ground, not normalised; shape (m,)."""
    points = after.chart.lift(x_m, y_m)
    # Steps of a climb are small: single precision would show.
    model = after.model if after.model.moves_m else after.still_model
    value, _ = model.log_likelihood(points, np.zeros_like(x_m))
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
    f = log_density(after, here[0] + offsets[:, 0], here[1] + offsets[:, 1])
    for _ in range(_POLISH_STEPS):
        slope = as_float([f[1] - f[2], f[3] - f[4]]) / (2.0 * step)
        cross = (f[5] + f[6] - f[7] - f[8]) / 4.0
        bend = as_float([[f[1] - 2 * f[0] + f[2], cross], [cross, f[3] - 2 * f[0] + f[4]]])
        values, vectors = np.linalg.eigh(bend / step**2)
        hollow = np.maximum(-values, 0.0)
        firm = hollow > max(1e-7 * hollow.max(), 1e-12 / reach**2)
        along = np.where(firm, (vectors.T @ slope) / np.where(firm, hollow, 1.0), 0.0)
        move = vectors @ along
        length = float(np.hypot(*move))
        if length < 1e-3 * step:
            break
        if length > reach:
            move *= reach / length
        for shorter in (1.0, 0.5, 0.25, 0.0625):
            there = np.clip(here + shorter * move, -leaves.radius_m, leaves.radius_m)
            # Its neighbours at once: a step that goes uphill is taken, and they are needed then.
            g = log_density(after, there[0] + offsets[:, 0], there[1] + offsets[:, 1])
            if g[0] > f[0]:
                break
        else:
            break
        here, f = there, g
    return float(here[0]), float(here[1])
