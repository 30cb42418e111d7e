"""All evidence on one chart: the only place that knows every kind of it.

A kind of evidence is a module with a value and a model: `look` from the observers at points, `hold`
the reports against them, `precision` of the lines they draw. Here they are put together, over the
velocities that a moving target may have.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final, Protocol, TypeAlias

import numpy as np

from plotter.fix.chart import AnyChart
from plotter.fix.evidence import Bearing
from plotter.fix.ground import Ground, GroundModel, ground_model
from plotter.fix.hearing import Hearing, HearingModel, hearing_model
from plotter.fix.likelihood import BearingModel, bearing_model
from plotter.fix.listening import Listening
from plotter.fix.mixture import Held, Shares, blend, join
from plotter.fix.motion import Motion, lags_s, moves_of
from plotter.fix.ranges import Range, RangeModel, range_model
from plotter.fix.sightings import Sighting, SightingModel, sighting_model
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["Evidence", "Model", "model_of"]

Evidence: TypeAlias = Bearing | Range | Sighting | Listening

# Numbers in one table, 96 kB: twice as fast as whole arrays that go out to memory.
_TABLE: Final = 24_576
_FEWEST: Final = 128
# What all velocities that are left out may weigh together.
_UNLIKELY: Final = 1e-3


class _Part(Protocol):
    """Reports of one kind on the chart."""

    @property
    def count(self) -> int: ...

    def look(self, points_m: FloatArray) -> Any: ...  # noqa: ANN401 - what `hold` of the same takes

    def precision(self, seen: Any) -> FloatArray: ...  # noqa: ANN401 - what `look` gave

    def hold(
        self,
        seen: Any,  # noqa: ANN401 - what `look` gave
        half_side_m: FloatArray,
        *,
        shares: bool,
    ) -> Held: ...

    def moved(self, seen: Any, moves_m: FloatArray) -> Any: ...  # noqa: ANN401 - what `look` gave


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """Evidence ready to be held against points of a chart.

    Parameters
    ----------
    bearings : BearingModel or None
        The bearings.
    ranges, sightings : model or None
        The other kinds.
    hearing : HearingModel or None
        Who heard it, and the watches.
    ground : GroundModel
        Ground that is more or less likely beforehand.
    log_weights : ndarray, shape (k,)
        Of the velocities that are weighed; one of weight 1 where nothing moves.
    moves_m : tuple of ndarray, shape (n, k, 2) each
        For each kind of evidence, what the k velocities mean for its n reports; empty where nothing
        moves.
    """

    bearings: BearingModel | None
    ranges: RangeModel | None
    sightings: SightingModel | None
    hearing: HearingModel | None
    ground: GroundModel
    log_weights: FloatArray
    moves_m: tuple[FloatArray, ...]

    def in_single(self) -> "Model":
        """The same with bearings and hearing in single precision: half the time, good to 1e-6."""
        return replace(
            self,
            bearings=self.bearings and self.bearings.in_single(),
            hearing=self.hearing and self.hearing.in_single(),
        )

    @property
    def parts(self) -> tuple[_Part, ...]:
        """The kinds of evidence there are."""
        kinds: tuple[_Part | None, ...] = (
            self.bearings, self.ranges, self.sightings, self.hearing,
        )  # fmt: skip
        return tuple(part for part in kinds if part is not None)

    def log_likelihood(
        self, points_m: FloatArray, half_side_m: FloatArray, shares: list[Shares] | None = None
    ) -> tuple[FloatArray, FloatArray]:
        """Logarithm of the likelihood of all evidence, times the weight of the ground.

        Parameters
        ----------
        points_m : ndarray, shape (3, m)
            Lifted chart points, the middles of cells.
        half_side_m : ndarray, shape (m,)
            Half the side of each cell; 0 for a bare point.
        shares : list or None
            Where given, which reports are right is appended, for these m points.

        Returns
        -------
        log_likelihood : ndarray, shape (m,)
            Natural logarithm.
        finest_m : ndarray, shape (m,)
            One standard deviation across all lines together, were they parallel there.
        """
        total, precision = np.empty_like(half_side_m), np.empty_like(half_side_m)
        rows = sum(part.count for part in self.parts[: self._told])
        kept = None
        if shares is not None:
            shape = (rows, half_side_m.size)
            good, back, near = (np.empty(shape, np.float32) for _ in range(3))
            kept = Shares(good, back, near, np.empty(shape[1]))
            shares.append(kept)
        for part in self._lots(half_side_m.size):
            held, precision[part] = self._lot(
                points_m[:, part], half_side_m[part], shares=kept is not None
            )
            total[part] = held.log
            if kept is not None and held.shares is not None:
                for whole, piece in zip(kept, held.shares, strict=True):
                    whole[..., part] = piece
        if self.ground.shapes:
            weight, cut = self.ground.log_weight_of_cells(points_m, half_side_m)
            total += weight
            precision[cut] = np.inf  # they are cut as long as they hold anything
        return total, 1.0 / np.sqrt(precision + 1e-18)

    def residuals_in_sigmas(
        self, points_m: FloatArray, least_observer_sigma_m: float
    ) -> FloatArray:
        """What each report differs from what it should have been at points, in its own errors.

        Parameters
        ----------
        points_m : ndarray, shape (3, m)
            Lifted chart points, near to each other.
        least_observer_sigma_m : float
            No observer's place counts as better known than this.

        Returns
        -------
        ndarray, shape (k, m)
            A row for each bearing and distance, two for each place.
        """
        rows = [
            part.residuals_in_sigmas(points_m, least_observer_sigma_m**2)
            for part in (self.bearings, self.ranges, self.sightings)
            if part is not None
        ]
        return np.concatenate(rows) if rows else np.zeros((0, points_m.shape[1]))

    def without_unlikely_moves(
        self, points_m: FloatArray, half_side_m: FloatArray, area_m2: FloatArray
    ) -> "Model":
        """Leave out the velocities that all reports together make next to impossible.

        Parameters
        ----------
        points_m, half_side_m : ndarray
            A coarse grid over the support, as for `log_likelihood`.
        area_m2 : ndarray, shape (m,)
            Ground of each of its cells.
        """
        if not self.moves_m:
            return self
        seen = [part.look(points_m) for part in self.parts]
        weights = []
        for log_weight, way in zip(
            self.log_weights.tolist(), self._ways(seen, half_side_m, shares=False), strict=True
        ):
            top = float(way.log.max())
            weights.append(log_weight + top + float(np.log(area_m2 @ np.exp(way.log - top))))
        order = np.argsort(-as_float(weights))
        share = np.exp(as_float(weights)[order] - max(weights))
        count = int(np.searchsorted(np.cumsum(share) / share.sum(), 1.0 - _UNLIKELY)) + 1
        kept = np.sort(order[:count])
        return replace(
            self,
            log_weights=self.log_weights[kept],
            moves_m=tuple(moves[:, kept] for moves in self.moves_m),
        )

    @property
    def _told(self) -> int:
        """How many kinds are said to be right or wrong: all but hearing, which comes last."""
        return len(self.parts) - (self.hearing is not None)

    def _lot(
        self, points_m: FloatArray, half_side_m: FloatArray, *, shares: bool
    ) -> tuple[Held, FloatArray]:
        parts = self.parts
        seen = [part.look(points_m) for part in parts]
        precision = as_float(
            sum(part.precision(each) for part, each in zip(parts, seen, strict=True))
        )
        held = blend(self.log_weights, self._ways(seen, half_side_m, shares=shares))
        if self._followed < len(parts):
            held = join([held, parts[-1].hold(seen[-1], half_side_m, shares=shares)])
        return held, precision

    @property
    def _followed(self) -> int:
        """How many kinds are followed along the ways of what moves: hearing only for watches."""
        still = self.moves_m and self.hearing is not None and not self.hearing.follows
        return len(self.parts) - bool(still)

    def _ways(self, seen: list[Any], half_side_m: FloatArray, *, shares: bool) -> list[Held]:
        """All evidence under each velocity, as many at once as fill a table."""
        parts = self.parts
        if not self.moves_m:
            return [
                join(
                    [
                        part.hold(each, half_side_m, shares=shares)
                        for part, each in zip(parts, seen, strict=True)
                    ]
                )
            ]
        parts = parts[: self._followed]
        count = half_side_m.size
        at_once = max(self._lot_size // count, 1)
        ways = []
        for first in range(0, self.log_weights.size, at_once):
            some = slice(first, first + at_once)
            number = self.log_weights[some].size
            sides = np.tile(half_side_m, number)
            held = join(
                [
                    part.hold(part.moved(each, moves[:, some]), sides, shares=shares)
                    for part, each, moves in zip(parts, seen, self.moves_m, strict=False)
                ]
            )
            for k in range(number):
                here = slice(k * count, (k + 1) * count)
                told = held.shares and held.shares.at(here)
                ways.append(Held(held.log[here], told))
        return ways

    @property
    def _lot_size(self) -> int:
        rows = sum(part.count for part in self.parts)
        return max(_TABLE // rows, _FEWEST)

    def _lots(self, count: int) -> list[slice]:
        """Cut the points into lots whose tables stay in the processor's cache."""
        lot = self._lot_size
        return [slice(first, first + lot) for first in range(0, count, lot)]


