"""The way between two squares: every pair of points in them lies within what is said.

Oracle: shapely for the distance of polygons on a plane, and random pairs of points in the squares.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Position, Square
from plotter.geodesy.spread import way_spread


def square(centre, size_m, turn_deg=0.0):
    half = size_m / 2**0.5
    turns = (225, 135, 45, -45)
    corners = tuple(destination(centre, (turn + turn_deg) % 360, half) for turn in turns)
    return Square(centre, size_m, corners)


@st.composite
def pairs(draw):
    start = Position(draw(st.floats(-85, 85)), draw(st.floats(-180, 180)))
    away = destination(start, draw(st.floats(0, 360)), draw(st.floats(0, 30_000)))
    return (
        square(start, draw(st.floats(1, 9_000)), draw(st.floats(0, 90))),
        square(away, draw(st.floats(1, 9_000)), draw(st.floats(0, 90))),
    )


def inside(each, rng):
    """A point of a square: a mixture of its corners, on the plane about its middle."""
    weights = rng.dirichlet(np.ones(4) * 0.5)
    steps = np.zeros(2)
    for weight, corner in zip(weights, each.corners, strict=True):
        line = geodesic(each.centre, corner)
        turn = np.radians(line.bearing_true_deg)
        steps += weight * line.distance_m * np.array([np.sin(turn), np.cos(turn)])
    return destination(each.centre, np.degrees(np.arctan2(*steps)) % 360, float(np.hypot(*steps)))


@given(pairs(), st.integers(0, 2**32 - 1))
def test_no_pair_of_points_lies_outside_what_is_said(pair, seed):
    start, end = pair
    found = way_spread(start, end)
    rng = np.random.default_rng(seed)
    slack = 1e-3 * (start.size_m + end.size_m)
    for _ in range(8):
        way = geodesic(inside(start, rng), inside(end, rng))
        assert found.least_m - slack <= way.distance_m <= found.most_m + slack
        if found.from_deg is not None:
            width = (found.to_deg - found.from_deg) % 360
            off = (way.bearing_true_deg - found.from_deg + 0.5) % 360
            assert off <= width + 1.0


@given(pairs())
def test_the_ends_of_the_range_are_those_of_polygons_on_a_plane(pair):
    start, end = pair
    planes = []
    for each in pair:
        points = []
        for corner in each.corners:
            line = geodesic(start.centre, corner)
            turn = np.radians(line.bearing_true_deg)
            points.append((line.distance_m * np.sin(turn), line.distance_m * np.cos(turn)))
        planes.append(Polygon(points))
    found = way_spread(start, end)
    corners = [np.array(plane.exterior.coords) for plane in planes]
    most = np.hypot(*(corners[0][:, None] - corners[1][None]).transpose(2, 0, 1)).max()
    # Over 30 km the plane is wrong by some 1e-5.
    assert found.most_m == pytest.approx(most, rel=1e-4, abs=0.01)
    assert found.least_m == pytest.approx(planes[0].distance(planes[1]), rel=1e-3, abs=1.0)
    if planes[0].distance(planes[1]) > 1.0:
        assert found.from_deg is not None
    elif planes[0].intersection(planes[1]).area > 1.0:
        assert (found.least_m, found.from_deg, found.to_deg) == (0.0, None, None)


def test_996_m_to_a_place_good_to_1_85_km_is_0_to_2_km():
    one = square(Position(47.0, 8.0), 1.0)
    other = square(destination(one.centre, 10.0, 996.0), 2 * 1850.0 / 2**0.5)
    found = way_spread(one, other)
    assert found.least_m == 0.0
    assert found.from_deg is None
    assert 996.0 < found.most_m < 996.0 + 1851.0


def test_a_stated_error_widens_the_range():
    one, other = square(Position(47.0, 8.0), 1.0), square(Position(47.1, 8.0), 1.0)
    plain, wide = way_spread(one, other), way_spread(one, other, 100.0, 0.0)
    # 2.4477 standard deviations hold 95 % in two dimensions: chi-square table, 5.991.
    assert wide.least_m == pytest.approx(plain.least_m - 244.77, abs=0.1)
    assert wide.most_m == pytest.approx(plain.most_m + 244.77, abs=0.1)
    assert (wide.to_deg - wide.from_deg) % 360 > (plain.to_deg - plain.from_deg) % 360
    assert way_spread(one, other, 10_000.0, 0.0).from_deg is None


@pytest.mark.parametrize("lat_deg", [90.0, -90.0, 0.0, 89.99])
def test_hard_places(lat_deg):
    one, other = square(Position(lat_deg, 180.0), 1000.0), square(Position(lat_deg, -179.9), 1000.0)
    found = way_spread(one, other)
    assert 0 <= found.least_m <= found.most_m
    far = way_spread(one, square(Position(-lat_deg, 0.0), 1000.0))
    assert 0 < far.least_m <= far.most_m < 20_005_000
