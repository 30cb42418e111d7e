"""Geodesics, rhumb lines and great circles against tables 01 and 01b, every row."""

import math
import re

import pytest
from check_values import cases, label, latlon, numbers, row, rows, sexagesimal

from plotter.geodesy.crossing import crossing
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.geodesic import destination, geodesic, waypoints
from plotter.geodesy.position import Position
from plotter.geodesy.rhumb import rhumb, rhumb_destination

LINES = "01_geodesic.csv"
RHUMBS = "01b_rhumb_and_sphere.csv"
GRS80 = Ellipsoid(6378137.0, 298.257222101)
BESSEL = Ellipsoid(6377397.155, 299.1528128)
INTERNATIONAL = Ellipsoid(6378388.0, 297.0)
ARC_SECOND = 1 / 3600
# Ed Williams computes on a sphere where a minute of arc is a nautical mile. The flattest ellipsoid
# that our code accepts without dividing by zero stands in for it: 1/f of 1e12 moves nothing.
SPHERE = Ellipsoid(60 * 180 / math.pi * 1852.0, 1e12)


def turn(a_deg: float, b_deg: float) -> float:
    return abs((a_deg - b_deg + 180) % 360 - 180)


def jfk_singapore() -> tuple[Position, Position]:
    a, b = row(LINES, "JFK-Singapore inverse")["inputs"].split("->")
    return Position(*latlon(a)), Position(*latlon(b))


def test_jfk_singapore_inverse():
    line = geodesic(*jfk_singapore())
    expected = row(LINES, "JFK-Singapore inverse")["expected"]
    azi1, azi2 = (sexagesimal(t) for t in re.findall(r"\d+:\d+:[\d.]+", expected))
    s12 = float(re.search(r"s12 (\d+)", expected)[1])
    assert abs(line.distance_m - s12) <= 1
    assert turn(line.bearing_true_deg, azi1) <= 0.05 * ARC_SECOND
    assert turn(line.back_bearing_true_deg + 180, azi2) <= 0.05 * ARC_SECOND


@pytest.mark.parametrize("each", cases(LINES, "JFK-Singapore waypoint"), ids=label)
def test_jfk_singapore_waypoints(each):
    fraction = float(each["case"].split()[-1])
    place = waypoints(*jfk_singapore(), 11)[round(fraction * 10)]
    expected, course = each["expected"].split("; course ")
    lat, lon = latlon(expected)
    assert abs(place.lat_deg - lat) <= 0.06 * ARC_SECOND
    assert turn(place.lon_deg, lon) <= 0.06 * ARC_SECOND / math.cos(math.radians(lat))
    onward = geodesic(place, jfk_singapore()[1]).bearing_true_deg
    assert turn(onward, sexagesimal(course)) <= 0.06 * ARC_SECOND


def test_flinders_peak_to_buninyong():
    each = row(LINES, "Flinders Peak - Buninyong inverse")
    start, end = each["inputs"].split(";")[0].split("->")
    line = geodesic(Position(*latlon(start)), Position(*latlon(end)), ellipsoid=GRS80)
    distance, az12, az21 = re.fullmatch(
        r"s ([\d.]+) m; az12 ([\d. ]+); az21 \(reverse\) ([\d. ]+)", each["expected"]
    ).groups()
    assert abs(line.distance_m - float(distance)) <= 0.001
    assert turn(line.bearing_true_deg, sexagesimal(az12)) <= 0.01 * ARC_SECOND
    assert turn(line.back_bearing_true_deg, sexagesimal(az21)) <= 0.01 * ARC_SECOND


def test_flinders_peak_to_buninyong_direct():
    each = row(LINES, "Flinders Peak - Buninyong direct")
    start, azimuth, distance, _ = each["inputs"].split(";")
    end = destination(
        Position(*latlon(start)),
        sexagesimal(azimuth.replace("az", "")),
        float(distance.replace("s", "")),
        ellipsoid=GRS80,
    )
    lat, lon = latlon(each["expected"])
    # The azimuth is printed to 0.01": 1.4 mm across the track at this distance.
    assert geodesic(end, Position(lat, lon), ellipsoid=GRS80).distance_m <= 0.0014 + 0.0005


