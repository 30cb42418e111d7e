import math

import numpy as np
import pytest
from fix_families import GEOD, PLANE, TRUTH, ahead
from pyproj import Transformer

from plotter.errors import GeometryError
from plotter.fix.chart import chart_at, mean_position, sights
from plotter.geodesy.position import Position

# Worst difference of normal section and geodesic, measured by others on the same formula and stated
# in the chart's own docstring; arc seconds within a distance in metres.
STATED = [(50e3, 0.007), (200e3, 0.11), (500e3, 0.7), (1000e3, 2.9)]
PLACES = [TRUTH, Position(0.0, 179.99), Position(-33.0, -70.0), Position(89.9, 30.0)]


@pytest.mark.parametrize(("within_m", "arc_seconds"), STATED)
@pytest.mark.parametrize("centre", PLACES, ids=str)
def test_azimuth_stays_as_near_to_the_geodesic_as_stated(within_m, arc_seconds, centre):
    rng = np.random.default_rng(1)
    chart = chart_at(centre)
    worst = 0.0
    for _ in range(200):
        observer = ahead(centre, *rng.uniform((0.0, 0.0), (360.0, within_m / 2)))
        target = ahead(observer, *rng.uniform((0.0, 100.0), (360.0, within_m)))
        ours = sights(chart, [observer]).azimuth_deg(chart.points([target]))[0, 0]
        theirs = GEOD.inv(observer.lon_deg, observer.lat_deg, target.lon_deg, target.lat_deg)[0]
        worst = max(worst, abs((ours - theirs + 180.0) % 360.0 - 180.0))
    # Stated to one or two figures.
    assert worst * 3600.0 < arc_seconds * 1.1


def test_chart_is_the_ellipsoidal_orthographic_projection():
    """PROJ's ``ortho`` with an ellipsoid draws the same plane."""
    chart = chart_at(TRUTH)
    x, y = np.random.default_rng(2).uniform(-1.4e6, 1.4e6, (2, 500))
    lon, lat = PLANE(x, y, inverse=True)
    our_lat, our_lon = chart.latlon_deg(x, y)
    # PROJ iterates; a nanodegree is 0.1 mm.
    np.testing.assert_allclose(our_lat, lat, atol=1e-9)
    np.testing.assert_allclose(our_lon, lon, atol=1e-9)
    back = chart.points([Position(float(a), float(o)) for a, o in zip(lat, lon, strict=True)])
    np.testing.assert_allclose(back, chart.lift(x, y), atol=1e-3)


def test_area_element_is_the_inverse_areal_scale_of_that_projection():
    chart = chart_at(TRUTH)
    x, y = np.random.default_rng(3).uniform(-1.4e6, 1.4e6, (2, 50))
    lon, lat = PLANE(x, y, inverse=True)
    ours = chart.area_element(chart.lift(x, y))
    theirs = 1.0 / np.asarray(PLANE.get_factors(lon, lat).areal_scale)
    # PROJ differentiates numerically.
    np.testing.assert_allclose(ours, theirs, rtol=1e-6)


def test_area_of_a_cell_is_the_geodesic_polygon_area():
    chart = chart_at(Position(60.0, -30.0))
    east, north = 300e3, -500e3
    x = np.array([east - 500, east + 500, east + 500, east - 500])
    y = np.array([north - 500, north - 500, north + 500, north + 500])
    lat, lon = chart.latlon_deg(x, y)
    area, _ = GEOD.polygon_area_perimeter(lon, lat)
    middle = chart.lift(np.array([east]), np.array([north]))
    assert 1e6 * chart.area_element(middle)[0] == pytest.approx(area, rel=1e-6)


def test_mean_position_crosses_the_antimeridian_and_the_pole():
    middle = mean_position([Position(1.0, 179.0), Position(-1.0, -179.0)])
    assert middle.lat_deg == pytest.approx(0.0, abs=1e-9)
    assert abs(middle.lon_deg) == pytest.approx(180.0, abs=1e-9)
    about = mean_position([Position(89.0, lon) for lon in (0.0, 120.0, -120.0)])
    assert about.lat_deg == pytest.approx(90.0, abs=1e-9)


def test_observers_all_round_the_earth_have_no_middle():
    with pytest.raises(GeometryError, match="there is no middle"):
        mean_position([Position(0.0, 0.0), Position(0.0, 180.0)])


def test_reach_is_the_straight_way_to_the_farthest():
    """Through the Earth, as earth-centred coordinates of PROJ have it."""
    far = ahead(TRUTH, 90.0, 1.9e6)
    geocentric = Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)
    ends = [geocentric.transform(p.lon_deg, p.lat_deg, 0.0) for p in (TRUTH, far)]
    straight = math.dist(*ends)
    assert chart_at(TRUTH).reach_m([TRUTH, far]) == pytest.approx(straight, abs=1e-3)


def test_turned_sights_measure_the_angle_off_the_bearing():
    chart = chart_at(TRUTH)
    observer = ahead(TRUTH, 200.0, 7000.0)
    points = chart.points([ahead(TRUTH, 40.0, 3000.0)])
    seen = sights(chart, [observer])
    azimuth = seen.azimuth_deg(points)[0, 0]
    off = seen.turned(np.radians([azimuth - 350.0])).azimuth_deg(points)[0, 0]
    assert off == pytest.approx(-10.0, abs=1e-9)


def test_a_far_observer_is_refused_with_his_distance():
    chart = chart_at(TRUTH)
    with pytest.raises(GeometryError, match="2000 km"):
        chart.check_reach([TRUTH, ahead(TRUTH, 90.0, 2.1e6)])
    chart.check_reach([ahead(TRUTH, 90.0, 1.9e6)])
