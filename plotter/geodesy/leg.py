"""How to get from one place to another: distance, and the bearing from every north."""

import datetime as dt
from dataclasses import dataclass

from plotter.geodesy.geodesic import geodesic, normal_bearing_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.north import bearing_grid_from_true_deg
from plotter.geodesy.position import Position
from plotter.geodesy.rhumb import rhumb

__all__ = ["Leg", "leg"]


@dataclass(frozen=True, slots=True)
class Leg:
    """The way from one place to another.

    Parameters
    ----------
    distance_m : float
        Along the geodesic.
    bearing_true_deg, bearing_magnetic_deg, bearing_grid_deg : float
        Initial bearing at the start, from each north there.
    back_bearing_true_deg : float
        From the end back to the start.
    rhumb_distance_m, rhumb_bearing_deg : float
        Along the rhumb line: longer, on one true bearing all the way.
    warnings : tuple of str
        What speaks against the magnetic bearing.
    """

    distance_m: float
    bearing_true_deg: float
    back_bearing_true_deg: float
    bearing_magnetic_deg: float
    bearing_grid_deg: float
    rhumb_distance_m: float
    rhumb_bearing_deg: float
    warnings: tuple[str, ...]


def leg(start: Position, end: Position, date: dt.date, height_m: float = 0.0) -> Leg:
    """Distance and bearings from one place to another on a day.

    Parameters
    ----------
    start, end : Position
        The places.
    date : datetime.date
        For the magnetic declination at the start.
    height_m : float
        Height of the start above the ellipsoid.
    """
    line = geodesic(start, end)
    constant = rhumb(start, end)
    north = declination(start, date, height_m)
    return Leg(
        distance_m=line.distance_m,
        bearing_true_deg=line.bearing_true_deg,
        back_bearing_true_deg=line.back_bearing_true_deg,
        bearing_magnetic_deg=normal_bearing_deg(line.bearing_true_deg - north.declination_deg),
        bearing_grid_deg=bearing_grid_from_true_deg(line.bearing_true_deg, start),
        rhumb_distance_m=constant.distance_m,
        rhumb_bearing_deg=constant.bearing_true_deg,
        warnings=north.warnings,
    )
