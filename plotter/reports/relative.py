"""Ground that a place relative to others leaves open: a sector, or the middle between two."""

import math
from typing import Final

from plotter.errors import FormatError
from plotter.geodesy.geodesic import destination, geodesic, waypoints
from plotter.geodesy.position import Square
from plotter.reports.offset_words import OffsetWords
from plotter.reports.whereabouts import Origin

__all__ = ["halfway_square", "sector"]

# A bearing said in whole degrees is not better than this on either side.
_LEAST_DIRECTION_ERROR_DEG: Final = 0.5
# An arc is drawn by a corner at least this often.
_ARC_STEP_DEG: Final = 10.0
# "Halfway" is neither a third nor two thirds of the way: nearer to a half than to either.
_HALFWAY_SHARE: Final = (1 / 2 - 1 / 3) / 2


def sector(origin: Origin, words: OffsetWords, bearing_true_deg: float) -> Square:
    """Ground that a spoken distance and direction leave open, with that of the origin added.

    Half a unit of the distance's last figure nearer and farther, half a unit of the direction (for
    a point of the compass half the spacing of such points) to either side.
    """
    half_m = words.unit_m / 2 + origin.size_m / 2
    half_deg = max(words.direction.unit_deg / 2, _LEAST_DIRECTION_ERROR_DEG)
    half_deg += math.degrees(math.atan2(origin.size_m / 2, max(words.distance_m, 1.0)))
    near = max(words.distance_m - half_m, 0.0)
    far = words.distance_m + half_m
    across = 2 * words.distance_m * math.sin(math.radians(min(half_deg, 90.0)))
    steps = max(1, math.ceil(2 * half_deg / _ARC_STEP_DEG))
    turns = [half_deg * (2 * i / steps - 1) for i in range(steps + 1)]
    corners = tuple(
        destination(origin.position, bearing_true_deg + turn, distance)
        for distance, arc in ((near, turns), (far, turns[::-1]))
        for turn in arc
    )
    centre = destination(origin.position, bearing_true_deg, words.distance_m)
    return Square(centre, max(far - near, across), corners)


def halfway_square(first: Origin, second: Origin) -> Square:
    """Ground about the middle between two places.

    A twelfth of the way between them along and across, and half the larger of their own squares.

    Raises
    ------
    FormatError
        If both are the same place.
    """
    line = geodesic(first.position, second.position)
    if line.distance_m == 0.0:
        raise FormatError(
            f"{first.words!r} and {second.words!r} are the same place: ask for the other one"
        )
    centre = waypoints(first.position, second.position, 3)[1]
    onward = geodesic(centre, second.position).bearing_true_deg
    half_m = _HALFWAY_SHARE * line.distance_m + max(first.size_m, second.size_m) / 2
    corners = tuple(
        destination(centre, onward + turn, half_m * math.sqrt(2.0)) for turn in (225, 135, 45, -45)
    )
    return Square(centre, 2 * half_m, corners)
