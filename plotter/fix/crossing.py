"""Whether two bearings meet ahead of both observers, and if not, how far they are from it."""

import math
from dataclasses import dataclass

from plotter.fix.evidence import Bearing
from plotter.geodesy.geodesic import geodesic

__all__ = ["Meeting", "meeting"]


@dataclass(frozen=True, slots=True)
class Meeting:
    """How two bearings lie to each other.

    Parameters
    ----------
    divergence_deg : float
        Least total turn that would make them meet; 0 where they meet.
    same_side : bool
        True where both point to the same side of the line between the observers.
    distance_m : float
        Between the observers.
    """

    divergence_deg: float
    same_side: bool
    distance_m: float


def _turn(bearing_deg: float, from_deg: float) -> float:
    """Signed turn to a bearing, [−180, 180)."""
    return (bearing_deg - from_deg + 180.0) % 360.0 - 180.0


def meeting(first: Bearing, second: Bearing, *, flip: tuple[bool, bool] = (False, False)) -> Meeting:
    """See whether two bearings meet ahead.

    Parameters
    ----------
    first, second : Bearing
        The two.
    flip : tuple of bool
        True for one to be taken as its reciprocal.

    Returns
    -------
    Meeting
        Angles at both ends of the geodesic between the observers; the excess of the triangle over
        180° is left out, 0.1° at 400 km.
    """
    line = geodesic(first.observer, second.observer)
    if line.distance_m < 1.0:
        return Meeting(0.0, True, line.distance_m)
    # Both angles are counted towards the same side: clockwise at the first, the other way at the
    # second.
    alpha = _turn(first.bearing_true_deg + 180.0 * flip[0], line.bearing_true_deg)
    beta = -_turn(second.bearing_true_deg + 180.0 * flip[1], line.back_bearing_true_deg)
    same_side = alpha * beta > 0.0
    if same_side:
        return Meeting(max(abs(alpha) + abs(beta) - 180.0, 0.0), True, line.distance_m)
    return Meeting(min(abs(alpha), abs(beta)), False, line.distance_m)


def combined_sigma_deg(first: Bearing, second: Bearing) -> float:
    """Give one standard deviation of the difference of two bearings."""
    return math.hypot(first.sigma_deg, second.sigma_deg)
