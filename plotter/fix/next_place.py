"""Where the next bearing tells most: candidates ranked by what their report would say.

One report is worth the entropy of its outcome less the entropy that is left when the place is known
(mutual information). The few best get the area that would remain, over the outcomes to be expected.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.errors import GeometryError
from plotter.fix.next_area import areas_after, present_area_km2
from plotter.fix.next_report import NextReport, plogp
from plotter.fix.posterior import Posterior
from plotter.fix.reachable import Candidate
from plotter.fix.wording import percent_words
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.position import Position

__all__ = ["Advice", "NextPlace", "Outcomes", "next_places", "outcomes_at"]

_SAMPLES: Final = 1500
# Candidates in one table of samples: a megabyte, which stays in the processor's cache.
_LOT: Final = 64
# Of the points of an area, neighbours say the same: the next one named is this part of the
# candidates' extent away from those before it.
_APART: Final = 0.2
# Four fifths of the ground left is not worth a walk; assumed.
_HELPS: Final = 0.8
# What 90 % of a bearing's own error spans is 3.3 of these; less than that is told by none.
_NARROW_SIGMAS: Final = 4.0


@dataclass(frozen=True, slots=True)
class NextPlace:
    """A place to listen from, and what that is expected to give.

    Parameters
    ----------
    position : Position
        Where.
    name : str
        What people call it; may be empty.
    information_bits : float
        What one report from there tells on average; one bit halves what is possible.
    p_heard : float
        Chance that the signal is heard there.
    expected_area_km2 : float
        Mean area of the 95 % region after one report from there, heard or not, right or wrong.
    median_area_km2 : float
        Every second report leaves less than this.
    """

    position: Position
    name: str
    information_bits: float
    p_heard: float
    expected_area_km2: float
    median_area_km2: float


@dataclass(frozen=True, slots=True)
class Advice:
    """Where to listen next.

    Parameters
    ----------
    present_area_km2 : float
        Area of the 95 % region now, of the full mixture with its chances of wrong bearings.
    places : tuple of NextPlace
        Smallest product of mean and median area first.
    reason : str
        Why none of them helps, where neither the mean nor the median area of any is below four
        fifths of the present one; else empty.
    """

    present_area_km2: float
    places: tuple[NextPlace, ...]
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Outcomes:
    """What a report from each of n candidates can be.

    Parameters
    ----------
    information_bits : ndarray, shape (n,)
        Mutual information of the report and the place that is looked for.
    heard : ndarray, shape (n, bins)
        Chance of hearing it with the bearing in each bin, from north clockwise; bin 0 is centred on
        north.
    silent : ndarray, shape (n,)
        Chance of not hearing it.
    """

    information_bits: FloatArray
    heard: FloatArray
    silent: FloatArray


def next_places(
    after: Posterior,
    candidates: Sequence[Candidate],
    *,
    rng: np.random.Generator,
    sigma_deg: float = 6.0,
    hearing_range_m: float | None = None,
    observer_sigma_m: float = 15.0,
    count: int = 5,
) -> Advice:
    """Rank places to take one more bearing from.

    All candidates are ranked by information. For the best of them the 95 % area to be expected is
    computed, and they are put in its order: see `plotter.fix.next_area.areas_after`. The mean area
    counts the reports that will be wrong, so that a right one usually leaves less. The present area
    is measured on the same cells.

    Parameters
    ----------
    after : Posterior
        What is known now.
    candidates : sequence of Candidate
        Reachable places, see `plotter.fix.reachable`.
    rng : numpy.random.Generator
        Draws the samples; the same state gives the same advice.
    sigma_deg : float
        One standard deviation of the next bearing.
    hearing_range_m : float or None
        Distance at which every second transmission is heard; None where it is always heard.
    observer_sigma_m : float
        One standard deviation of the listener's own position, per axis.
    count : int
        How many places to give at most.

    Returns
    -------
    Advice
        At most `count` places. Points without a name that lie beside a better one are passed over.

    Raises
    ------
    GeometryError
        If there is no candidate, or one is more than 2 000 km away.

    Accuracy
    --------
    The area is that of the cells at hand, which are not cut finer: within about a tenth of that of
    a new fix, see the tests. Hills, walls and the way there are not known to it.

    Source
    ------
    Lindley, On a measure of the information provided by an experiment, Annals of Mathematical
    Statistics 27 (1956), from memory.
    """
    if not candidates:
        raise GeometryError(
            "no place to listen from is within reach: give a longer time, a wider area or places"
        )
    report = NextReport(sigma_deg, observer_sigma_m, hearing_range_m)
    outcomes = outcomes_at(after, candidates, report, rng=rng)
    present_km2 = present_area_km2(after)
    places = []
    for i in _best_apart(after, candidates, outcomes.information_bits, count):
        silent, here = float(outcomes.silent[i]), candidates[i]
        mean_km2, median_km2 = areas_after(after, here.position, report, outcomes.heard[i], silent)
        information_bits = float(outcomes.information_bits[i])
        places.append(
            NextPlace(
                here.position, here.name, information_bits, 1.0 - silent, mean_km2, median_km2
            )
        )
    # The mean is ruled by the rare wrong report, the median knows nothing of it: both count.
    places.sort(key=lambda place: place.expected_area_km2 * place.median_area_km2)
    # The mean alone would call a place useless where the one wrong report in ten opens new ground.
    left_km2 = min(min(place.expected_area_km2, place.median_area_km2) for place in places)
    helps = left_km2 <= _HELPS * present_km2
    return Advice(present_km2, tuple(places), "" if helps else _why_not(after, places, report))


def outcomes_at(
    after: Posterior,
    candidates: Sequence[Candidate],
    report: NextReport,
    *,
    rng: np.random.Generator,
) -> Outcomes:
    """Chances and information of a report from each candidate, over 1 500 possible places.

    Raises
    ------
    GeometryError
        If a candidate is more than 2 000 km from the middle of the scene.
    """
    positions = [candidate.position for candidate in candidates]
    after.chart.check_reach(positions)
    points = _samples(after, rng)
    slip = rng.standard_normal(_SAMPLES)
    known = report.entropies()
    lots = [
        _outcomes(after, positions[first : first + _LOT], points, slip, report, known)
        for first in range(0, len(positions), _LOT)
    ]
    return Outcomes(*(np.concatenate(part) for part in zip(*lots, strict=True)))


def _outcomes(
    after: Posterior,
    positions: Sequence[Position],
    points: FloatArray,
    slip: FloatArray,
    report: NextReport,
    entropies: tuple[FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    bins, sigma = report.bins, math.radians(report.sigma_deg)
    east, north = after.chart.sights(positions).components(points)
    # A metre more keeps a candidate's own place from being infinitely near.
    distance2 = east * east + north * north + 1.0
    distance = np.sqrt(distance2)
    # The listener's own error turns the bearing by this much; it is part of what is predicted.
    azimuth = np.arctan2(east, north) + (report.observer_sigma_m / distance) * slip
    column = np.rint(azimuth * (bins / (2.0 * np.pi))).astype(np.int64) % bins
    column += bins * np.arange(len(positions))[:, None]
    p_heard = report.p_heard(distance)
    known = np.interp(sigma * sigma + report.observer_sigma_m**2 / distance2, *entropies)
    true = np.bincount(column.ravel(), p_heard.ravel(), bins * len(positions))
    true = true.reshape(-1, bins) / points.shape[1]
    spectrum = np.fft.rfft(report.kernel(sigma))
    heard = np.maximum(np.fft.irfft(np.fft.rfft(true) * spectrum, bins), 0.0)
    silent = 1.0 - p_heard.mean(axis=1)
    told = plogp(heard).sum(axis=1) + plogp(silent) - (p_heard * known).mean(axis=1)
    if report.hearing_range_m is not None:
        told -= (plogp(p_heard) + plogp(1.0 - p_heard)).mean(axis=1)
    return np.maximum(told, 0.0) / math.log(2.0), heard, silent


def _samples(after: Posterior, rng: np.random.Generator) -> FloatArray:
    """Possible places, one in each equal share of the probability, lifted; shape (3, 1500)."""
    leaves = after.leaves
    held = np.cumsum(leaves.mass)
    share = (np.arange(_SAMPLES) + rng.uniform(size=_SAMPLES)) / _SAMPLES
    at = np.searchsorted(held, share * held[-1]).clip(max=held.size - 1)
    half = leaves.half_side_m[at]
    x = leaves.x_m[at] + half * rng.uniform(-1.0, 1.0, _SAMPLES)
    y = leaves.y_m[at] + half * rng.uniform(-1.0, 1.0, _SAMPLES)
    return after.chart.lift(x, y)


def _best_apart(
    after: Posterior, candidates: Sequence[Candidate], value: FloatArray, count: int
) -> list[int]:
    points = after.chart.points([candidate.position for candidate in candidates])[:2]
    apart = _APART * float(np.hypot(*(points.max(axis=1) - points.min(axis=1))))
    chosen: list[int] = []
    for i in np.argsort(-value, kind="stable").tolist():
        if len(chosen) == count:
            break
        away = np.hypot(*(points[:, chosen] - points[:, i, None]))
        if candidates[i].name or not (away < apart).any():
            chosen.append(i)
    return chosen


def _why_not(after: Posterior, places: Sequence[NextPlace], report: NextReport) -> str:
    """Say what keeps every one of the best places from helping."""
    likeliest = max(place.p_heard for place in places)
    if likeliest < 0.5:
        return (
            f"it is not likely to be heard from any of these places ({percent_words(likeliest)} at "
            "most): look for places nearer to it"
        )
    widest = max(_seen_deg(after, place.position) for place in places)
    if widest < _NARROW_SIGMAS * report.sigma_deg:
        return (
            f"seen from these places all that is likely lies within {max(widest, 1.0):.0f}°, and a "
            f"bearing of ± {report.sigma_deg:g}° cannot tell more: look for places nearer to it, "
            "or farther to the side of the present lines"
        )
    return (
        "from these places one more bearing would leave the region open where it is open now: look "
        "for places farther to the side of the present lines, or nearer to it"
    )


def _seen_deg(after: Posterior, place: Position) -> float:
    """Angle that holds 90 % of what is possible, as seen from a place."""
    leaves = after.leaves
    points = after.chart.lift(leaves.x_m, leaves.y_m)
    azimuth = after.chart.sights([place]).azimuth_deg(points)[0]
    turns = np.bincount(np.rint(azimuth).astype(np.int64) % 360, leaves.mass, 360)
    # Shortest arc that holds it: the window between two counts of the running sum.
    held = np.concatenate(([0.0], np.cumsum(np.tile(turns, 2))))
    ends = np.searchsorted(held, held[:360] + 0.9 * held[360])
    return float((ends - np.arange(360)).min())
