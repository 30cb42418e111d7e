"""Crossings of bearings against table 08, and the answers that are names instead of numbers."""

import math
import re

import numpy as np
import pytest
from check_values import cases, label, latlon, numbers, row
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError, NoIntersection, ParallelBearings
from plotter.geodesy.crossing import crossing
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Position
from plotter.geodesy.track import track_offset

TABLE = "08_bearings_intersection_fix.csv"


def place(text: str) -> Position:
    return Position(*latlon(text))


def crossing_of_lines(a: Position, b: Position, c: Position, d: Position) -> Position:
    """Crossing of two lines through two points each, on whichever side it falls."""
    first, second = geodesic(a, b).bearing_true_deg, geodesic(c, d).bearing_true_deg
    try:
        return crossing(a, first, c, second).position
    except NoIntersection as error:
        # Named as behind: turn those bearings round and it is ahead.
        back = [180.0 if name in error.behind else 0.0 for name in "AB"]
        assert any(back)
        return crossing(a, first + back[0], c, second + back[1]).position


@pytest.mark.parametrize("each", cases(TABLE, r"Geodesic intersection case \d"), ids=label)
def test_published_crossings(each):
    points = re.findall(r"[\d.]+[NS][\d.]+[EW]", each["inputs"])
    found = crossing_of_lines(*(place(p) for p in points))
    lat, lon = (float(v) for v in re.findall(r"-?\d+\.?\d*", each["expected"])[:2])
    assert found.lat_deg == pytest.approx(lat, abs=1e-9)
    # A degree of longitude near the pole is short: compare what it is on the ground.
    assert (found.lon_deg - lon) * math.cos(math.radians(lat)) == pytest.approx(0, abs=1e-9)


def test_crossing_with_the_equator_and_with_the_180th_meridian():
    """The second is too far for a crossing of bearings: the line itself is checked."""
    start = Position(50, -4)
    equator = crossing(start, -147.7, Position(0, -60), 90)
    distance, lon = numbers(row(TABLE, "Geodesic crosses equator")["expected"].replace(";", " "))
    assert equator.distance_a_m == pytest.approx(distance, abs=1)
    assert equator.position.lat_deg == pytest.approx(0, abs=1e-9)
    assert equator.position.lon_deg == pytest.approx(lon, abs=1e-5)
    distance, lat, _ = numbers(row(TABLE, "Geodesic crosses 180")["expected"].replace(";", " "))
    antimeridian = destination(start, -147.7, distance)
    assert antimeridian.lat_deg == pytest.approx(lat, abs=2e-5)
    assert abs(antimeridian.lon_deg) == pytest.approx(180, abs=2e-5)


def test_geographiclib_intersect_example():
    each = row(TABLE, "Intersect class example")
    found = crossing(Position(0, 0), 45, Position(45, 10), 135)
    lat, lon, first, second = numbers(each["expected"].replace(";", " "))
    assert found.position.lat_deg == pytest.approx(lat, abs=1e-7)
    assert found.position.lon_deg == pytest.approx(lon, abs=1e-7)
    assert found.distance_a_m == pytest.approx(first, abs=1e-3)
    assert found.distance_b_m == pytest.approx(second, abs=1e-3)


def test_spherical_library_example():
    """Status: from memory, on a sphere; the ellipsoid moves it by less than the flattening."""
    each = row(TABLE, "Sphere intersection (library doc)")
    a, b = Position(51.8853, 0.2545), Position(49.0034, 2.5735)
    found = crossing(a, 108.547, b, 32.435)
    off = geodesic(found.position, place(each["expected"])).distance_m
    assert off <= (found.distance_a_m + found.distance_b_m) / 298.0


@pytest.mark.parametrize("each", cases(TABLE, "Point to geodesic"), ids=label)
def test_point_to_line(each):
    a, b = (place(p) for p in re.search(r"line (\S+?)-(\S+),", each["inputs"]).groups())
    off = place(re.search(r"point (\S+)", each["inputs"])[1])
    found = track_offset(a, geodesic(a, b).bearing_true_deg, off)
    foot, distance = each["expected"].split("; distance ")
    lat, lon = latlon(foot)
    assert found.foot.lat_deg == pytest.approx(lat, abs=0.0001 / 3600)
    assert found.foot.lon_deg == pytest.approx(lon, abs=0.0001 / 3600)
    assert abs(found.cross_m) == pytest.approx(numbers(distance)[0], abs=0.001)


def test_cross_track_is_positive_to_the_right():
    right = track_offset(Position(0, 0), 0.0, Position(1, 1))
    left = track_offset(Position(0, 0), 0.0, Position(1, -1))
    assert right.cross_m > 0 > left.cross_m
    behind = track_offset(Position(0, 0), 0.0, Position(-1, 1))
    assert behind.along_m < 0


