import itertools
import math

import numpy as np
import pytest
import shapely
from fix_families import GEOD, ahead, azimuth, distance

from plotter.errors import GeometryError
from plotter.fix.reachable import Reach, along, anywhere, inside, named
from plotter.fix.result import Polygon
from plotter.geodesy.position import Position

# Ordinary ground, 180°, both poles, the equator.
PLACES = [
    Position(47.0, 8.0),
    Position(-17.0, 179.99),
    Position(89.9, 30.0),
    Position(-90.0, 0.0),
    Position(0.0, -180.0),
]


def ring_about(centre, radius_m, corners=24):
    return tuple(ahead(centre, 360.0 - 360.0 * k / corners, radius_m) for k in range(corners))


@pytest.mark.parametrize("centre", PLACES, ids=str)
@pytest.mark.parametrize("radius_m", [500.0, 20e3])
def test_a_reach_is_covered_evenly_and_not_left(centre, radius_m):
    """Distances by geographiclib's geodesics in PROJ, not by the chart."""
    found = anywhere(Reach(centre, radius_m))
    away = np.array([distance(centre, each.position) for each in found])
    assert found[0].position == centre
    assert away.max() <= radius_m * (1 + 1e-9)
    assert 360 <= len(found) <= 440
    # Even: the share within a circle is the share of its area; four binomial errors.
    for part in (0.3, 0.6, 0.9):
        share = part * part
        assert np.mean(away < part * radius_m) == pytest.approx(
            share, abs=4 * math.sqrt(share * (1 - share) / len(found))
        )
    assert {each.name for each in found} == {""}


@pytest.mark.parametrize("centre", PLACES, ids=str)
def test_an_area_is_covered_inside_and_spares_its_hole(centre):
    area = Polygon(ring_about(centre, 10e3), (ring_about(centre, 5e3),))
    found = inside([area])
    away = np.array([distance(centre, each.position) for each in found])
    assert 340 <= len(found) <= 460
    # The sides of a 24-corner lie up to 1 - cos(7.5°) = 0.9 % inside its circle.
    assert away.min() > 5e3 * 0.991
    assert away.max() <= 10e3 * (1 + 1e-6)
    # No side of the compass is left out, seen on the ground.
    directions = np.array([azimuth(centre, each.position) for each in found]) % 360.0
    assert np.histogram(directions, 8, (0, 360))[0].min() > len(found) / 16


def test_an_area_is_cut_to_what_can_be_reached():
    centre = PLACES[1]
    start = ahead(centre, 90.0, 10e3)
    found = inside([Polygon(ring_about(centre, 10e3))], reach=Reach(start, 6e3))
    assert 340 <= len(found) <= 460
    assert max(distance(start, each.position) for each in found) <= 6e3
    assert max(distance(centre, each.position) for each in found) <= 10e3
    assert inside([Polygon(ring_about(centre, 10e3))], reach=Reach(PLACES[0], 6e3)) == ()


def test_however_thin_an_area_has_a_place():
    start = PLACES[0]
    far = ahead(start, 90.0, 9e3)
    thin = Polygon((start, far, ahead(far, 0.0, 0.5), ahead(start, 0.0, 0.5)))
    assert len(inside([thin])) >= 1
    assert inside([]) == ()


def test_two_areas_that_overlap_are_one_ground():
    one, two = (Polygon(ring_about(ahead(PLACES[0], 90.0, d), 5e3)) for d in (0.0, 1e3))
    alone, both = inside([one]), inside([one, two])
    assert len(both) == pytest.approx(len(alone), rel=0.1)
    gaps = shapely.STRtree([shapely.Point(*GEOD_XY(c.position)) for c in both])
    assert gaps.geometries.size == len({c.position for c in both})


def GEOD_XY(place):  # noqa: N802 - a constant frame: metres from a fixed origin
    azimuth_deg, _, away = GEOD.inv(8.0, 47.0, place.lon_deg, place.lat_deg)
    return away * math.sin(math.radians(azimuth_deg)), away * math.cos(math.radians(azimuth_deg))


def test_an_outline_that_crosses_itself_is_refused():
    a, b, c, d = (ahead(PLACES[0], 90.0 * k, 5e3) for k in range(4))
    with pytest.raises(GeometryError, match="crosses itself"):
        inside([Polygon((a, c, b, d))])
    with pytest.raises(GeometryError, match="too far"):
        inside([Polygon((Position(60, 0), Position(0, 70), Position(-60, 0), Position(0, -70)))])


@pytest.mark.parametrize("centre", PLACES, ids=str)
def test_places_along_a_road_are_evenly_spaced_and_on_it(centre):
    road = [ahead(centre, 75.0, d) for d in np.linspace(-12e3, 12e3, 7)]
    found = along([road], Reach(centre, 8e3), count=80)
    away = np.array([distance(centre, each.position) for each in found])
    assert len(found) == pytest.approx(80, abs=1)
    assert away.max() <= 8e3
    steps = [distance(one.position, two.position) for one, two in itertools.pairwise(found)]
    assert steps == pytest.approx([200.0] * len(steps), rel=1e-3)
    # On the geodesic: its two halves add up to it.
    for each in found:
        detour = distance(road[0], each.position) + distance(each.position, road[-1])
        assert detour == pytest.approx(distance(road[0], road[-1]), abs=0.5)


def test_short_roads_share_the_spacing_and_far_ones_are_left_out():
    start = PLACES[0]
    stubs = [
        [ahead(start, 10.0 * k, 2e3), ahead(ahead(start, 10.0 * k, 2e3), 0.0, 50.0)]
        for k in range(36)
    ]
    antipode = [Position(-47.0, -172.0), Position(-47.1, -172.0)]
    assert len(along([*stubs, antipode], Reach(start, 5e3), count=9)) == 9
    assert along([antipode], Reach(start, 5e3)) == ()
    assert along([[start]], Reach(start, 5e3)) == ()


def test_a_road_round_half_the_earth_is_taken_where_it_is_near():
    equator = [Position(0.0, lon) for lon in range(-180, 180)]
    found = along([equator], Reach(Position(0.0, 0.0), 300e3), count=60)
    assert len(found) == pytest.approx(60, abs=1)
    assert max(abs(each.position.lat_deg) for each in found) < 1e-6


def test_named_places_keep_their_order_the_last_word_and_the_reach():
    here = PLACES[0]
    places = [("Mill", ahead(here, 0, 900.0)), ("Far", ahead(here, 0, 9e3)), ("Mill", here)]
    assert [each.name for each in named(places)] == ["Mill", "Far"]
    assert [(each.name, each.position) for each in named(places, reach=Reach(here, 5e3))] == [
        ("Mill", here)
    ]


@pytest.mark.parametrize("radius_m", [0.0, -1.0, math.nan, math.inf, 3e6])
def test_a_reach_has_a_size(radius_m):
    with pytest.raises(GeometryError, match="check the minutes and the speed"):
        Reach(PLACES[0], radius_m)
