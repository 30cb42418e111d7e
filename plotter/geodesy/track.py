"""Along-track and cross-track: how far along a line a place lies, and how far off it."""

import math
from dataclasses import dataclass
from typing import Final

from geographiclib.geodesic import Geodesic

from plotter.errors import NotConverged
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position

__all__ = ["TrackOffset", "track_offset"]

_GEODESIC: Final = Geodesic(WGS84.a_m, WGS84.f)
_SETTLED_M: Final = 1e-6
_ROUNDS: Final = 50


@dataclass(frozen=True, slots=True)
class TrackOffset:
    """Where a place lies with respect to a geodesic line.

    Parameters
    ----------
    along_m : float
        From the line's start to the foot, negative behind the start.
    cross_m : float
        From the foot to the place, positive to the right of the line.
    foot : Position
        The nearest point of the line.
    """

    along_m: float
    cross_m: float
    foot: Position


def track_offset(start: Position, bearing_true_deg: float, place: Position) -> TrackOffset:
    """Along-track and cross-track distance of a place from a geodesic line.

    Parameters
    ----------
    start : Position
        Where the line starts.
    bearing_true_deg : float
        Its bearing there.
    place : Position
        The place.

    Returns
    -------
    TrackOffset

    Raises
    ------
    NotConverged
        If no foot settles, as it may a quarter of the way round the world off the line, where all
        its points are almost equally near.

    Accuracy
    --------
    A micrometre.

    Source
    ------
    Own iteration: the right spherical triangle at the present foot gives the next one; checked
    against Baselga and Martínez-Llario (2018), tables 4 to 6.
    """
    line = _GEODESIC.Line(start.lat_deg, start.lon_deg, bearing_true_deg)
    along = 0.0
    for _ in range(_ROUNDS):
        foot = line.Position(along)
        to = _GEODESIC.Inverse(foot["lat2"], foot["lon2"], place.lat_deg, place.lon_deg)
        turn = math.radians(to["azi1"] - foot["azi2"])
        arc = to["s12"] / WGS84.a_m
        step = WGS84.a_m * math.atan2(math.sin(arc) * math.cos(turn), math.cos(arc))
        along += step
        if abs(step) < _SETTLED_M:
            cross = math.copysign(to["s12"], math.sin(turn)) if to["s12"] > 0 else 0.0
            return TrackOffset(along, cross, Position(foot["lat2"], foot["lon2"]))
    raise NotConverged(
        "no one point of the line is nearest: the place is about 10 000 km off it on every side"
    )