@pytest.mark.parametrize("each", cases(LINES, "Vincenty 1975 line"), ids=label)
def test_vincenty_lines(each):
    # The table prints no longitude of the first point: 0 serves.
    parts = re.findall(r"(phi1|phi2|L) (-?\d+ \d+ [\d.]+)", each["inputs"])
    phi1, phi2, difference = (sexagesimal(value) for _, value in parts)
    ellipsoid = BESSEL if "Bessel" in each["inputs"] else INTERNATIONAL
    line = geodesic(Position(phi1, 0), Position(phi2, difference), ellipsoid=ellipsoid)
    s, az1, az2 = re.fullmatch(
        r"s ([\d.]+) m; az1 ([\d. ]+); az2 ([\d. ]+)", each["expected"]
    ).groups()
    tolerance = (0.002 if each["case"].endswith("d") else 0.00002) * ARC_SECOND
    assert abs(line.distance_m - float(s)) <= 0.001
    assert turn(line.bearing_true_deg, sexagesimal(az1)) <= tolerance
    assert turn(line.back_bearing_true_deg + 180, sexagesimal(az2)) <= tolerance


def test_karney_direct():
    each = row(LINES, "Karney 2013 direct (Table 2)")
    lat2, lon2, azi2 = (
        float(v) for v in re.findall(r"(?:lat2|lon2|azi2) ([\d.]+)", each["expected"])
    )
    end = destination(Position(40, 0), 30, 1e7)
    assert abs(end.lat_deg - lat2) <= 1e-11
    assert abs(end.lon_deg - lon2) <= 1e-11
    back = geodesic(end, Position(40, 0)).bearing_true_deg
    assert turn(back + 180, azi2) <= 1e-10


@pytest.mark.parametrize("each", cases(LINES, "GeographicLib geodtest"), ids=label)
def test_geodtest(each):
    lat1, lon1, lat2, lon2 = numbers(each["inputs"].replace(";", " "))[:4]
    azi1, azi2, s12 = (
        float(v) for v in re.findall(r"(?:azi1|azi2|s12) (-?[\d.]+)", each["expected"])
    )
    line = geodesic(Position(lat1, lon1), Position(lat2, lon2))
    assert abs(line.distance_m - s12) <= 1e-6
    assert turn(line.bearing_true_deg, azi1) <= 1e-10
    assert turn(line.back_bearing_true_deg + 180, azi2) <= 1e-10


def test_quarter_meridian_and_degree_of_equator():
    # Both rows are marked "from memory".
    quarter = geodesic(Position(0, 10), Position(90, 10)).distance_m
    degree = geodesic(Position(0, 0), Position(0, 1)).distance_m
    assert abs(quarter - numbers(row(LINES, "WGS84 quarter meridian")["expected"])[0]) <= 0.001
    expected = row(LINES, "1 deg longitude at equator")["expected"]
    assert abs(degree - float(expected.split()[0])) <= 0.001


def test_every_geodesic_row_is_checked():
    pattern = (
        r"JFK-Singapore (inverse|waypoint)|Flinders|Vincenty 1975 line|Karney 2013 direct"
        r"|GeographicLib geodtest|WGS84 quarter|1 deg longitude"
    )
    assert cases(LINES, pattern) == rows(LINES)


def test_rhumb_inverse():
    line = rhumb(*jfk_singapore())
    azimuth, distance = row(RHUMBS, "JFK-Singapore rhumb inverse")["expected"].split(";")
    assert turn(line.bearing_true_deg, sexagesimal(azimuth.replace("azi", ""))) <= 0.05 * ARC_SECOND
    assert abs(line.distance_m - numbers(distance)[0]) <= 1


@pytest.mark.parametrize("each", cases(RHUMBS, "rhumb waypoint"), ids=label)
def test_rhumb_waypoints(each):
    distance = numbers(each["case"])[0] * 1000
    azimuth = sexagesimal(re.search(r"on ([\d:.]+);", each["inputs"])[1])
    end = rhumb_destination(jfk_singapore()[0], azimuth, distance)
    lat, lon = latlon(each["expected"])
    # Our start bearing is the printed one, 0.05" of which is 2.4 m at 10 000 km: 0.08" and more
    # along the line; the tool that printed the row had the same input.
    assert abs(end.lat_deg - lat) <= 0.05 * ARC_SECOND
    assert turn(end.lon_deg, lon) <= 0.05 * ARC_SECOND