def model_of(
    chart: AnyChart,
    evidence: Sequence[Evidence],
    reach_m: float,
    ground: Sequence[Ground] = (),
    motion: Motion | None = None,
    at_utc: datetime | None = None,
    *,
    hearing: Hearing | None = None,
    one_way: bool = False,
) -> tuple[Model, IntArray]:
    """Prepare evidence for a chart.

    Parameters
    ----------
    chart : Chart or WideChart
        The chart.
    evidence : sequence
        One or more reports, of any kinds.
    reach_m : float
        How far a wrong distance or place may lie from the middle.
    ground : sequence of Ground
        Areas with weights.
    motion : Motion or None
        How the thing may move; None where it stands still.
    at_utc : datetime or None
        The time of the fix; the latest report unless given.
    hearing : Hearing or None
        What it says of the place that some heard it; None where the place has another prior.
    one_way : bool
        True to take the way of what moves as an error of every report by itself: enough to see
        whether the reports agree, and no velocity is weighed.

    Returns
    -------
    model : Model
        Ready for points.
    order : ndarray of int
        For each row of its shares, which piece of the evidence it is.

    Raises
    ------
    FormatError
        If the thing moves and a report has no time.
    """
    kinds = [
        [i for i, each in enumerate(evidence) if isinstance(each, kind)]
        for kind in (Bearing, Range, Sighting, Listening)
    ]
    log_weights, more, way = np.zeros(1), np.zeros(len(evidence)), np.zeros(len(evidence))
    moves: FloatArray | None = None
    if motion is not None:
        lag_s = lags_s([each.time_utc for each in evidence], at_utc)
        way = as_float((motion.sigma_mps * lag_s) ** 2 + motion.wander_variance_m2(lag_s))
        if one_way:
            more = way
        else:
            log_weights, moves, more = moves_of(motion, lag_s, _narrowest_m(evidence, reach_m))
    bearings = [each for each in evidence if isinstance(each, Bearing)]
    ranges = [each for each in evidence if isinstance(each, Range)]
    sightings = [each for each in evidence if isinstance(each, Sighting)]
    heard = hearing.rows if hearing is not None else ()
    watches = [i for i in kinds[3] if i not in heard]
    kinds[3] = [*heard, *watches]
    model = Model(
        bearings=bearing_model(chart, bearings, more[kinds[0]]) if bearings else None,
        ranges=range_model(chart, ranges, reach_m, more[kinds[1]]) if ranges else None,
        sightings=sighting_model(chart, sightings, reach_m, more[kinds[2]]) if sightings else None,
        hearing=hearing_model(chart, evidence, hearing, watches, more if watches else way),
        ground=ground_model(chart, ground),
        log_weights=log_weights,
        moves_m=() if moves is None else tuple(moves[rows] for rows in kinds if rows),
    )
    told = [rows for rows in kinds[:3] if rows]
    return model, np.asarray([i for rows in told for i in rows], dtype=np.int64)


def _narrowest_m(evidence: Sequence[Evidence], reach_m: float) -> float:
    """One standard deviation across the narrowest line, at a tenth of the reach."""
    widths = [reach_m]
    for each in evidence:
        if isinstance(each, Bearing):
            widths.append(np.radians(each.sigma_deg) * 0.1 * reach_m + each.observer_sigma_m)
        elif isinstance(each, Sighting):
            widths.append(each.observer_sigma_m)
        elif isinstance(each, Range) and each.sigma_m is not None:
            widths.append(each.sigma_m)
    return float(min(widths))
