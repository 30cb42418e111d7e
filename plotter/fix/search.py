"""Search theory: how likely a search finds, what is left when it did not, where effort pays most.

Sources, from memory unless said: B. O. Koopman, *Search and Screening*, OEG report 56, 1946, and
Pergamon, 1980 (sweep width, random search, best effort under the exponential law); L. D. Stone,
*Theory of Optimal Search*, Academic Press, 1975 (section 2.2; Bayes after a search that failed).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotter.errors import FormatError, GeometryError
from plotter.geodesy.arrays import BoolArray, FloatArray, as_float

__all__ = ["Effort", "SearchOutcome", "after_search", "best_effort", "coverage", "detection"]


def coverage(sweep_width_m: float, track_m: float, area_m2: float) -> float:
    """Effort over ground: swept strip over the area it is spread on.

    Parameters
    ----------
    sweep_width_m : float
        Effective sweep width, metres: as many are missed within it as are found outside it.
    track_m : float
        Length of all tracks together, metres.
    area_m2 : float
        Ground, square metres.

    Raises
    ------
    FormatError
        If a value is negative or not finite, or there is no area.

    Examples
    --------
    >>> coverage(30.0, 20_000.0, 1e6)
    0.6
    """
    if not (math.isfinite(sweep_width_m) and sweep_width_m >= 0.0):
        raise FormatError(f"a sweep width is 0 m or more: {sweep_width_m!r}")
    if not (math.isfinite(track_m) and track_m >= 0.0):
        raise FormatError(f"a length of track is 0 m or more: {track_m!r}")
    if not (math.isfinite(area_m2) and area_m2 > 0.0):
        raise FormatError(f"the ground to cover must be more than 0 m²: {area_m2!r}")
    return sweep_width_m * track_m / area_m2


def detection(coverage: float) -> float:
    """Chance that a search finds what is there, by the law of random search.

    Koopman's law 1 − exp(−coverage): tracks laid without knowledge of each other. Even, parallel
    tracks find more, so this errs on the careful side.

    Parameters
    ----------
    coverage : float
        From `plotter.fix.search.coverage`.

    Raises
    ------
    FormatError
        If it is negative or no number.

    Examples
    --------
    >>> round(detection(1.0), 3)
    0.632
    """
    if not coverage >= 0.0:
        raise FormatError(f"coverage is 0 or more: {coverage!r}")
    return -math.expm1(-coverage)


@dataclass(frozen=True, slots=True, eq=False)
class SearchOutcome:
    """What is known after ground was searched and nothing found.

    Parameters
    ----------
    mass : ndarray, shape (m,)
        Probability of every cell now; sums to 1.
    p_found : float
        Chance, before it began, that the search would find.
    p_before, p_left : float
        Chance that it is in the searched ground, before and now.
    """

    mass: FloatArray
    p_found: float
    p_before: float
    p_left: float


def after_search(mass: FloatArray, inside: BoolArray, p_detection: float) -> SearchOutcome:
    """Update probabilities after a search that found nothing (Bayes).

    Parameters
    ----------
    mass : ndarray, shape (m,)
        Probability of every cell; sums to 1.
    inside : ndarray of bool, shape (m,)
        Which cells were searched.
    p_detection : float
        Chance of finding it if it is there, from 0 up to, but not, 1: no search is certain.

    Returns
    -------
    SearchOutcome
        The order of several searches does not matter; two of the same ground with p and q are one
        with 1 − (1 − p)(1 − q), if each is independent of the other.

    Raises
    ------
    FormatError
        If the chance of detection is out of range.
    """
    if not 0.0 <= p_detection < 1.0:
        raise FormatError(
            f"a chance of detection is 0 or more and below 1, got {p_detection!r}: no search is "
            "certain"
        )
    p_before = float(mass[inside].sum())
    p_found = p_detection * p_before
    left = np.where(inside, mass * (1.0 - p_detection), mass) / (1.0 - p_found)
    return SearchOutcome(left, p_found, p_before, float(left[inside].sum()))


@dataclass(frozen=True, slots=True)
class Effort:
    """What to spend on one piece of ground.

    Parameters
    ----------
    effort_m2 : float
        Sweep width times length of track, square metres.
    p_detection : float
        Chance of finding it if it is there.
    p_found : float
        Chance of finding it there: the chance that it is there times that.
    """

    effort_m2: float
    p_detection: float
    p_found: float


def best_effort(
    probability: Sequence[float], area_m2: Sequence[float], effort_m2: float
) -> tuple[Effort, ...]:
    """Spread effort over pieces of ground so that the chance of success is greatest.

    Under the law of random search each unit of effort goes where probability per area, less what
    the effort so far has taken away, is greatest: the densest ground is searched alone until it is
    as thin as the next, then both together, and so on (Koopman; Stone, section 2.2). In closed
    form, z = A max(0, ln(p / A) − ln λ), with one λ for all.

    Parameters
    ----------
    probability : sequence of float
        Chance that it is in each piece.
    area_m2 : sequence of float
        Ground of each piece, square metres, above 0.
    effort_m2 : float
        Teams times hours times speed times sweep width, square metres.

    Returns
    -------
    tuple of Effort
        In the order given; their efforts sum to `effort_m2`.

    Raises
    ------
    FormatError
        If a value is out of range.
    GeometryError
        If no piece has any probability.

    Examples
    --------
    >>> [round(each.effort_m2, 2) for each in best_effort([0.6, 0.3], [1.0, 1.0], 1.0)]
    [0.85, 0.15]
    """
    p, area = as_float(probability), as_float(area_m2)
    if not (np.isfinite(p).all() and (p >= 0.0).all() and p.sum() <= 1.0 + 1e-9):
        raise FormatError(f"chances must lie in [0, 1] and sum to 1 at most: {list(probability)}")
    if not (np.isfinite(area).all() and (area > 0.0).all()):
        raise FormatError(f"every piece needs an area above 0 m²: {list(area_m2)}")
    if not (math.isfinite(effort_m2) and effort_m2 >= 0.0):
        raise FormatError(f"effort is 0 m² or more: {effort_m2!r}")
    if not p.any():
        raise GeometryError("no piece of ground holds any probability: there is nothing to search")
    with np.errstate(divide="ignore"):  # a piece without probability: −∞, never worth effort
        height = np.log(p / area)
    order = np.argsort(-height, kind="stable")
    order = order[np.isfinite(height[order])]
    ground = np.cumsum(area[order])
    level = (np.cumsum(area[order] * height[order]) - effort_m2) / ground
    # As many pieces as stand above their common level, densest first; rounding may deny the first.
    last = int(np.flatnonzero(height[order] >= level).max(initial=0))
    spent = area * np.maximum(height - level[last], 0.0)
    return tuple(
        Effort(z, detection(z / a), chance * detection(z / a))
        for z, a, chance in zip(spent.tolist(), area.tolist(), p.tolist(), strict=True)
    )
