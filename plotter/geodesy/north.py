"""True, magnetic and grid north: turning a bearing from one to another, and back bearings."""

import datetime as dt

from plotter.geodesy.geodesic import normal_bearing_deg
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position

__all__ = [
    "back_bearing_deg",
    "bearing_grid_from_true_deg",
    "bearing_magnetic_from_true_deg",
    "bearing_true_from_grid_deg",
    "bearing_true_from_magnetic_deg",
    "declination_deg",
]


def declination_deg(position: Position, date: dt.date, height_m: float = 0.0) -> float:
    """Declination as a bare number; `plotter.geodesy.magnetic.declination` adds its warnings."""
    return declination(position, date, height_m).declination_deg


def bearing_true_from_magnetic_deg(
    bearing_magnetic_deg: float, position: Position, date: dt.date, height_m: float = 0.0
) -> float:
    """Turn a magnetic bearing taken at a place into a true one: true = magnetic + declination."""
    return normal_bearing_deg(bearing_magnetic_deg + declination_deg(position, date, height_m))


def bearing_magnetic_from_true_deg(
    bearing_true_deg: float, position: Position, date: dt.date, height_m: float = 0.0
) -> float:
    """Turn a true bearing from a place into a magnetic one."""
    return normal_bearing_deg(bearing_true_deg - declination_deg(position, date, height_m))


def bearing_true_from_grid_deg(bearing_grid_deg: float, position: Position) -> float:
    """Turn a UTM (UPS) grid bearing taken at a place into a true one: true = grid + convergence.

    Examples
    --------
    >>> round(bearing_true_from_grid_deg(90.0, Position(33.33, 44.44)), 4)
    89.6923
    """
    return normal_bearing_deg(bearing_grid_deg + convergence_deg(position))


def bearing_grid_from_true_deg(bearing_true_deg: float, position: Position) -> float:
    """Turn a true bearing from a place into a UTM (UPS) grid bearing."""
    return normal_bearing_deg(bearing_true_deg - convergence_deg(position))


def back_bearing_deg(bearing_deg: float) -> float:
    """Return the opposite direction, from the same north at the same place.

    The bearing from the far end back is the reverse geodesic's: see `plotter.geodesy.geodesic`.

    Examples
    --------
    >>> back_bearing_deg(240.0)
    60.0
    """
    return normal_bearing_deg(bearing_deg + 180.0)
