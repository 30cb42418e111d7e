"""From evidence to a fix: its best point, regions, verdicts and findings."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

import numpy as np

from plotter.fix.bound import chi_square_tail, error_ellipse, least_chi_square
from plotter.fix.contour import CellFinder
from plotter.fix.evidence import Support
from plotter.fix.findings import findings_of
from plotter.fix.model import Evidence
from plotter.fix.motion import Motion
from plotter.fix.posterior import Posterior, most_likely_near, posterior
from plotter.fix.region import densest_first, region
from plotter.fix.result import BearingVerdict, Fix, ReportVerdict
from plotter.fix.shape import headline_of, shape_of, weighted_quantiles
from plotter.fix.trust import otherwise_km2
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["fix", "fix_of"]

_SAME_PLACE_M: Final = 1.0


def fix(
    evidence: Sequence[Evidence],
    support: Support | None = None,
    *,
    motion: Motion | None = None,
    at_utc: datetime | None = None,
) -> Fix:
    """Compute a fix from bearings, distances, reported places, and watches that heard or did not.

    Parameters
    ----------
    evidence : sequence of Bearing, Range, Sighting and Listening
        One or more.
    support : Support, optional
        The prior: where the thing can be before any direction. Unless a patch is stated it lies
        near those who heard it rather than far, at ranges from 0.5 to 256 km: see
        `plotter.fix.hearing`.
    motion : Motion, optional
        How the thing may move; it stands still unless given. Every report then needs its time.
    at_utc : datetime, optional
        For which time the region of a moving thing is wanted; the latest report unless given.

    Returns
    -------
    Fix
        The most likely point, the 50 % and 95 % regions, a verdict on each bearing, and what to
        tell the coordinator. Rings that cross 180° keep their longitudes in [−180, 180); a ring
        round a pole has no inside in latitude and longitude.

    Raises
    ------
    FormatError
        If there is no evidence, or something moves and a report has no time.
    GeometryError
        If the scene reaches more than 9 000 km from its middle, or more than 2 000 km and the thing
        moves.

    Accuracy
    --------
    Stated probabilities hold for the model stated: see `plotter.fix.likelihood`. The area of the
    95 % region carries a bias of about 1 % and a scatter of about 2 % from the size of the cells.

    Examples
    --------
    >>> from plotter.fix import Bearing
    >>> from plotter.geodesy.position import Position
    >>> south, west = Position(46.955, 8.0), Position(47.0, 7.934)
    >>> answer = fix([Bearing(south, 0.0, 5.0, "South"), Bearing(west, 90.0, 5.0, "West")])
    >>> round(answer.best.lat_deg, 2), round(answer.best.lon_deg, 2)
    (47.0, 8.0)
    """
    return fix_of(posterior(evidence, support, motion=motion, at_utc=at_utc))


def fix_of(after: Posterior) -> Fix:
    """Read a fix off a posterior that is there already."""
    leaves, chart = after.leaves, after.chart
    order = densest_first(leaves)
    tops: dict[int, tuple[float, float]] = {}

    def best_point(piece: IntArray) -> tuple[float, float]:
        leaf = _start(after, piece)
        if leaf not in tops:
            tops[leaf] = most_likely_near(after, leaf)
        return tops[leaf]

    finder = CellFinder(leaves, _ground(after))
    regions = tuple(region(chart, leaves, order, p, best_point, finder) for p in (0.5, 0.95))
    # The top of the heaviest piece: a spike at an observer's own place may be higher, and hold
    # next to nothing.
    best = regions[0].pieces[0].best
    x, y = chart.points([best])[:2, 0].tolist()
    chi2, degrees_of_freedom = 0.0, max(after.told.size + _places(after) - 2, 0)
    if after.told.size:
        chi2, _ = least_chi_square(chart, after.still_model, x, y)
    ellipse = error_ellipse(after.evidence, best) if after.told.size + _places(after) > 1 else None
    if ellipse is not None and ellipse.semi_major_m > leaves.radius_m:
        ellipse = None
    headline = headline_of(after, order)
    shape = shape_of(after, headline)
    silent = Fix(
        best=best,
        regions=regions,
        bearings=_verdicts(after, x, y),
        others=_other_verdicts(after, x, y),
        p_all_good=float(after.all_good.sum()),
        chi2=chi2,
        degrees_of_freedom=degrees_of_freedom,
        p_chi2=chi_square_tail(chi2, degrees_of_freedom),
        ellipse=ellipse,
        shape=shape.kind,
        findings=(),
        otherwise_km2=otherwise_km2(after),
    )
    return replace(
        silent,
        findings=findings_of(silent, after, headline, shape),
        bearings=_as_given(after, silent.bearings),
    )


def _ground(after: Posterior) -> FloatArray | None:
    """Logarithm of the weight of the ground of each leaf; None where all ground is alike."""
    ground = after.model.ground
    points = after.chart.lift(after.leaves.x_m, after.leaves.y_m)
    return ground.log_weight(points) if ground.shapes else None


def _start(after: Posterior, piece: IntArray) -> int:
    """Choose where to climb from: the densest leaf, or the middle of a line seen from one place."""
    leaves = after.leaves
    if len(after.bearings) < len(after.evidence):
        return int(piece[0])
    observers = after.chart.points(after.observers)[:2]
    here = observers[:, 0]
    if np.abs(observers - here[:, None]).max() > _SAME_PLACE_M:
        return int(piece[0])
    # Along such a line no distance is likelier than another: take the one with half of the piece
    # on either side.
    distance = np.hypot(leaves.x_m[piece] - here[0], leaves.y_m[piece] - here[1])
    weight = after.all_good[piece] + 1e-12 * leaves.mass[piece]
    half = weighted_quantiles(distance, weight, as_float([0.5]))[0]
    return int(piece[np.argmax(np.abs(distance - half) <= 0.1 * half)])


def _places(after: Posterior) -> int:
    """How many places are reported: each of them counts for two numbers."""
    return 0 if after.model.sightings is None else after.model.sightings.count


def _verdicts(after: Posterior, x_m: float, y_m: float) -> tuple[BearingVerdict, ...]:
    if after.model.bearings is None:
        return ()
    point = after.chart.lift(as_float([x_m]), as_float([y_m]))
    residual, _ = after.model.bearings.residuals_rad(point)
    return tuple(
        BearingVerdict(bearing.sender, good, back, max(1.0 - good - back, 0.0), off, near)
        for bearing, good, back, off, near in zip(
            after.bearings,
            (after.good @ after.leaves.mass).tolist(),
            (after.reciprocal @ after.leaves.mass).tolist(),
            np.degrees(residual[:, 0]).tolist(),
            (after.near[: len(after.bearings)] @ after.leaves.mass).tolist(),
            strict=True,
        )
    )


def _as_given(after: Posterior, verdicts: tuple[BearingVerdict, ...]) -> tuple[BearingVerdict, ...]:
    """One for each bearing that was given: repeats have that of the one that they count as."""
    found = []
    for bearing, row in zip(after.given, after.row_of, strict=True):
        more = math.remainder(bearing.bearing_true_deg - after.bearings[row].bearing_true_deg, 360)
        off = math.remainder(verdicts[row].residual_deg + more, 360.0)
        found.append(replace(verdicts[row], residual_deg=off) if more else verdicts[row])
    return tuple(found)


def _other_verdicts(after: Posterior, x_m: float, y_m: float) -> tuple[ReportVerdict, ...]:
    point = after.chart.lift(as_float([x_m]), as_float([y_m]))
    good = (after.right[len(after.bearings) :] @ after.leaves.mass).tolist()
    kinds, off = [], []
    for kind, part in (("distance", after.model.ranges), ("place", after.model.sightings)):
        if part is not None:
            kinds += [kind] * part.count
            off += part.residuals_m(point)[:, 0].tolist()
    senders = [after.evidence[i].sender for i in after.told[len(after.bearings) :]]
    return tuple(
        ReportVerdict(kind, sender, p, metres)
        for kind, sender, p, metres in zip(kinds, senders, good, off, strict=True)
    )
