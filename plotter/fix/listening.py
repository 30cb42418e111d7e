"""Heard, or not heard: what a listening watch says of how far away a signal is."""

import math
from dataclasses import dataclass
from datetime import datetime

from plotter.errors import FormatError
from plotter.fix.evidence import check_report
from plotter.geodesy.position import Position

__all__ = ["Listening", "radio_horizon_m"]


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
    range_m : float or None
        Distance at which half of such watches would hear it, radio horizon left out; None where
        nobody said: it then is as unknown as how far those who took bearings hear it.
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
    range_m: float | None = None
    antenna_m: float | None = None
    target_antenna_m: float | None = None
    p_transmitting: float = 1.0
    sender: str = ""
    observer_sigma_m: float = 0.0
    time_utc: datetime | None = None

    def __post_init__(self) -> None:
        """Reject what cannot be a watch."""
        if self.range_m is not None and not (math.isfinite(self.range_m) and self.range_m > 0):
            raise FormatError(f"a hearing range must be above 0 m: {self.range_m!r}")
        if not 0 < self.p_transmitting <= 1:
            raise FormatError(
                "the chance of a transmission must be above 0 and at most 1: "
                f"{self.p_transmitting!r}"
            )
        check_report("watch", self.observer_sigma_m, 0.0, self.time_utc)

    @property
    def horizon_m(self) -> float:
        """Farthest that both antennas see each other; infinite where their heights are unknown."""
        if self.antenna_m is None or self.target_antenna_m is None:
            return math.inf
        return max(radio_horizon_m(self.antenna_m, self.target_antenna_m), 1.0)

    @property
    def half_heard_m(self) -> float:
        """Distance at which half of such watches hear it; infinite where nothing limits it."""
        return min(math.inf if self.range_m is None else self.range_m, self.horizon_m)
