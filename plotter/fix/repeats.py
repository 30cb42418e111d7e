"""The same sender from the same place again is a repeat, not another witness.

What makes a bearing wrong, a reflection or a misread compass, is there again the second time. Such
bearings become one, with the chances of one and a mean of their errors that share most of it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from plotter.fix.evidence import Bearing
from plotter.geodesy.geodesic import geodesic

__all__ = ["Repeat", "merged"]

_SAME_PLACE_M: Final = 50.0
# Part of the error's variance that a repeat has again, assumed; two then count as 1.2 and four as
# 1.4. Copies, independent repeats and half of each were tried: see DEVELOPERS.md.
_AGAIN: Final = 0.65
# Farther off than three sigma it is no repeat but a contradiction.
_ALIKE_SIGMAS: Final = 3.0


@dataclass(frozen=True, slots=True)
class Repeat:
    """Several bearings that were counted as one.

    Parameters
    ----------
    sender : str
        Whose they are.
    count : int
        How many.
    counted_as : float
        How many independent ones they are worth.
    """

    sender: str
    count: int
    counted_as: float


def merged(
    bearings: Sequence[Bearing],
) -> tuple[tuple[Bearing, ...], tuple[int, ...], tuple[Repeat, ...]]:
    """Merge what one sender repeated from one place.

    Returns
    -------
    bearings : tuple of Bearing
        Those that count, in the order of their first.
    row_of : tuple of int
        For each given bearing, which of those it is a part of.
    repeats : tuple of Repeat
        What to say of it.
    """
    groups: list[list[int]] = []
    for i, each in enumerate(bearings):
        for group in groups:
            if _repeats(bearings[group[0]], each):
                group.append(i)
                break
        else:
            groups.append([i])
    row_of = [0] * len(bearings)
    for row, group in enumerate(groups):
        for i in group:
            row_of[i] = row
    parts = [[bearings[i] for i in group] for group in groups]
    repeats = tuple(
        Repeat(part[0].sender, len(part), len(part) * _less(len(part)))
        for part in parts
        if len(part) > 1
    )
    return tuple(map(_one, parts)), tuple(row_of), repeats


def _less(count: int) -> float:
    return 1.0 / (1.0 + (count - 1) * _AGAIN)


def _off_deg(one: Bearing, other: Bearing) -> float:
    return math.remainder(other.bearing_true_deg - one.bearing_true_deg, 360.0)


def _repeats(first: Bearing, other: Bearing) -> bool:
    """Whether another bearing says again what the first one said."""
    if not first.sender or first.sender != other.sender:
        return False
    doubts = ("p_reciprocal", "p_gross", "p_other", "common", "sigma_stated", "exact")
    if any(getattr(first, doubt) != getattr(other, doubt) for doubt in doubts):
        return False
    if (first.other_true_deg is None) != (other.other_true_deg is None):
        return False
    if abs(_off_deg(first, other)) > _ALIKE_SIGMAS * max(first.sigma_deg, other.sigma_deg):
        return False
    near_m = max(_SAME_PLACE_M, first.observer_sigma_m, other.observer_sigma_m)
    return geodesic(first.observer, other.observer).distance_m <= near_m


def _one(group: list[Bearing]) -> Bearing:
    """One bearing for several alike: their mean, and what its error shares with all of them."""
    first = group[0]
    if len(group) == 1:
        return first
    turn = sum(_off_deg(first, each) for each in group) / len(group)
    sigma = sum(each.sigma_deg for each in group) / len(group)
    said = tuple(dict.fromkeys(each.as_said for each in group if each.as_said))
    times = [each.time_utc for each in group if each.time_utc is not None]
    return replace(
        first,
        bearing_true_deg=first.bearing_true_deg + turn,
        other_true_deg=None if first.other_true_deg is None else first.other_true_deg + turn,
        sigma_deg=sigma / math.sqrt(len(group) * _less(len(group))),
        as_said=" and ".join(said),
        time_utc=max(times, default=None),
    )
