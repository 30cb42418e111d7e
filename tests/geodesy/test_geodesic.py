"""Geodesics and rhumb lines: against geographiclib, by shape, and by what must hold of any line."""

import itertools
import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from strategies import HARD_PLACES, bearings, positions

from plotter.errors import FormatError, GeometryError
from plotter.geodesy.geodesic import (
    destination,
    direct_arrays,
    geodesic,
    inverse_arrays,
    normal_bearing_deg,
    waypoints,
)
from plotter.geodesy.position import Position
from plotter.geodesy.rhumb import (
    rhumb,
    rhumb_destination,
    rhumb_direct_arrays,
    rhumb_inverse_arrays,
)

ORACLE = Geodesic.WGS84


def hostile_pairs():
    """Random pairs, near-antipodal, very short, polar, and every pair of the hard places."""
    rng = np.random.default_rng(1)
    n = 400
    lat1, lon1 = rng.uniform(-90, 90, n), rng.uniform(-180, 180, n)
    lat2, lon2 = rng.uniform(-90, 90, n), rng.uniform(-180, 180, n)
    near = slice(0, 100)
    lat2[near] = -lat1[near] + rng.normal(0, 0.1, 100)
    lon2[near] = lon1[near] + 180 + rng.normal(0, 0.1, 100)
    short = slice(100, 200)
    lat2[short] = lat1[short] + rng.normal(0, 1e-7, 100)
    lon2[short] = lon1[short] + rng.normal(0, 1e-7, 100)
    lat2 = np.clip(lat2, -90, 90)
    pairs = list(zip(lat1, lon1, lat2, lon2, strict=True))
    pairs += [
        (a.lat_deg, a.lon_deg, b.lat_deg, b.lon_deg) for a in HARD_PLACES for b in HARD_PLACES
    ]
    return np.array(pairs, dtype=float).T


def test_inverse_agrees_with_geographiclib():
    lat1, lon1, lat2, lon2 = hostile_pairs()
    distance, bearing, back = inverse_arrays(lat1, lon1, lat2, lon2)
    for i in range(lat1.size):
        expected = ORACLE.Inverse(lat1[i], lon1[i], lat2[i], lon2[i])
        assert distance[i] == pytest.approx(expected["s12"], abs=1e-6)
        # Where there is more than one shortest line, or none to speak of, the bearing is free:
        # the line itself must lead to the second place.
        if distance[i] > 1e-3:
            end = ORACLE.Direct(lat1[i], lon1[i], bearing[i], distance[i])
            miss = ORACLE.Inverse(end["lat2"], end["lon2"], lat2[i], lon2[i])["s12"]
            assert miss <= 1e-6
            home = ORACLE.Direct(lat2[i], lon2[i], back[i], distance[i])
            assert ORACLE.Inverse(home["lat2"], home["lon2"], lat1[i], lon1[i])["s12"] <= 1e-6


def test_direct_agrees_with_geographiclib():
    rng = np.random.default_rng(2)
    lat, lon = rng.uniform(-90, 90, 300), rng.uniform(-180, 180, 300)
    bearing, distance = rng.uniform(0, 360, 300), rng.uniform(0, 2e7, 300)
    end_lat, end_lon, _ = direct_arrays(lat, lon, bearing, distance)
    for i in range(300):
        expected = ORACLE.Direct(lat[i], lon[i], bearing[i], distance[i])
        off = ORACLE.Inverse(end_lat[i], end_lon[i], expected["lat2"], expected["lon2"])["s12"]
        assert off <= 1e-6
    assert ((end_lon >= -180) & (end_lon < 180)).all()


def test_scalar_is_a_row_of_the_array():
    lat1, lon1, lat2, lon2 = hostile_pairs()
    columns = inverse_arrays(lat1, lon1, lat2, lon2)
    for i in range(0, lat1.size, 37):
        line = geodesic(Position(lat1[i], lon1[i]), Position(lat2[i], lon2[i]))
        # A Position holds its longitude in [-180, 180): the last bit of the sum may differ.
        assert line.distance_m == pytest.approx(columns[0][i], abs=1e-6)


