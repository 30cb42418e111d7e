"""A report of the place itself: a circle about a point, or the square of a grid reference."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.fix.bells import erf
from plotter.fix.chart import AnyChart
from plotter.fix.evidence import check_report
from plotter.fix.mixture import Held, Shares
from plotter.fix.motion import less_moves
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position, Square

__all__ = ["Sighting", "SightingModel", "circle_sigma_m", "sighting_model"]

# Radius of the circle that holds the share, in standard deviations per axis: √(−2 ln(1−P)).
_RADII: Final = {"cep": 0.5, "r68": 0.6827, "r95": 0.95}


def circle_sigma_m(radius_m: float, kind: str) -> float:
    """One standard deviation per axis of a circle that holds 50, 68 or 95 % of the cases.

    Parameters
    ----------
    radius_m : float
        Its radius.
    kind : str
        ``cep``, ``r68`` or ``r95``.

    Raises
    ------
    FormatError
        If the kind is not known or the radius not above zero.

    Source
    ------
    Chi-square with two degrees of freedom: P = 1 − exp(−r²/2σ²); r68 is 68.27 %.

    Examples
    --------
    >>> round(circle_sigma_m(100.0, "cep"), 2), round(circle_sigma_m(244.77, "r95"), 1)
    (84.93, 100.0)
    """
    share = _RADII.get(kind)
    if share is None:
        raise FormatError(f"unknown kind of circle {kind!r}; use {', '.join(_RADII)}", kind)
    if not (math.isfinite(radius_m) and radius_m > 0):
        raise FormatError(f"a circle needs a radius above 0 m: {radius_m!r}")
    return radius_m / math.sqrt(-2.0 * math.log1p(-share))


@dataclass(frozen=True, slots=True)
class Sighting:
    """Somebody says where the thing is.

    Parameters
    ----------
    place : Position or Square
        A point, or the square of the reference that was given.
    sigma_m : float
        One standard deviation per axis, beside that of the square; see `circle_sigma_m`.
    sender : str
        Who reported it.
    p_gross : float
        Prior probability that it is simply wrong.
    time_utc : datetime or None
        When it was seen there, aware.

    Raises
    ------
    FormatError
        If a value is out of range, or a point has no error.
    """

    place: Position | Square
    sigma_m: float = 0.0
    sender: str = ""
    p_gross: float = 0.05
    time_utc: datetime | None = None

    @property
    def observer(self) -> Position:
        """The point, or the middle of the square."""
        return self.place.centre if isinstance(self.place, Square) else self.place

    @property
    def observer_sigma_m(self) -> float:
        """One standard deviation per axis, that of the square included."""
        size_m = self.place.size_m if isinstance(self.place, Square) else 0.0
        return math.hypot(self.sigma_m, size_m / math.sqrt(12.0))

    def __post_init__(self) -> None:
        """Reject what cannot be a place."""
        check_report("place", self.sigma_m, self.p_gross, self.time_utc)
        if not self.observer_sigma_m > 0:
            raise FormatError(
                f"the point {self.observer} needs an error: give sigma_m, or the square of the "
                "reference that was said"
            )


@dataclass(frozen=True, slots=True, eq=False)
class SightingModel:
    """Reported places ready to be held against points of a chart; each array of shape (n, 1).

    Parameters
    ----------
    x_m, y_m : ndarray
        Middles on the chart.
    east_side_m, north_side_m : ndarray
        Sides of the squares; 0 for points.
    turn_rad : ndarray
        By how much each square's own north is turned from the chart's.
    variance_m2, p_gross : ndarray
        Of the report beside its square, and the chance of a wrong one.
    ground_m2 : float
        A wrong place is taken as likely anywhere on this much ground.
    """

    x_m: FloatArray
    y_m: FloatArray
    east_side_m: FloatArray
    north_side_m: FloatArray
    turn_rad: FloatArray
    variance_m2: FloatArray
    p_gross: FloatArray
    ground_m2: float
    chart: AnyChart

    @property
    def count(self) -> int:
        """How many places."""
        return len(self.x_m)

    def look(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Way from each middle to points, in the axes of its square, shape (n, m) each."""
        x, y = self.chart.flat(points_m)
        return self._own_axes(x - self.x_m, y - self.y_m)

    def _own_axes(self, east: FloatArray, north: FloatArray) -> tuple[FloatArray, FloatArray]:
        sin, cos = np.sin(self.turn_rad), np.cos(self.turn_rad)
        return cos * east - sin * north, sin * east + cos * north

    def moved(
        self, seen: tuple[FloatArray, FloatArray], moves_m: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """What was seen of points that the thing had still to move to; see `BearingModel.moved`."""
        east, north = self._own_axes(moves_m[:, :, 0], moves_m[:, :, 1])
        return as_float(less_moves(seen[0], east)), as_float(less_moves(seen[1], north))

    def precision(self, seen: tuple[FloatArray, FloatArray]) -> FloatArray:
        """Sum of one over the variance of each place, 1/m², shape (m,)."""
        sides_m2 = (self.east_side_m**2 + self.north_side_m**2) / 24.0
        each = 1.0 / (self.variance_m2 + sides_m2)
        return np.full(seen[0].shape[1], float(each.sum()))

    def hold(
        self,
        seen: tuple[FloatArray, FloatArray],
        half_side_m: FloatArray,
        *,
        shares: bool,
    ) -> Held:
        """Hold all places against points; see `plotter.fix.likelihood.BearingModel.hold`."""
        east, north = seen
        blur = np.sqrt(self.variance_m2 + half_side_m * half_side_m / 3.0)
        good = (1.0 - self.p_gross) * _spread(east, self.east_side_m, blur)
        good *= _spread(north, self.north_side_m, blur)
        either = good + self.p_gross / self.ground_m2 + 1e-30
        log = as_float(np.log(either).sum(axis=0))
        if not shares:
            return Held(log, None)
        good /= either
        return Held(log, Shares(good, np.zeros_like(good), good, np.multiply.reduce(good)))

    def residuals_m(self, points_m: FloatArray) -> FloatArray:
        """How far each place is from points, shape (n, m)."""
        return as_float(np.hypot(*self.look(points_m)))

    def residuals_in_sigmas(self, points_m: FloatArray, least_variance_m2: float) -> FloatArray:
        """East, then north of each place, over its standard deviation, shape (2n, m)."""
        east, north = self.look(points_m)
        own = np.maximum(self.variance_m2, least_variance_m2)
        return np.concatenate(
            (
                east / np.sqrt(own + self.east_side_m**2 / 12.0),
                north / np.sqrt(own + self.north_side_m**2 / 12.0),
            )
        )


def _spread(off_m: FloatArray, side_m: FloatArray, sigma_m: FloatArray) -> FloatArray:
    """Density of a side's length of evenly likely places, blurred by a normal error; 1/m."""
    # Without any blur the edge would be a step, and a point on it neither in nor out.
    sigma = np.maximum(sigma_m, np.maximum(1e-3 * side_m, 1e-3))
    root = np.sqrt(2.0) * sigma
    edges = (0.5 * side_m - off_m) / root, (0.5 * side_m + off_m) / root
    inside = sum(np.copysign(erf(np.abs(edge)), edge) for edge in edges)
    flat = 0.5 * np.maximum(inside, 0.0) / np.maximum(side_m, 1e-9)
    bell = np.exp(np.maximum(-0.5 * (off_m / sigma) ** 2, -700.0)) / (np.sqrt(2.0 * np.pi) * sigma)
    # Where the square is small beside the error, the difference of two error functions is noise.
    return as_float(np.where(side_m > 0.05 * sigma, flat, bell))


def sighting_model(
    chart: AnyChart, sightings: Sequence[Sighting], radius_m: float, more_variance_m2: FloatArray
) -> SightingModel:
    """Prepare reported places for a chart; `more_variance_m2`, shape (n,), as for bearings."""

    def column(values: list[float]) -> FloatArray:
        return as_float(values)[:, None]

    middle = chart.points([s.observer for s in sightings])
    turns, sides = [], []
    for each in sightings:
        turn, *side = _box(chart, each.place)
        turns.append(turn)
        sides.append(side)
    return SightingModel(
        x_m=middle[0][:, None],
        y_m=middle[1][:, None],
        east_side_m=column([east for east, _ in sides]),
        north_side_m=column([north for _, north in sides]),
        turn_rad=column(turns),
        variance_m2=column([s.sigma_m for s in sightings]) ** 2 + more_variance_m2[:, None],
        p_gross=column([s.p_gross for s in sightings]),
        ground_m2=4.0 * radius_m * radius_m,
        chart=chart,
    )


def _box(chart: AnyChart, place: Position | Square) -> tuple[float, float, float]:
    """How far a square's north is turned clockwise from the chart's, and its sides east and north.

    A square that a zone's edge cuts is taken as the box about it.
    """
    if isinstance(place, Position):
        return 0.0, 0.0, 0.0
    x, y, _ = chart.points(place.corners)
    # The corners go round from the south-west: one of the two sides there runs nearly east.
    quarter = math.atan2(y[1] - y[0], x[1] - x[0]) % (0.5 * math.pi)
    turn = -(quarter if quarter < 0.25 * math.pi else quarter - 0.5 * math.pi)
    east = math.cos(turn) * x - math.sin(turn) * y
    north = math.sin(turn) * x + math.cos(turn) * y
    return turn, float(np.ptp(east)), float(np.ptp(north))
