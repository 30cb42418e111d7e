"""Scenes of more than 2 000 km: equal areas and geodesic azimuths, against PROJ and geodesics."""

import datetime as dt

import numpy as np
import pytest
from fix_families import GEOD, ahead, azimuth, distance, holds
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import GeometryError
from plotter.fix import Bearing, Motion, Support, fix
from plotter.fix.wide_chart import WIDE_REACH_M, WideChart
from plotter.geodesy.position import Position

CENTRE = Position(20.0, -150.0)


@given(st.floats(-89.9, 89.9), st.floats(-180.0, 179.9))
def test_there_and_back(lat, lon):
    chart = WideChart(CENTRE)
    place = Position(lat, lon)
    x, y, _ = chart.points([place])[:, 0]
    # The antipode is a circle, not a point; it lies outside every support.
    if max(abs(x), abs(y)) < WIDE_REACH_M:
        # Towards it a millimetre of the plane is ever less ground: PROJ itself loses figures.
        assert distance(chart.position(x, y), place) < 1e-2


def test_areas_are_those_of_geodesic_polygons():
    chart = WideChart(CENTRE)
    side = 200e3
    for x0, y0 in ((0.0, 0.0), (3e6, -2e6), (-6e6, 5e6)):
        edge = np.linspace(0.0, side, 50)[:-1]
        x = x0 + np.concatenate([edge, edge * 0 + side, side - edge, edge * 0])
        y = y0 + np.concatenate([edge * 0, edge, edge * 0 + side, side - edge])
        lat, lon = chart.latlon_deg(x, y)
        area, _ = GEOD.polygon_area_perimeter(lon, lat)
        assert abs(area) == pytest.approx(side * side, rel=1e-4)


def test_sights_look_along_geodesics():
    chart = WideChart(CENTRE)
    observers = [Position(50.0, 10.0), Position(-30.0, 170.0)]
    targets = [Position(10.0, -100.0), Position(60.0, 150.0), Position(-5.0, -20.0)]
    points = chart.lift(*chart.points(targets)[:2])
    across, ahead_m = chart.sights(observers).components(points)
    for i, observer in enumerate(observers):
        for j, target in enumerate(targets):
            off = np.degrees(np.arctan2(across[i, j], ahead_m[i, j])) - azimuth(observer, target)
            assert abs((off + 180.0) % 360.0 - 180.0) < 1e-6
            there = chart.sights(observers).distance_m(points)[i, j]
            assert there == pytest.approx(distance(observer, target), abs=1e-2)


@pytest.mark.parametrize("truth", [Position(35.0, 179.5), Position(-12.0, -60.0)])
def test_fix_across_an_ocean(truth):
    """Exact bearings from stations 3 000 to 7 000 km away, one of them the reciprocal."""
    stations = [ahead(truth, b, d) for b, d in ((20, 3e6), (140, 5e6), (250, 4e6), (310, 7e6))]
    bearings = [Bearing(s, azimuth(s, truth), 1.0, f"Post {i}") for i, s in enumerate(stations)]
    answer = fix(bearings)
    assert distance(answer.best, truth) < 2_000.0
    assert holds(answer.regions[1], truth) or abs(truth.lon_deg) > 170.0
    back = Bearing(stations[1], azimuth(stations[1], truth) + 180.0, 1.0, "Post 1")
    spoiled = fix([bearings[0], back, *bearings[2:]])
    assert distance(spoiled.best, truth) < 20_000.0
    assert spoiled.bearings[1].p_reciprocal > 0.9


def test_wide_and_near_charts_agree_where_both_serve():
    truth = Position(47.0, 8.0)
    stations = [ahead(truth, b, 9e5) for b in (10.0, 120.0, 230.0)]
    bearings = [
        Bearing(s, azimuth(s, truth) + e, 2.0) for s, e in zip(stations, (1, -1, 2), strict=True)
    ]
    near = fix(bearings, Support(1.9e6, truth))
    wide = fix(bearings, Support(2.1e6, truth))
    assert distance(near.best, wide.best) < 100.0
    assert wide.regions[1].area_km2 == pytest.approx(near.regions[1].area_km2, rel=0.03)


def test_what_moves_is_not_followed_so_far():
    truth = Position(0.0, 0.0)

    noon = dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC)
    far = [ahead(truth, b, 3e6) for b in (10.0, 120.0)]
    bearings = [Bearing(s, azimuth(s, truth), 1.0, time_utc=noon) for s in far]
    with pytest.raises(GeometryError, match="2 000 km"):
        fix(bearings, motion=Motion(8.0))
