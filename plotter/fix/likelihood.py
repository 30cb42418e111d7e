"""How well a bearing fits a place: right within its error, reciprocal, or simply wrong.

With r the angle off the bearing, p = (1−ε−ρ) b(r) + ρ b(r−π) + ε/2π. A stated error is an opinion:
b is two bells, .85 of the stated width and .15 three times as wide, and what several bearings have
together turns them (`plotter.fix.slips`). An exact bearing has one bell and no slip. Each bell is
a normal density cut to the circle; its variance takes in the observer's own position error and,
because one value stands for a whole cell, the spread of a square of half side h (h²/3 in every
direction).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.fix.bells import exponential, height_of, hold_turned, log_of_product
from plotter.fix.chart import AnyChart, AnySights
from plotter.fix.evidence import Bearing
from plotter.fix.mixture import Held, Shares, blend, join
from plotter.fix.motion import less_moves
from plotter.fix.slips import SCALE_LOG_WEIGHTS, SCALES, Unit, units_of
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray, as_float

__all__ = ["WIDE", "WIDE_SHARE", "BearingModel", "bearing_model"]

# Keeps bearings that are declared certain, but contradict each other, from leaving nothing at all.
_FLOOR: Final = 1e-15
# Four sigmas away, e^(−8) of the directions are any.
_FAR2: Final = 16.0
_MOST_TURNED_AT_ONCE: Final = 0.5 * np.pi
WIDE: Final = 3.0
"""How much wider the second bell is."""
WIDE_SHARE: Final = 0.15
"""Its weight, both assumed; see DEVELOPERS.md for what else was tried."""
# arctan(t)/t in powers of t² on [0, 1], interpolated at Chebyshev's points: off by 1e-7.
_ARCTAN: Final = tuple(
    np.float32(each)
    for each in (
        0.999999898, -0.333319597, 0.199692354, -0.14016585,
        0.099060969, -0.0593671008, 0.0241661895, -0.00466877331,
    )
)  # fmt: skip
_Real: TypeAlias = NDArray[np.floating]


def _angle_off(across: _Real, ahead: _Real) -> _Real:
    """Angle between a bearing and the way to a point, [0, π]."""
    if across.dtype == np.float32:
        return _quick_angle_off(across, ahead)
    # At the observer itself 0/0 would be no number; a right angle is as good as any.
    slope = np.abs(across)
    slope += 1e-30
    np.divide(ahead, slope, out=slope)
    np.arctan(slope, out=slope)
    return np.asarray(np.subtract(0.5 * np.pi, slope, out=slope))


def _quick_angle_off(across: _Real, ahead: _Real) -> _Real:
    """Single precision to 5e-7; numpy's own arctangent goes through the numbers one by one."""
    number = np.float32
    side, along = np.abs(across), np.abs(ahead)
    side += number(1e-30)  # at the observer itself a right angle, as above
    nearer_ahead = along - side
    slope = np.maximum(side, along)
    np.divide(np.minimum(side, along, out=side), slope, out=slope)
    square = np.multiply(slope, slope, out=side)
    angle = square * _ARCTAN[-1]
    for coefficient in _ARCTAN[-2:0:-1]:
        angle += coefficient
        angle *= square
    angle += _ARCTAN[0]
    angle *= slope
    # Mirrored about π/4 where across is the longer, and about π/2 where it lies behind.
    for mirror, sign in ((number(0.25 * np.pi), nearer_ahead), (number(0.5 * np.pi), ahead)):
        np.subtract(mirror, angle, out=angle)
        np.copysign(angle, sign, out=angle)
        np.subtract(mirror, angle, out=angle)
    return np.asarray(angle)


def _distance2(across: _Real, ahead: _Real) -> _Real:
    square = across * across
    square += ahead * ahead
    square += 1.0
    return square