def test_calculator_book_mercator_sailing():
    each = row(RHUMBS, "Calculator-book Mercator sailing")  # status: from memory
    a, b = each["inputs"].split("->")
    line = rhumb(Position(*latlon(a)), Position(*latlon(b)))
    course, miles = numbers(each["expected"])[:2]
    assert turn(line.bearing_true_deg, course) <= 0.01
    assert abs(line.distance_m / 1852 - miles) <= 0.1


LAX = Position(33 + 57 / 60, -(118 + 24 / 60))
JFK = Position(40 + 38 / 60, -(73 + 47 / 60))


def test_formulary_initial_course():
    course = geodesic(LAX, JFK, ellipsoid=SPHERE).bearing_true_deg
    radians = numbers(row(RHUMBS, "LAX-JFK initial course")["expected"])[0]
    assert abs(math.radians(course) - radians) <= 1e-6


def test_formulary_latitude_at_longitude():
    course = geodesic(LAX, JFK, ellipsoid=SPHERE).bearing_true_deg
    low, high = 0.0, geodesic(LAX, JFK, ellipsoid=SPHERE).distance_m
    for _ in range(80):  # where the track passes 111 W
        middle = (low + high) / 2
        if destination(LAX, course, middle, ellipsoid=SPHERE).lon_deg < -111:
            low = middle
        else:
            high = middle
    lat = destination(LAX, course, low, ellipsoid=SPHERE).lat_deg
    radians = numbers(row(RHUMBS, "LAX-JFK latitude at 111W")["expected"])[0]
    assert abs(math.radians(lat) - radians) <= 1e-6


def test_formulary_forty_percent():
    line = geodesic(LAX, JFK, ellipsoid=SPHERE)
    place = destination(LAX, line.bearing_true_deg, 0.4 * line.distance_m, ellipsoid=SPHERE)
    lat, lon = latlon(row(RHUMBS, "40 percent waypoint")["expected"])
    assert abs(place.lat_deg - lat) <= 0.001 / 60
    assert abs(place.lon_deg - lon) <= 0.001 / 60


def test_formulary_cross_track_by_its_own_triangle():
    """Our offsets run on the ellipsoid only; on the sphere the triangle itself is checked."""
    off = Position(34.5, -116.5)
    to = geodesic(LAX, off, ellipsoid=SPHERE)
    course = geodesic(LAX, JFK, ellipsoid=SPHERE).bearing_true_deg
    arc = to.distance_m / SPHERE.a_m
    angle = math.radians(to.bearing_true_deg - course)
    cross = math.asin(math.sin(arc) * math.sin(angle)) * SPHERE.a_m / 1852
    along = math.atan2(math.sin(arc) * math.cos(angle), math.cos(arc)) * SPHERE.a_m / 1852
    distance, bearing, xtd, atd = numbers(row(RHUMBS, "Cross-track of D")["expected"])
    assert abs(to.distance_m / 1852 - distance) <= 0.002
    assert abs(to.bearing_true_deg - bearing) <= 0.005
    assert abs(cross - xtd) <= 0.002
    assert abs(along - atd) <= 0.002


def test_formulary_radials_on_the_ellipsoid():
    """The row is spherical; on WGS 84 the crossing is the same within the flattening's effect."""
    each = row(RHUMBS, "Intersection of two radials")
    reo, bke = Position(42.600, -117.866), Position(44.840, -117.806)
    found = crossing(reo, 51, bke, 137)
    lat, lon = latlon(each["expected"])
    off = geodesic(found.position, Position(lat, lon)).distance_m
    # f is 1/298: of legs of 174 and 191 km that is at most some 600 m.
    assert off <= (found.distance_a_m + found.distance_b_m) * WGS84.f


def test_every_rhumb_row_is_checked():
    pattern = (
        r"JFK-Singapore rhumb|rhumb waypoint|Calculator-book|LAX-JFK|Cross-track of D"
        r"|40 percent|Intersection of two radials"
    )
    assert cases(RHUMBS, pattern) == rows(RHUMBS)
