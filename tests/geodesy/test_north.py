"""Turning bearings between true, magnetic and grid north, and back bearings."""

import datetime as dt

import numpy as np
import pyproj
import pytest
from hypothesis import given
from strategies import bearings, positions, utm_positions

from plotter.geodesy.grid import convergence_deg, convergence_deg_array, zone_of
from plotter.geodesy.leg import leg
from plotter.geodesy.north import (
    back_bearing_deg,
    bearing_grid_from_true_deg,
    bearing_magnetic_from_true_deg,
    bearing_true_from_grid_deg,
    bearing_true_from_magnetic_deg,
    declination_deg,
)
from plotter.geodesy.position import Position

DAY = dt.date(2026, 3, 14)


def apart(a, b):
    return abs((a - b + 180) % 360 - 180)


@given(positions, bearings)
def test_norths_undo_each_other(place, bearing):
    magnetic = bearing_magnetic_from_true_deg(bearing, place, DAY)
    assert apart(bearing_true_from_magnetic_deg(magnetic, place, DAY), bearing) < 1e-9
    grid = bearing_grid_from_true_deg(bearing, place)
    assert apart(bearing_true_from_grid_deg(grid, place), bearing) < 1e-9
    assert apart(back_bearing_deg(back_bearing_deg(bearing)), bearing) < 1e-9
    assert 0 <= magnetic < 360


def test_east_declination_makes_the_true_bearing_larger():
    # Common practice, no source: "declination east, compass least".
    place = Position(-41.3, 174.8)
    assert declination_deg(place, DAY) > 15
    assert bearing_true_from_magnetic_deg(100, place, DAY) > 115


@given(utm_positions)
def test_convergence_agrees_with_proj(place):
    zone = zone_of(place)
    projection = pyproj.Proj(proj="utm", zone=zone, ellps="WGS84")
    factors = projection.get_factors(place.lon_deg, place.lat_deg)
    assert apart(convergence_deg(place), factors.meridian_convergence) < 1e-8


def test_convergence_array_is_the_scalar_by_row():
    lat = np.array([10.0, -50.0, 85.0, -85.0, 60.0])
    lon = np.array([0.5, 179.9, 30.0, -100.0, 4.0])
    rows = convergence_deg_array(lat, lon)
    for i in range(5):
        assert rows[i] == convergence_deg(Position(lat[i], lon[i]))


def test_leg_states_every_north():
    way = leg(Position(47, 8), Position(47.1, 8.2), DAY)
    assert way.bearing_magnetic_deg == pytest.approx(
        way.bearing_true_deg - declination_deg(Position(47, 8), DAY)
    )
    assert way.bearing_grid_deg == pytest.approx(
        way.bearing_true_deg - convergence_deg(Position(47, 8))
    )
    assert way.rhumb_distance_m >= way.distance_m