def _bell(factor: _Real, off_rad: _Real) -> _Real:
    exponent = factor * off_rad
    exponent *= off_rad
    return exponential(exponent)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Points as the observers see them, (n, m) each.

    Parameters
    ----------
    across_m, ahead_m : ndarray
        To the right of the bearing, and along it.
    distance2_m2 : ndarray
        Square of the distance, a metre more: no observer's own place is infinitely near.
    other_across_m, other_ahead_m : ndarray
        The same for second meanings; empty where there are none.
    """

    across_m: _Real
    ahead_m: _Real
    distance2_m2: _Real
    other_across_m: _Real
    other_ahead_m: _Real


@dataclass(frozen=True, slots=True, eq=False)
class _Angles:
    """Angle off the bearing and off its second meaning, [0, π]; variance of cell and observer.

    `lost` is the chance that the observer, whose place is known badly, saw it on any side; None
    where that is nothing anywhere.

    On which side of the bearing a point lies is kept apart (the sign of `side`): it matters only
    where an error turns the bearing, and no bearing beside it may be read with it.
    """

    off: _Real
    side: _Real
    second: _Real
    second_side: _Real
    blur: _Real
    lost: _Real | None


@dataclass(frozen=True, slots=True, eq=False)
class BearingModel:
    """Bearings ready to be held against points of a chart.

    Parameters
    ----------
    along : Sights
        The observers, each looking along its bearing.
    variance : ndarray, shape (n, 1)
        σ², rad².
    observer_variance_m2 : ndarray, shape (n, 1)
        Square of the observer's position sigma, and of what is not known of the target's way.
    p_reciprocal, p_gross : ndarray, shape (n, 1)
        Prior chances of a wrong bearing.
    doubtful : ndarray of int, shape (k,)
        Which bearings have a second meaning.
    p_other : ndarray, shape (k, 1)
        How likely that one is.
    other : Sights
        Those observers, each looking along the second meaning.
    assumed : ndarray of bool, shape (n, 1)
        Whose error was assumed, not stated.
    wide_share : ndarray, shape (n, 1)
        Weight of the wide bell; 0 for an exact bearing.
    steady, loose : tuple
        The bearings in groups that are independent of each other: those with stated errors, and
        those whose assumed errors share one unknown factor.
    at_once : int
        How many likelihoods, each at its least, may be multiplied before the logarithm is taken.
    """

    along: AnySights
    variance: _Real
    observer_variance_m2: _Real
    p_reciprocal: _Real
    p_gross: _Real
    doubtful: IntArray
    p_other: _Real
    other: AnySights
    assumed: BoolArray
    wide_share: _Real
    steady: tuple[Unit, ...]
    loose: tuple[Unit, ...]
    at_once: int

    @property
    def count(self) -> int:
        """How many bearings."""
        return len(self.variance)

    def in_single(self) -> "BearingModel":
        """The same in single precision: twice as fast, and good to 1e-5."""
        return replace(
            self,
            variance=self.variance.astype(np.float32),
            observer_variance_m2=self.observer_variance_m2.astype(np.float32),
            p_reciprocal=self.p_reciprocal.astype(np.float32),
            p_gross=self.p_gross.astype(np.float32),
            p_other=self.p_other.astype(np.float32),
            wide_share=self.wide_share.astype(np.float32),
            at_once=max(self.at_once // 8, 1),  # its exponents reach an eighth as far
        )

    def look(self, points_m: FloatArray) -> Seen:
        """Look from every observer at points of the chart, shape (3, m)."""
        number = self.variance.dtype
        across, ahead = (
            part.astype(number, copy=False) for part in self.along.components(points_m)
        )
        distance2 = _distance2(across, ahead)
        if not self.doubtful.size:
            return Seen(across, ahead, distance2, across[:0], ahead[:0])
        second = self.other.components(points_m)
        return Seen(across, ahead, distance2, *(part.astype(number, copy=False) for part in second))

    def precision(self, seen: Seen) -> FloatArray:
        """Sum of one over the variance across each line at the points, 1/m², shape (m,)."""
        width2 = self.variance * seen.distance2_m2
        width2 += self.observer_variance_m2
        return as_float(np.reciprocal(width2, out=width2).sum(axis=0))

    def moved(self, seen: Seen, moves_m: FloatArray) -> Seen:
        """What was seen of points that the thing had still to move to, moves of shape (n, k, 2)."""
        right, along = self.along.turn(moves_m)
        across, ahead = less_moves(seen.across_m, right), less_moves(seen.ahead_m, along)
        distance2 = _distance2(across, ahead)
        if not self.doubtful.size:
            return Seen(across, ahead, distance2, across[:0], ahead[:0])
        right, along = self.other.turn(moves_m[self.doubtful])
        return Seen(
            across,
            ahead,
            distance2,
            less_moves(seen.other_across_m, right),
            less_moves(seen.other_ahead_m, along),
        )

    def hold(self, seen: Seen, half_side_m: FloatArray, *, shares: bool) -> Held:
        """Hold all bearings against points.

        Parameters
        ----------
        seen : Seen
            From `look` or `moved`.
        half_side_m : ndarray, shape (m,)
            Half the side of each cell; 0 for a bare point.
        shares : bool
            Whether to say which bearings are right.
        """
        angles = self._angles(seen, half_side_m)
        parts = [self._unit(unit, angles, 1.0, shares=shares) for unit in self.steady]
        if self.loose:
            ways = [
                join([self._unit(unit, angles, scale, shares=shares) for unit in self.loose])
                for scale in SCALES.tolist()
            ]
            parts.append(blend(SCALE_LOG_WEIGHTS, ways))
        held = join(parts)
        rows = np.concatenate([unit.rows for unit in (*self.steady, *self.loose)])
        if held.shares is None or (rows[1:] > rows[:-1]).all():
            return held
        order = np.argsort(rows)
        good, back, near, all_good = held.shares
        return Held(held.log, Shares(good[order], back[order], near[order], all_good))

    def _angles(self, seen: Seen, half_side_m: FloatArray) -> _Angles:
        number = self.variance.dtype
        across, ahead = seen.across_m, seen.ahead_m
        other_across, other_ahead = seen.other_across_m, seen.other_ahead_m
        cell = (half_side_m * half_side_m / 3.0).astype(number, copy=False)
        blur = (self.observer_variance_m2 + cell) / seen.distance2_m2
        off = _angle_off(across, ahead)
        second = _angle_off(other_across, other_ahead) if self.doubtful.size else other_across
        return _Angles(off, across, second, other_across, blur, self._lost(seen.distance2_m2))

    def _lost(self, distance2_m2: _Real) -> _Real | None:
        """Chance that an observer stood so near that the direction says nothing.

        From a place known to σ, what is d away lies in any direction by such a chance, and about
        the middle one else. Near enough the offset normal distribution (Mardia & Jupp, Directional
        Statistics, 2000, 3.5.6, from memory), which is compared in the tests.
        """
        if not (distance2_m2.min(axis=1, keepdims=True) < _FAR2 * self.observer_variance_m2).any():
            return None
        variance = self.observer_variance_m2 + self.variance.dtype.type(1e-9)
        half = self.variance.dtype.type(0.5) * distance2_m2 / variance
        return np.asarray(exponential(-half) / (1 + 2 * half))

    def _unit(self, unit: Unit, angles: _Angles, scale: float, *, shares: bool) -> Held:
        if (
            len(unit.turns_rad) == 1
            or (self.doubtful.size and np.isin(self.doubtful, unit.rows).any())
            or np.abs(unit.turns_rad).max() > _MOST_TURNED_AT_ONCE
        ):
            return self._each_turn(unit, angles, scale, shares=shares)
        pick = slice(None) if unit.rows.size == self.count else unit.rows
        own, blur = self._own(pick, scale), angles.blur[pick]
        number = angles.off.dtype.type
        p_gross, p_reciprocal = self.p_gross[pick], self.p_reciprocal[pick]
        gross = p_gross / number(2.0 * np.pi) + number(_FLOOR)
        lost = angles.lost
        return hold_turned(
            angles.off[pick],
            angles.side[pick],
            own + blur,
            number(WIDE * WIDE) * own + blur,
            self.wide_share[pick],
            (1 - p_gross - p_reciprocal, p_reciprocal, gross),
            unit.turns_rad,
            unit.log_weights,
            self.at_once,
            None if lost is None else lost[pick],
            shares=shares,
        )

    def _own(self, pick: slice | IntArray, scale: float) -> _Real:
        """σ², rad²; a stated error keeps its size, whatever the factor on the assumed ones is."""
        own = self.variance[pick]
        if scale == 1.0:
            return own
        return np.where(self.assumed[pick], own.dtype.type(scale * scale) * own, own)

    def _each_turn(self, unit: Unit, angles: _Angles, scale: float, *, shares: bool) -> Held:
        ways = [
            self._independent(unit.rows, angles, scale, turn, shares=shares)
            for turn in unit.turns_rad
        ]
        return blend(unit.log_weights, ways)

    def _independent(
        self, rows: IntArray, angles: _Angles, scale: float, turn_rad: FloatArray, *, shares: bool
    ) -> Held:
        """Bearings whose errors are independent once the shared ones are given."""
        all_rows = rows.size == self.count
        pick = slice(None) if all_rows else rows
        number = angles.off.dtype.type
        own = self._own(pick, scale)
        blur = angles.blur[pick]
        turn = turn_rad.astype(number) if turn_rad.any() else None
        off = _turned(angles.off[pick], angles.side[pick], turn)
        share = self.wide_share[pick]
        near, near_back = _both_ways(off, own + blur)
        good, back = near, near_back
        if share.any():
            wide, wide_back = _both_ways(off, number(WIDE * WIDE) * own + blur)
            near = near * (1 - share)
            good, back = near + share * wide, (1 - share) * near_back + share * wide_back
        elif self.doubtful.size or angles.lost is not None:
            near = near.copy()
        doubtful = np.flatnonzero(np.isin(self.doubtful, rows)) if self.doubtful.size else rows[:0]
        if doubtful.size:
            at = self.doubtful[doubtful]
            if not all_rows:
                at = np.searchsorted(rows, at)
            second = _turned(
                angles.second[doubtful],
                angles.second_side[doubtful],
                None if turn is None else turn[at],
            )
            other, share = self.p_other[doubtful], share[at]
            other_near, near_back = _both_ways(second, own[at] + blur[at])
            wide, wide_back = _both_ways(second, number(WIDE * WIDE) * own[at] + blur[at])
            other_near *= 1 - share
            near[at] += other * (other_near - near[at])
            good[at] += other * (other_near + share * wide - good[at])
            back[at] += other * ((1 - share) * near_back + share * wide_back - back[at])
        if angles.lost is not None:
            lost = angles.lost[pick]
            for part in (good, back) if near is good else (near, good, back):
                np.add(part, lost * (number(0.5 / np.pi) - part), out=part)
        p_gross, p_reciprocal = self.p_gross[pick], self.p_reciprocal[pick]
        right = 1 - p_gross - p_reciprocal
        good *= right
        back *= p_reciprocal
        either = good + back
        either += p_gross / number(2.0 * np.pi) + number(_FLOOR)
        log = log_of_product(either, self.at_once)
        if not shares:
            return Held(log, None)
        if near is not good:
            near *= right
            near /= either
        good /= either
        back /= either
        return Held(log, Shares(good, back, near, np.multiply.reduce(good)))

    def residuals_rad(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Bearing minus azimuth, and distance; the meaning that fits better where there are two.

        Parameters
        ----------
        points_m : ndarray, shape (3, m)
            Lifted chart points.

        Returns
        -------
        residual_rad, distance_m : ndarray, shape (n, m)
            Residuals in (−π, π].
        """
        across, ahead = self.along.components(points_m)
        residual = -np.arctan2(across, ahead)
        if self.doubtful.size:
            other = -np.arctan2(*self.other.components(points_m))
            better = np.abs(other) < np.abs(residual[self.doubtful])
            residual[self.doubtful] = np.where(better, other, residual[self.doubtful])
        return residual, np.hypot(across, ahead)

    def residuals_in_sigmas(self, points_m: FloatArray, least_variance_m2: float) -> FloatArray:
        """Residuals over their standard deviation at the first point, shape (n, m).

        The points lie so near to each other that no residual turns over between them.
        """
        residual, distance = self.residuals_rad(points_m)
        residual[:, 1:] -= (
            2.0 * np.pi * np.rint((residual[:, 1:] - residual[:, :1]) / (2.0 * np.pi))
        )
        observer = np.maximum(self.observer_variance_m2, least_variance_m2)
        near = distance[:, :1]
        return as_float(residual / np.sqrt(self.variance + observer / (near * near + 1.0)))


