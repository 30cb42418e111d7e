"""Whether two bearings meet ahead of both observers, and if not, how far they are from it."""

from dataclasses import dataclass
from typing import Final

from plotter.fix.evidence import Bearing
from plotter.geodesy.geodesic import geodesic

__all__ = ["Meeting", "meeting"]

_SAME_PLACE_M: Final = 1.0


@dataclass(frozen=True, slots=True)
class Meeting:
    """How two bearings lie to each other.

    Parameters
    ----------
    divergence_deg : float
        Least total turn that would make them meet; 0 where they meet.
    same_place : bool
        True where both were taken from one place; they then agree only if they are the same.
    """

    divergence_deg: float
    same_place: bool


def _turn(bearing_deg: float, from_deg: float) -> float:
    """Signed turn to a bearing, [−180, 180)."""
    return (bearing_deg - from_deg + 180.0) % 360.0 - 180.0


def meeting(
    first: Bearing, second: Bearing, *, flip: tuple[bool, bool] = (False, False)
) -> Meeting:
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
        From the angles at both ends of the geodesic between the observers, as on a plane: the
        excess of the triangle over 180° is left out, 0.1° for sides of 200 km.
    """
    line = geodesic(first.observer, second.observer)
    first_deg = first.bearing_true_deg + 180.0 * flip[0]
    second_deg = second.bearing_true_deg + 180.0 * flip[1]
    if line.distance_m < _SAME_PLACE_M:
        return Meeting(abs(_turn(first_deg, second_deg)), same_place=True)
    # Both angles are counted towards the same side: clockwise at the first observer, the other way
    # at the second.
    alpha = _turn(first_deg, line.bearing_true_deg)
    beta = -_turn(second_deg, line.back_bearing_true_deg)
    if alpha * beta > 0.0:
        return Meeting(max(abs(alpha) + abs(beta) - 180.0, 0.0), same_place=False)
    return Meeting(min(abs(alpha), abs(beta)), same_place=False)
