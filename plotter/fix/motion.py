"""A target that moves: constant velocity that nobody knows, and a wander about it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.errors import FormatError
from plotter.geodesy.arrays import FloatArray, as_float

__all__ = ["Motion", "default_motion", "lags_s", "less_moves", "moves_of"]

# Assumed: one standard deviation of the velocity along each axis, metres a second, and how many
# seconds pass until the wander alone has changed it by as much.
_KINDS: Final = {"walker": (0.4, 7200.0), "drift": (0.3, 14400.0), "vehicle": (8.0, 3600.0)}

_Real: TypeAlias = NDArray[np.floating]
# Velocities are weighed on a square grid out to so many standard deviations.
_OUT: Final = 2.6
_FEWEST: Final = 5
_MOST: Final = 11
# Beside the width of the narrowest line, how far two neighbouring velocities may lead apart.
_STEP: Final = 0.8


@dataclass(frozen=True, slots=True)
class Motion:
    """How the thing may move.

    Parameters
    ----------
    sigma_mps : float
        One standard deviation of its velocity along each axis; see `default_motion`.
    wander_m2_s3 : float
        How fast it changes that velocity: variance of the velocity gained a second, along each
        axis. 0 for a straight line.

    Raises
    ------
    FormatError
        If a value is out of range.
    """

    sigma_mps: float
    wander_m2_s3: float = 0.0

    def __post_init__(self) -> None:
        """Reject what cannot move."""
        if not (math.isfinite(self.sigma_mps) and self.sigma_mps > 0):
            raise FormatError(f"a speed must be above 0 m/s: {self.sigma_mps!r}")
        if not (math.isfinite(self.wander_m2_s3) and self.wander_m2_s3 >= 0):
            raise FormatError(f"a wander must be 0 or more: {self.wander_m2_s3!r}")

    def wander_variance_m2(self, lag_s: FloatArray) -> FloatArray:
        """Variance of the place, along each axis, from the wander alone, q t³/3."""
        return as_float(self.wander_m2_s3 * np.abs(lag_s) ** 3 / 3.0)


def default_motion(kind: str) -> Motion:
    """Assumed motion of what nobody knows the speed of.

    Parameters
    ----------
    kind : str
        ``walker`` (lost, on foot), ``drift`` (on the water) or ``vehicle``.

    Raises
    ------
    FormatError
        If the kind is not known.

    Examples
    --------
    >>> default_motion("walker").sigma_mps
    0.4
    """
    try:
        sigma_mps, seconds = _KINDS[kind]
    except KeyError:
        raise FormatError(
            f"unknown kind of motion {kind!r}; use {', '.join(_KINDS)}", kind
        ) from None
    return Motion(sigma_mps, sigma_mps**2 / seconds)


def less_moves(values: _Real, moves_m: FloatArray) -> _Real:
    """What observers see of points that the thing had still to move to: each way beside the last.

    Parameters
    ----------
    values : ndarray, shape (n, m)
        One component of the way from n observers to m points.
    moves_m : ndarray, shape (n, k)
        The same component of k moves.

    Returns
    -------
    ndarray, shape (n, k m)
        All points under the first move, then all under the second.
    """
    moves = moves_m.astype(values.dtype, copy=False)
    return np.asarray((values[:, None, :] - moves[:, :, None]).reshape(len(values), -1))


def lags_s(times_utc: Sequence[datetime | None], at_utc: datetime | None) -> FloatArray:
    """Seconds from each report to the time of the fix.

    Parameters
    ----------
    times_utc : sequence of datetime or None, length n
        When the reports were taken.
    at_utc : datetime or None
        The time of the fix; the latest report unless given.

    Raises
    ------
    FormatError
        If a report has no time.
    """
    known = [time for time in times_utc if time is not None]
    if len(known) < len(times_utc):
        raise FormatError(
            f"{len(times_utc) - len(known)} of {len(times_utc)} reports have no time: what moves "
            "can only be fixed from reports with a time"
        )
    at = max(known) if at_utc is None else at_utc
    return as_float([(at - time).total_seconds() for time in known])


def moves_of(
    motion: Motion, lag_s: FloatArray, narrowest_m: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Velocities to weigh, as what they mean for each report.

    Parameters
    ----------
    motion : Motion
        How it may move.
    lag_s : ndarray, shape (n,)
        From `lags_s`.
    narrowest_m : float
        One standard deviation across the narrowest line of bearing: velocities that differ by less
        need not be told apart.

    Returns
    -------
    log_weights : ndarray, shape (k,)
        Logarithm of each velocity's weight.
    moves_m : ndarray, shape (n, k, 2)
        East and north, from where the thing was at each report to where it is at the fix's time.
    variance_m2 : ndarray, shape (n,)
        What is left beside: the spread between neighbouring velocities, and the wander.

    Source
    ------
    Constant velocity with white noise in the acceleration: Bar-Shalom, Li and Kirubarajan (2001),
    from memory; the variance of the place after t is q t³/3.
    """
    longest = float(np.abs(lag_s).max(initial=0.0))
    spread = 2.0 * _OUT * motion.sigma_mps * longest
    count = int(np.clip(math.ceil(spread / max(_STEP * narrowest_m, 1.0)) + 1, _FEWEST, _MOST))
    nodes = np.linspace(-_OUT, _OUT, count)
    step = float(nodes[1] - nodes[0])
    # Each velocity stands for those about it: normal, as wide as half a step, and the weights of
    # the nodes so much narrower that the mixture has the variance it is to have.
    own = 0.5 * step
    weights = np.exp(-0.5 * nodes**2 / max(1.0 - own**2, 0.25))
    weights /= weights.sum()
    own2 = max(1.0 - float(weights @ nodes**2), 0.0)
    east, north = (grid.ravel() for grid in np.meshgrid(nodes, nodes))
    log_weights = np.log(np.outer(weights, weights)).ravel()
    moves = motion.sigma_mps * lag_s[:, None, None] * np.stack((east, north), axis=-1)
    variance = own2 * (motion.sigma_mps * lag_s) ** 2
    return log_weights, as_float(moves), as_float(variance + motion.wander_variance_m2(lag_s))
