"""Heard, or not heard: what a listening watch says of how far away a signal is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart, AnySights
from plotter.fix.evidence import check_report
from plotter.fix.mixture import Held, Shares, blend
from plotter.fix.ways import Ways, moved_ways, ways_to
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position

__all__ = ["DEFAULT_RANGE_M", "Listening", "ListeningModel", "listening_model", "radio_horizon_m"]

DEFAULT_RANGE_M: Final = 15_000.0
"""Distance at which half of the watches hear a hand-held radio; assumed."""

# All assumed: how gradually hearing ends, how uncertain the nominal distance is (common to all
# reports, as it is one signal), and how often a watch is simply wrong.
_STEEPNESS: Final = 0.4
_COMMON_LOG_SD: Final = 0.5
_FLOOR: Final = 0.02
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
_LOG_WEIGHTS: Final = np.log(_WEIGHTS / _WEIGHTS.sum())


def radio_horizon_m(height_m: float, other_height_m: float) -> float:
    """Farthest that two antennas see each other over smooth ground.

    Parameters
    ----------
    height_m, other_height_m : float
        Above ground, 0 or more.

    Source
    ------
    4.12 (√h1 + √h2) km: geometric horizon of an Earth of four thirds its radius (ITU-R P.310).

    Examples
    --------
    >>> round(radio_horizon_m(9.0, 0.0))
    12360
    """
    if not (height_m >= 0 and other_height_m >= 0):
        raise FormatError(f"antenna heights must be 0 m or more: {height_m!r}, {other_height_m!r}")
    return 4120.0 * (math.sqrt(height_m) + math.sqrt(other_height_m))


@dataclass(frozen=True, slots=True)
class Listening:
    """One listening watch: the signal was heard, or was not.

    Parameters
    ----------
    observer : Position
        Where somebody listened.
    heard : bool
        Whether they heard it.
    range_m : float
        Distance at which half of such watches would hear it, radio horizon left out.
    antenna_m, target_antenna_m : float or None
        Heights of both antennas above ground; where both are given, the distance is at most their
        radio horizon.
    p_transmitting : float
        Chance that it was transmitting during the watch at all: part of the time it is silent.
    sender : str
        Who reported it.
    observer_sigma_m : float
        One standard deviation of the observer's own position, per axis.
    time_utc : datetime or None
        When they listened, aware.

    Raises
    ------
    FormatError
        If a value is out of range.
    """

    observer: Position
    heard: bool
    range_m: float = DEFAULT_RANGE_M
    antenna_m: float | None = None
    target_antenna_m: float | None = None
    p_transmitting: float = 1.0
    sender: str = ""
    observer_sigma_m: float = 0.0
    time_utc: datetime | None = None

    def __post_init__(self) -> None:
        """Reject what cannot be a watch."""
        if not (math.isfinite(self.range_m) and self.range_m > 0):
            raise FormatError(f"a hearing range must be above 0 m: {self.range_m!r}")
        if not 0 < self.p_transmitting <= 1:
            raise FormatError(
                "the chance of a transmission must be above 0 and at most 1: "
                f"{self.p_transmitting!r}"
            )
        check_report("watch", self.observer_sigma_m, 0.0, self.time_utc)

    @property
    def half_heard_m(self) -> float:
        """Distance at which half of such watches hear it."""
        if self.antenna_m is None or self.target_antenna_m is None:
            return self.range_m
        return max(min(self.range_m, radio_horizon_m(self.antenna_m, self.target_antenna_m)), 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class ListeningModel:
    """Watches ready to be held against points of a chart; each array of shape (n, 1)."""

    sights: AnySights
    heard: FloatArray
    log_half_heard: FloatArray
    p_transmitting: FloatArray
    variance_m2: FloatArray

    @property
    def count(self) -> int:
        """How many watches."""
        return len(self.heard)

    def look(self, points_m: FloatArray) -> Ways:
        """Look from every observer at points of the chart, shape (3, m)."""
        return ways_to(self.sights, points_m)

    def moved(self, seen: Ways, moves_m: FloatArray) -> Ways:
        """What was seen of points that the thing had still to move to; see `BearingModel.moved`."""
        return moved_ways(self.sights, seen, moves_m)

    def precision(self, seen: Ways) -> FloatArray:
        """Nothing: hearing ends gradually."""
        return np.zeros(seen[0].shape[1])

    def hold(
        self,
        seen: Ways,
        half_side_m: FloatArray,
        *,
        shares: bool,
    ) -> Held:
        """Hold all watches against points; see `plotter.fix.likelihood.BearingModel.hold`.

        A watch is not said to be right or wrong: its shares are empty.
        """
        there = seen.distance_m
        # A cell's middle stands for the root mean square of the distances in it.
        square = there * there + self.variance_m2 + half_side_m * half_side_m / 3.0
        log_there = 0.5 * np.log(square + 1.0)
        nothing = Shares(there[:0], there[:0], np.ones(there.shape[1])) if shares else None
        ways = []
        for node in _NODES.tolist():
            x = (log_there - self.log_half_heard - _COMMON_LOG_SD * node) / _STEEPNESS
            heard = (1.0 - _FLOOR) / (1.0 + np.exp(np.clip(x, -60.0, 60.0))) * self.p_transmitting
            chance = np.where(self.heard > 0, heard, 1.0 - heard)
            ways.append(Held(as_float(np.log(np.maximum(chance, _FLOOR)).sum(axis=0)), nothing))
        return blend(_LOG_WEIGHTS, ways)


def listening_model(
    chart: AnyChart, watches: Sequence[Listening], more_variance_m2: FloatArray
) -> ListeningModel:
    """Prepare watches for a chart; `more_variance_m2`, shape (n,), as for bearings."""

    def column(values: list[float]) -> FloatArray:
        return as_float(values)[:, None]

    return ListeningModel(
        sights=chart.sights([w.observer for w in watches]),
        heard=column([float(w.heard) for w in watches]),
        log_half_heard=np.log(column([w.half_heard_m for w in watches])),
        p_transmitting=column([w.p_transmitting for w in watches]),
        variance_m2=2.0 * column([w.observer_sigma_m for w in watches]) ** 2
        + 2.0 * more_variance_m2[:, None],
    )