def _turned(off: _Real, side: _Real, turn_rad: _Real | None) -> _Real:
    """Angles off bearings that an error has turned, [0, π]."""
    if turn_rad is None:
        return off
    turned = np.copysign(off, side)
    turned -= turn_rad
    np.abs(turned, out=turned)
    return np.minimum(turned, np.abs(off.dtype.type(2.0 * np.pi) - turned), out=turned)


def _both_ways(off: _Real, variance: _Real) -> tuple[_Real, _Real]:
    """Densities about the bearing and about its reciprocal."""
    number = off.dtype.type
    factor = number(-0.5) / variance
    height = height_of(factor, variance)
    good, back = _bell(factor, off), _bell(factor, off - number(np.pi))
    good *= height
    back *= height
    return good, back


def bearing_model(
    chart: AnyChart,
    bearings: Sequence[Bearing],
    more_variance_m2: FloatArray | None = None,
) -> BearingModel:
    """Prepare bearings for a chart.

    Parameters
    ----------
    chart : Chart or WideChart
        The chart.
    bearings : sequence of Bearing
        One or more.
    more_variance_m2 : ndarray, shape (n,), optional
        What is not known of the target's way since each was taken.
    """

    def column(values: list[float]) -> _Real:
        return as_float(values)[:, None]

    seen = chart.sights([b.observer for b in bearings])
    doubtful = np.asarray(
        [i for i, b in enumerate(bearings) if b.other_true_deg is not None], dtype=np.int64
    )
    second = [b.other_true_deg for b in bearings if b.other_true_deg is not None]
    observer_variance = column([b.observer_sigma_m for b in bearings]) ** 2
    if more_variance_m2 is not None:
        observer_variance = observer_variance + column(more_variance_m2.tolist())
    least = min(b.p_gross for b in bearings) / (2.0 * np.pi) + _FLOOR
    steady, loose = units_of(bearings)
    return BearingModel(
        along=seen.turned(np.radians([b.bearing_true_deg for b in bearings])),
        variance=column([np.radians(b.sigma_deg) ** 2 for b in bearings]),
        observer_variance_m2=observer_variance,
        p_reciprocal=column([b.p_reciprocal for b in bearings]),
        p_gross=column([b.p_gross for b in bearings]),
        doubtful=doubtful,
        p_other=column([bearings[i].p_other for i in doubtful]),
        other=seen.rows(doubtful).turned(np.radians(as_float(second))),
        assumed=np.asarray([not b.sigma_stated for b in bearings], dtype=np.bool_)[:, None],
        wide_share=column([0.0 if b.exact else WIDE_SHARE for b in bearings]),
        steady=steady,
        loose=loose,
        at_once=max(int(240.0 / -np.log10(least)), 1),
    )