def test_cross_track_where_every_point_of_the_line_is_equally_near():
    found = track_offset(Position(0, 0), 90.0, Position(90, 0))
    quarter = numbers(row("01_geodesic.csv", "WGS84 quarter meridian")["expected"])[0]
    assert abs(found.cross_m) == pytest.approx(quarter, abs=0.001)


def test_behind_an_observer_is_a_named_answer():
    with pytest.raises(NoIntersection, match="behind observer A") as caught:
        crossing(Position(0, 0), 225, Position(0, 2), 315)
    assert caught.value.behind == ("A",)
    with pytest.raises(NoIntersection, match="behind observer A and observer B") as caught:
        crossing(Position(0, 0), 225, Position(0, 2), 135)
    assert caught.value.behind == ("A", "B")


@pytest.mark.parametrize(
    ("a", "bearing_a", "b", "bearing_b"),
    [
        (Position(0, 0), 90, Position(0, 1), 90),  # one line, same way
        (Position(0, 0), 90, Position(0, 1), 270),  # one line, towards each other
        (Position(47, 8), 30, Position(47, 8), 30),  # one place, one bearing
        (Position(0, 0), 0, Position(0, 0.001), 0),  # meet at the pole, at 0.001 degrees
    ],
)
def test_parallel_and_coincident_are_named_answers(a, bearing_a, b, bearing_b):
    with pytest.raises(ParallelBearings):
        crossing(a, bearing_a, b, bearing_b)


def test_one_place_with_two_bearings_crosses_at_that_place():
    found = crossing(Position(47, 8), 30, Position(47, 8), 100)
    assert geodesic(found.position, Position(47, 8)).distance_m <= 1e-4


def test_crossing_at_a_pole_and_over_180():
    pole = crossing(Position(80, 0), 0, Position(80, 90), 0)
    assert pole.position.lat_deg == pytest.approx(90, abs=1e-9)
    date_line = crossing(Position(10, 179), 60, Position(10, -179), 300)
    assert abs(abs(date_line.position.lon_deg) - 180) < 1e-9


def test_bad_bearing_is_refused():
    with pytest.raises(FormatError, match="finite"):
        crossing(Position(0, 0), math.nan, Position(0, 1), 0)


places = st.builds(Position, st.floats(-85, 85), st.floats(-180, 179))
bearings = st.floats(0, 359.99)


@given(places, bearings, bearings, st.floats(100, 2e6), st.floats(100, 2e6))
def test_crossing_is_found_where_it_was_made(target, to_a, to_b, range_a, range_b):
    """Two observers placed about a target, each looking at it: they cross there."""
    if abs(math.sin(math.radians(to_a - to_b))) < 0.05:
        return
    a, b = destination(target, to_a, range_a), destination(target, to_b, range_b)
    first, second = geodesic(a, target).bearing_true_deg, geodesic(b, target).bearing_true_deg
    found = crossing(a, first, b, second)
    assert geodesic(found.position, target).distance_m <= 1e-4
    # Swapping the observers gives the same place, by other arithmetic on the way.
    swapped = crossing(b, second, a, first)
    assert geodesic(swapped.position, found.position).distance_m <= 1e-4


def test_against_a_search_along_the_line_by_geographiclib():
    """Independent route: slide along the first line until the second one's bearing fits."""
    rng = np.random.default_rng(8)
    oracle = Geodesic.WGS84
    for _ in range(20):
        a = Position(rng.uniform(-60, 60), rng.uniform(-180, 180))
        b = destination(a, rng.uniform(0, 360), rng.uniform(1e3, 3e5))
        base = geodesic(a, b).bearing_true_deg
        first, second = base + rng.uniform(20, 70), base + rng.uniform(100, 160)
        found = crossing(a, first, b, second)
        line = oracle.Line(a.lat_deg, a.lon_deg, first)

        def miss(s, line=line, b=b, second=second):
            p = line.Position(s)
            azimuth = oracle.Inverse(b.lat_deg, b.lon_deg, p["lat2"], p["lon2"])["azi1"]
            return (azimuth - second + 180) % 360 - 180

        low, high = 0.0, 5 * geodesic(a, b).distance_m + 2 * found.distance_a_m
        sign = math.copysign(1, miss(low))
        for _ in range(100):
            middle = (low + high) / 2
            if miss(middle) * sign > 0:
                low = middle
            else:
                high = middle
        assert low == pytest.approx(found.distance_a_m, abs=1e-3)