def test_shapes_broadcast_and_inputs_are_left_alone():
    lat = np.array([1.0, 2.0, 3.0])
    kept = lat.copy()
    assert inverse_arrays(1.0, 2.0, 3.0, 4.0)[0].shape == ()
    assert direct_arrays(1.0, 2.0, 3.0, 4.0)[2].shape == ()
    assert inverse_arrays([1.0], [2.0], [3.0], [4.0])[0].shape == (1,)
    assert inverse_arrays(lat, 2.0, 3.0, 4.0)[0].shape == (3,)
    assert inverse_arrays(lat[:, None], 2.0, np.array([3.0, 4.0]), 4.0)[0].shape == (3, 2)
    assert rhumb_inverse_arrays(lat[:, None], 2.0, np.array([3.0, 4.0]), 4.0)[0].shape == (3, 2)
    assert (lat == kept).all()
    assert np.isnan(inverse_arrays([np.nan], [0], [0], [0])[0]).all()


def test_waypoints_lie_on_the_line_and_keep_its_ends():
    a, b = Position(10, 170), Position(-20, -160)
    places = waypoints(a, b, 5)
    assert places[0] == a
    assert places[-1] == b
    parts = [geodesic(p, q).distance_m for p, q in itertools.pairwise(places)]
    assert sum(parts) == pytest.approx(geodesic(a, b).distance_m, abs=1e-6)
    with pytest.raises(FormatError, match="two waypoints"):
        waypoints(a, b, 1)


@given(positions, bearings, st.floats(0, 1.9e7))
def test_direct_undoes_inverse(start, bearing, distance):
    end = destination(start, bearing, distance)
    line = geodesic(start, end)
    assert line.distance_m == pytest.approx(distance, abs=1e-6)
    again = destination(start, line.bearing_true_deg, line.distance_m)
    assert geodesic(again, end).distance_m <= 1e-6


@given(st.floats(-1e6, 1e6))
def test_bearings_come_back_in_range(bearing):
    turned = normal_bearing_deg(bearing)
    assert 0 <= turned < 360
    assert math.cos(math.radians(turned - bearing)) == pytest.approx(1)


def test_bad_input_is_refused():
    with pytest.raises(FormatError, match="finite"):
        normal_bearing_deg(math.inf)
    with pytest.raises(FormatError, match="finite"):
        destination(Position(0, 0), math.nan, 1)


@given(positions, positions)
def test_rhumb_direct_undoes_inverse(a, b):
    line = rhumb(a, b)
    assert line.distance_m >= geodesic(a, b).distance_m - 1e-6
    if abs(a.lat_deg) > 89.9 or abs(b.lat_deg) > 89.9:
        return  # the longitude of a line that winds about the pole has no digits left
    end = rhumb_destination(a, line.bearing_true_deg, line.distance_m)
    # A course near east or west is long for its change of latitude: one unit in the last place of
    # the bearing is 4e-14 degrees, over 20 000 km 15 nm across; longitudes gain by 1/cos.
    assert geodesic(end, b).distance_m <= 1e-5


@given(st.floats(-80, 80), st.floats(-180, 179), st.floats(-1e-9, 1e-9), st.floats(-0.5, 0.5))
def test_rhumb_over_short_and_level_lines_against_the_geodesic(lat, lon, dlat, dlon):
    """Over a few tens of kilometres the two lines differ by the cube of the length only."""
    a, b = Position(lat, lon), Position(lat + dlat, lon + dlon)
    straight, level = geodesic(a, b).distance_m, rhumb(a, b).distance_m
    curve = straight**3 * math.tan(math.radians(lat)) ** 2 / (24 * 6.3e6**2)
    assert level - straight == pytest.approx(curve, abs=1e-6 + 0.05 * curve)


def test_rhumb_at_the_pole():
    to_pole = rhumb(Position(50, 10), Position(90, 77))
    assert to_pole.bearing_true_deg == 0
    assert to_pole.distance_m == pytest.approx(
        geodesic(Position(50, 10), Position(90, 10)).distance_m, abs=1e-6
    )
    with pytest.raises(GeometryError, match="ends at the pole"):
        rhumb_destination(Position(50, 10), 0, 1e7)
    lat, _ = rhumb_direct_arrays([50.0, 50.0], [10.0, 10.0], [0.0, 0.0], [1e7, 1e5])
    assert np.isnan(lat[0])
    assert np.isfinite(lat[1])


def test_rhumb_due_east_stays_on_its_parallel():
    end = rhumb_destination(Position(60, 170), 90, 1e6)
    assert end.lat_deg == pytest.approx(60, abs=1e-12)
    assert end.lon_deg < 0  # over the 180th meridian
