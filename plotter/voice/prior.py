"""Where a report can come from, and how likely each place is before anything is said."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.formats.result import Reading
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.voice.candidates import distances_m

__all__ = ["SHAKE_M", "Context", "chances_of_places", "plausibility"]

# A last place, and the way from it, are no better known than this.
SHAKE_M: Final = 100.0


@dataclass(frozen=True, slots=True)
class Context:
    """What is known of where a report can come from.

    Parameters
    ----------
    area : Area
        The area of operations.
    last : Position or None
        Where the sender was last.
    elapsed_s : float
        Seconds since then.
    top_speed_m_per_s : float
        Nobody moves faster.
    """

    area: Area
    last: Position | None = None
    elapsed_s: float = 0.0
    top_speed_m_per_s: float = 40.0

    @property
    def reach_m(self) -> float:
        """How far the sender can have come."""
        return self.elapsed_s * self.top_speed_m_per_s


def plausibility(reading: Reading, context: Context) -> float:
    """How well a reading fits the area, and the sender's last place, 0 to 1.

    Inside both it is 1; beyond it falls by a factor e for each tenth of the radius or the reach.
    """
    square = reading.square
    beyond = geodesic(context.area.centre, square.centre).distance_m - context.area.radius_m
    fit = _fall(beyond - square.size_m, 0.1 * context.area.radius_m)
    if context.last is not None:
        moved = geodesic(context.last, square.centre).distance_m
        slack = square.size_m + SHAKE_M
        fit *= _fall(moved - context.reach_m - slack, 0.1 * context.reach_m + SHAKE_M)
    return fit


def _fall(beyond_m: float, scale_m: float) -> float:
    return 1.0 if beyond_m <= 0 else math.exp(-min(beyond_m / scale_m, 700.0))


def chances_of_places(
    lat_deg: FloatArray, lon_deg: FloatArray, size_m: FloatArray, context: Context
) -> tuple[FloatArray, FloatArray]:
    """How well places fit, and their relative chance before anything is said.

    Parameters
    ----------
    lat_deg, lon_deg, size_m : ndarray, shape (n,)
        Centres and sides of squares.
    context : Context
        Where the report can come from.

    Returns
    -------
    fit : ndarray, shape (n,)
        1 within the area and the sender's reach; it falls by a factor e for each tenth of the
        radius, or of the reach, beyond.
    prior : ndarray, shape (n,)
        The fit, and where the sender's last place is known the nearer the likelier.
    """
    area = context.area
    beyond = distances_m(area.centre, lat_deg, lon_deg) - area.radius_m
    fit = _falls(beyond - size_m, 0.1 * area.radius_m)
    prior = fit
    if context.last is not None:
        moved = distances_m(context.last, lat_deg, lon_deg)
        slack = size_m + SHAKE_M
        fit = fit * _falls(moved - context.reach_m - slack, 0.1 * context.reach_m + SHAKE_M)
        prior = fit * np.exp(-np.minimum(moved / (0.5 * context.reach_m + SHAKE_M), 700.0))
    return fit, prior


def _falls(beyond_m: FloatArray, scale_m: float) -> FloatArray:
    found: FloatArray = np.exp(-np.clip(beyond_m / scale_m, 0.0, 700.0))
    return found
