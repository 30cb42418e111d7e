"""What being heard says of how far away a signal is: the prior of every place, and watches.

How far the signal is heard is not known. It is held possible at ranges of 0.5, 1, 2 … km, short
ones first, and whoever took a bearing or a distance heard it. With h(u) = 1/(1 + u^2.5) the chance
of being heard at u times the range R,

    p(x) = Σ_k w_k G_k(x) / ∫ G_k,   G_k(x) = Π_i h(d_i(x)/R_k),   w_k ∝ R_k^−½ · max G_k.

Watches were asked whether they hear it, and are answers under each R_k. A wrong direction was heard
all the same, so this does not hang on which bearings are right. All of it is assumed; what else was
tried is in DEVELOPERS.md.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotter.fix.chart import AnyChart, AnySights
from plotter.fix.evidence import Bearing
from plotter.fix.listening import Listening
from plotter.fix.mixture import Held, Shares
from plotter.fix.ranges import Range
from plotter.fix.ways import Ways, moved_ways, ways_to
from plotter.geodesy.arrays import BoolArray, FloatArray, as_float
from plotter.geodesy.position import Area

__all__ = ["Hearing", "HearingModel", "Seen", "heard_from", "hearing_model", "hearing_prior"]

SHORTEST_M: Final = 500.0
LONGEST_M: Final = 256_000.0
_LONGEST_SPREADS: Final = 30.0
_DECAY: Final = 2.5
_STEEPNESS: Final = 1.0 / _DECAY
_MOST_HEARD: Final = 6
_SAME_PLACE_M: Final = 100.0
_KNOWN_M: Final = 1_000.0
_RANGE_LOG_SD: Final = 0.5
_NEGLIGIBLE: Final = 1e-3
_AREA_WEIGHT: Final = 0.25
_FLOOR: Final = 0.02
# The mesh that G is summed over: cells no wider than this beside their distance, and a little.
_MESH: Final = 0.25
_MESH_M: Final = 60.0
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)


def heard_from(chart: AnyChart, evidence: Sequence[object]) -> list[int]:
    """Which reports say where the signal was heard: at most six, the farthest apart.

    Bearings and distances; where there are none, the watches that heard it. None lies within 100 m
    of another: the same place twice is not twice as much. Nor does one tell how far it is heard who
    does not know where he stands himself.
    """
    rows = [i for i, each in enumerate(evidence) if isinstance(each, Bearing | Range)]
    if not rows:
        rows = [i for i, e in enumerate(evidence) if isinstance(e, Listening) and e.heard]
    if not rows:
        return []
    places = chart.points([evidence[i].observer for i in rows])[:2].T  # type: ignore[attr-defined]
    away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    sure = _well_placed(evidence, rows, away)
    rows, away = [rows[i] for i in sure], away[np.ix_(sure, sure)]
    chosen = [int(away.sum(axis=1).argmax())]
    while len(chosen) < min(_MOST_HEARD, len(rows)):
        nearest = away[:, chosen].min(axis=1)
        farthest = int(nearest.argmax())
        if nearest[farthest] <= _SAME_PLACE_M:
            break
        chosen.append(farthest)
    return sorted(rows[i] for i in chosen)


def _well_placed(evidence: Sequence[object], rows: Sequence[int], away_m: FloatArray) -> list[int]:
    """Which of them are known to a third of the way to the next one, or to a kilometre; or all."""
    sigma = as_float([evidence[i].observer_sigma_m for i in rows])  # type: ignore[attr-defined]
    apart = away_m + np.where(np.eye(len(rows)) > 0, np.inf, 0.0)
    nearest = apart.min(axis=1)
    sure = sigma <= np.maximum(_KNOWN_M, nearest / 3.0)
    return np.flatnonzero(sure).tolist() or list(range(len(rows)))


@dataclass(frozen=True, slots=True, eq=False)
class Hearing:
    """How far the signal may be heard, and what that says of the place.

    Parameters
    ----------
    rows : tuple of int
        Which reports say where it was heard; empty where the place has another prior.
    half_heard_m : ndarray, shape (k,)
        Distances at which half of the listeners hear it.
    weights : ndarray, shape (k,)
        How likely each is; they sum to 1.
    per_m2 : ndarray, shape (k,)
        1/∫G_k dA; 1 where there is no G.
    area : Area or None
        The area of operations: with a quarter of the weight the place is anywhere in it.
    stated : bool
        Whether anybody said how far it is heard.
    """

    rows: tuple[int, ...]
    half_heard_m: FloatArray
    weights: FloatArray
    per_m2: FloatArray
    area: Area | None
    stated: bool


def stated_range_m(evidence: Sequence[object]) -> float | None:
    """Middle of the ranges that watches state, geometric; None where none does."""
    stated = [e.range_m for e in evidence if isinstance(e, Listening) and e.range_m is not None]
    return math.exp(sum(map(math.log, stated)) / len(stated)) if stated else None


def longest_m(chart: AnyChart, evidence: Sequence[object], rows: Sequence[int]) -> float:
    """Longest range that is held possible: 256 km, or 30 times the spread of who heard it."""
    places = chart.points([evidence[i].observer for i in rows])[:2]  # type: ignore[attr-defined]
    about = places - places.mean(axis=1, keepdims=True)
    return max(LONGEST_M, _LONGEST_SPREADS * float(np.sqrt((about**2).sum(axis=0).mean())))


def hearing_prior(
    chart: AnyChart,
    evidence: Sequence[object],
    rows: Sequence[int],
    radius_m: float,
    area: Area | None = None,
) -> Hearing:
    """Weigh the ranges by how well they explain that all of these were heard.

    Parameters
    ----------
    chart : Chart or WideChart
        The chart.
    evidence : sequence
        All reports.
    rows : sequence of int
        From `heard_from`; may be empty.
    radius_m : float
        Half the side of the ground that is computed.
    area : Area or None
        The area of operations.
    """
    top = min(max(0.5 * radius_m, SHORTEST_M), 2.0 * LONGEST_M if not rows else np.inf)
    count = max(math.ceil(math.log2(top / SHORTEST_M) - 1e-9), 0) + 1
    half_heard = SHORTEST_M * 2.0 ** np.arange(count)
    weights = half_heard**-0.5
    nominal = stated_range_m(evidence)
    if nominal is not None:
        weights *= np.exp(-0.5 * (np.log(half_heard / nominal) / _RANGE_LOG_SD) ** 2)
    per_m2 = np.ones(count)
    if rows:
        u, ground = _mesh(chart, evidence, rows, radius_m)
        for k, range_m in enumerate(half_heard.tolist()):
            heard = 1.0 / np.multiply.reduce(1.0 + u * range_m**-_DECAY)
            per_m2[k] = 1.0 / float(heard @ ground)
            weights[k] *= float(heard.max())
    weights /= weights.sum()
    kept = weights > _NEGLIGIBLE
    return Hearing(
        tuple(rows),
        as_float(half_heard[kept]),
        weights[kept] / weights[kept].sum(),
        per_m2[kept],
        area,
        nominal is not None,
    )


def _mesh(
    chart: AnyChart, evidence: Sequence[object], rows: Sequence[int], radius_m: float
) -> tuple[FloatArray, FloatArray]:
    """Distances to the power of the decay, (n, m), and ground of cells that grow with distance."""
    sights = chart.sights([evidence[i].observer for i in rows])  # type: ignore[attr-defined]
    side = (np.arange(16) + 0.5) / 8.0 - 1.0
    x, y = (radius_m * grid.ravel() for grid in np.meshgrid(side, side))
    half = radius_m / 16.0
    powers, ground = [], []
    while x.size:
        points = chart.lift(x, y)
        distance = sights.distance_m(points)
        fine = half <= _MESH * distance.min(axis=0) + _MESH_M
        powers.append(_to_the_decay(distance[:, fine] ** 2))
        ground.append(4.0 * half * half * chart.area_element(points[:, fine]))
        half *= 0.5
        x = (x[~fine, None] + half * as_float([-1, 1, -1, 1])).ravel()
        y = (y[~fine, None] + half * as_float([-1, -1, 1, 1])).ravel()
    return np.concatenate(powers, axis=1), np.concatenate(ground)


def _to_the_decay(square_m2: FloatArray) -> FloatArray:
    """Distance to the power 2.5, from its square."""
    return square_m2 * np.sqrt(np.sqrt(square_m2))


class Seen(NamedTuple):
    """Ways from who heard it and from the watches to points, and which points the area holds."""

    heard: Ways | None
    watched: Ways | None
    in_area: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class HearingModel:
    """Who heard it, and the watches, ready for points of a chart.

    Parameters
    ----------
    heard_sights : Sights or None
        Where it was heard, n of them.
    heard_variance_m2 : ndarray, shape (n, 1)
        What is not known of the distance from there, twice the variance along each axis.
    near : ndarray, shape (k,)
        1/R_k^2.5; its precision is that of the sum over the ranges.
    dense, weights : ndarray, shape (k,)
        Weight of each range, with and without its 1/∫G.
    sights : Sights or None
        The watches, j of them.
    said_heard, p_transmitting, variance_m2 : ndarray, shape (j, 1)
        What they said, how often it transmits, and as above.
    log_half_heard : ndarray, shape (k, j, 1)
        Logarithm of the range of each watch.
    area_m : tuple of float or None
        Area of operations: x, y and radius on the chart.
    """

    heard_sights: AnySights | None
    heard_variance_m2: FloatArray
    near: NDArray[np.floating]
    dense: FloatArray
    weights: FloatArray
    sights: AnySights | None
    said_heard: FloatArray
    p_transmitting: FloatArray
    variance_m2: FloatArray
    log_half_heard: FloatArray
    area_m: tuple[float, float, float] | None
    chart: AnyChart

    def in_single(self) -> "HearingModel":
        """The same in single precision: less time, and good to 1e-6."""
        return replace(self, near=self.near.astype(np.float32))

    @property
    def follows(self) -> bool:
        """Whether what moves has to be followed back: only watches tell one way from another."""
        return self.sights is not None

    @property
    def count(self) -> int:
        """How many rows of moves: who heard it, then the watches."""
        return len(self.heard_variance_m2) + len(self.variance_m2)

    def look(self, points_m: FloatArray) -> Seen:
        """Look from everybody at points of the chart, shape (3, m)."""
        in_area = np.zeros(points_m.shape[1], dtype=np.bool_)
        if self.area_m is not None:
            x, y = self.chart.flat(points_m)
            in_area = np.hypot(x - self.area_m[0], y - self.area_m[1]) < self.area_m[2]
        return Seen(
            ways_to(self.heard_sights, points_m) if self.heard_sights is not None else None,
            ways_to(self.sights, points_m) if self.sights is not None else None,
            in_area,
        )

    def moved(self, seen: Seen, moves_m: FloatArray) -> Seen:
        """What was seen of points that the thing had still to move to; see `BearingModel.moved`."""
        first = len(self.heard_variance_m2)
        heard, watched = seen.heard, seen.watched
        if heard is not None and self.heard_sights is not None:
            heard = moved_ways(self.heard_sights, heard, moves_m[:first])
        if watched is not None and self.sights is not None:
            watched = moved_ways(self.sights, watched, moves_m[first:])
        return Seen(heard, watched, np.tile(seen.in_area, moves_m.shape[1]))

    def precision(self, seen: Seen) -> FloatArray:
        """Nothing: hearing ends gradually."""
        return np.zeros(seen.in_area.size)

    def hold(self, seen: Seen, half_side_m: FloatArray, *, shares: bool) -> Held:
        """Weigh points by who hears them; see `plotter.fix.likelihood.BearingModel.hold`.

        Nobody here is said to be right or wrong: the shares are empty.
        """
        spread = 2.0 * half_side_m * half_side_m / 3.0
        power: FloatArray | None = None
        log_there: FloatArray | None = None
        if seen.heard is not None:
            square = seen.heard.distance_m**2
            square += self.heard_variance_m2
            square += spread
            power = _to_the_decay(square.astype(self.near.dtype, copy=False))
        if seen.watched is not None:
            there = seen.watched.distance_m
            # A cell's middle stands for the root mean square of the distances in it.
            log_there = 0.5 * np.log(there * there + self.variance_m2 + 0.5 * spread + 1.0)
        place, joint, alone = (np.zeros(half_side_m.size) for _ in range(3))
        one = self.near.dtype.type(1.0)
        for k, near in enumerate(self.near):
            heard: FloatArray | float = 1.0
            if power is not None:
                # Nobody hears it where this is more than a number can be.
                with np.errstate(over="ignore"):
                    heard = 1.0 / np.multiply.reduce(power * near + one)
            answered: FloatArray | float = 1.0
            if log_there is not None:
                answered = self._answers(log_there, k)
            both = heard * answered
            place += self.dense[k] * both
            if self.area_m is not None:
                joint += self.weights[k] * both
                alone += self.weights[k] * heard
        if self.area_m is not None:
            per_m2 = seen.in_area / (math.pi * self.area_m[2] ** 2)
            place *= 1.0 - _AREA_WEIGHT
            place += _AREA_WEIGHT * per_m2 * joint / np.maximum(alone, 1e-300)
        nothing = np.zeros((0, half_side_m.size))
        told = Shares(nothing, nothing, nothing, np.ones(half_side_m.size)) if shares else None
        return Held(as_float(np.log(np.maximum(place, 1e-300))), told)

    def _answers(self, log_there: FloatArray, k: int) -> FloatArray:
        """Chance of what all watches said, under one range."""
        x = (log_there - self.log_half_heard[k]) / _STEEPNESS
        heard = (1.0 - _FLOOR) / (1.0 + np.exp(np.clip(x, -60.0, 60.0))) * self.p_transmitting
        chance = np.where(self.said_heard > 0, heard, 1.0 - heard)
        return as_float(np.multiply.reduce(np.maximum(chance, _FLOOR)))


def hearing_model(
    chart: AnyChart,
    evidence: Sequence[object],
    hearing: Hearing | None,
    watches: Sequence[int],
    more_variance_m2: FloatArray,
) -> HearingModel | None:
    """Prepare who heard it and the watches for a chart.

    Parameters
    ----------
    chart : Chart or WideChart
        The chart.
    evidence : sequence
        All reports.
    hearing : Hearing or None
        The prior; None where the place has another one and every watch states its own range.
    watches : sequence of int
        Which reports are watches that are to be answered for.
    more_variance_m2 : ndarray, shape (reports,)
        What is not known of the target's way since each report.
    """

    def column(values: Sequence[float]) -> FloatArray:
        return as_float(values)[:, None]

    def doubt(rows: Sequence[int]) -> FloatArray:
        own = column([evidence[i].observer_sigma_m for i in rows])  # type: ignore[attr-defined]
        return 2.0 * own**2 + 2.0 * more_variance_m2[list(rows)][:, None]

    rows = hearing.rows if hearing is not None else ()
    if not rows and not watches:
        return None
    asked = [each for i in watches if isinstance(each := evidence[i], Listening)]
    if hearing is None:
        ratio = np.exp(_RANGE_LOG_SD * _NODES)
        half_heard, weights = ratio, _WEIGHTS / _WEIGHTS.sum()
        dense = weights
        limits = [[w.half_heard_m * r for w in asked] for r in ratio.tolist()]
    else:
        half_heard, weights = hearing.half_heard_m, hearing.weights
        dense = weights * hearing.per_m2
        nominal = stated_range_m(evidence) or 1.0
        limits = [
            [min(r * (w.range_m or nominal) / nominal, w.horizon_m) for w in asked]
            for r in half_heard.tolist()
        ]
    area = hearing.area if hearing is not None and rows else None
    middle = chart.points([area.centre])[:2, 0].tolist() if area is not None else (0.0, 0.0)

    def sights(which: Sequence[int]) -> AnySights | None:
        places = [evidence[i].observer for i in which]  # type: ignore[attr-defined]
        return chart.sights(places) if places else None

    return HearingModel(
        heard_sights=sights(rows),
        heard_variance_m2=doubt(rows) if rows else np.zeros((0, 1)),
        near=as_float(half_heard) ** -_DECAY,
        dense=as_float(dense),
        weights=as_float(weights),
        sights=sights(watches),
        said_heard=column([float(w.heard) for w in asked]),
        p_transmitting=column([w.p_transmitting for w in asked]),
        variance_m2=doubt(watches) if watches else np.zeros((0, 1)),
        log_half_heard=np.log(as_float(limits))[:, :, None],
        area_m=(*middle, area.radius_m) if area is not None else None,
        chart=chart,
    )
