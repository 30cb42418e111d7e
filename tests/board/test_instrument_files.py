"""Drawings taken away: GeoJSON judged by GEOS and RFC 7946, GPX by its schema's structure."""

import json
import xml.etree.ElementTree as ET
from importlib.resources import files

import numpy as np
import pytest
import shapely
from board_examples import DAY
from shapely.geometry import shape

from plotter.board.instrument_data import instrument_data
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays

pytestmark = pytest.mark.browser
SCRIPTS = ("geodesic", "grids_of_place", "geodesic_path", "take_away")
GPX = "{http://www.topografix.com/GPX/1/1}"
HOSTILE = "</name><script>&\"'>]]>\x00\x07\u202e\ud800 é 𝄞\r\n{{7*7}}"


@pytest.fixture(scope="module")
def page(chromium):
    context = chromium.new_context(offline=True)
    found = context.new_page()
    scripts = "".join(
        files("plotter.board").joinpath("assets", f"{name}.js").read_text("utf-8")
        for name in SCRIPTS
    )
    figures = json.dumps(instrument_data(DAY))
    stub = "function fineness(place) { return place[2] || 10; }"
    found.add_script_tag(content=f"var figures = {figures};{stub}{scripts}")
    yield found
    context.close()


def drawn(kind, points, name="x"):
    return {"kind": kind, "name": name, "points": [list(point) for point in points]}


def geojson(page, *drawings):
    return json.loads(page.evaluate("geojsonOf", list(drawings)))


def star(random, lat, lon, size_deg, corners=9):
    """A simple, mostly concave outline about a place; longitudes run on."""
    turn = 2 * np.pi * (np.arange(corners) + random.uniform(0.1, 0.9, corners)) / corners
    far = random.uniform(0.25, 1.0, corners) * size_deg
    stretch = 1.0 / np.cos(np.radians(lat))
    return list(zip(lat + far * np.sin(turn), lon + far * stretch * np.cos(turn), strict=True))


def whole(geometry, lon):
    """A geometry with its parts put beside each other again about a longitude."""
    parts = getattr(geometry, "geoms", [geometry])

    def beside(xy):
        turns = round((lon - xy[:, 0].mean()) / 360.0)
        return xy + np.array([360.0 * turns, 0.0])

    return shapely.union_all([shapely.transform(part, beside) for part in parts])


def test_areas_are_valid_wound_to_the_right_and_cut_at_180(page):
    """GEOS on 300 outlines: half of them across 180 degrees, both ways round, any turn."""
    random = np.random.default_rng(3)
    drawings, middles = [], []
    for i in range(300):
        lat, lon = random.uniform(-70, 70), random.uniform(-180, 180)
        size_deg = 10 ** random.uniform(-2, 0.3)
        if i % 2:
            lon = 180.0 + random.normal(0, 0.3 * size_deg) + 360.0 * int(random.integers(-2, 2))
        points = star(random, lat, lon, size_deg)
        drawings.append(drawn("area", points if i % 3 else points[::-1]))
        middles.append(lon)
    cut = 0
    for feature, one, lon in zip(
        geojson(page, *drawings)["features"], drawings, middles, strict=True
    ):
        found = shape(feature["geometry"])
        assert found.is_valid
        cut += found.geom_type == "MultiPolygon"
        for polygon in getattr(found, "geoms", [found]):
            assert polygon.exterior.is_ccw
            west, south, east, north = polygon.bounds
            assert -180.0 <= west < east <= 180.0
            assert -90.0 <= south < north <= 90.0
            assert east - west < 180.0
        corners = shapely.Polygon([(o, a) for a, o, *_ in one["points"]])
        # The sides follow geodesics, so a little more or less than between straight sides.
        both = whole(found, lon)
        assert both.symmetric_difference(corners).area < 0.03 * corners.area
    assert cut > 100


def test_corners_exactly_on_the_meridian(page):
    """The west side ends there, the east side begins there, and nothing is lost or doubled."""
    for points in (
        [(0, 179), (1, 180), (0, 181), (-1, 180)],
        [(0, 179), (1, 180), (-1, 180)],
        [(0, 181), (-1, 180), (1, 180)],
        [(0, 179), (1, 179), (0.5, 180), (1, 181), (0, 181)],
        [(0, -181), (1, -181), (1, -179), (0.6, -179), (0.6, -180.5), (0.4, -180.5),
         (0.4, -179), (0, -179)],
    ):  # fmt: skip
        found = shape(geojson(page, drawn("area", points))["features"][0]["geometry"])
        assert found.is_valid
        both = whole(found, points[0][1])
        straight = shapely.Polygon([(o, a) for a, o in points])
        assert both.symmetric_difference(straight).area < 0.001 * straight.area


def test_lines_follow_the_geodesic_and_are_cut_at_180(page):
    """PROJ: no part of the line in the file is more than two metres off the geodesic."""
    random = np.random.default_rng(4)
    for _ in range(40):
        lat, lon = random.uniform(-65, 65), 180 + random.normal(0, 2)
        points = [(lat, lon), (lat + random.normal(0, 1), lon + random.normal(0, 2))]
        found = shape(geojson(page, drawn("line", points))["features"][0]["geometry"])
        parts = list(getattr(found, "geoms", [found]))
        crosses = (points[0][1] < 180) != (points[1][1] < 180)
        assert len(parts) == 1 + crosses
        a, b = points
        metres, bearing, _ = inverse_arrays(
            [a[0]], [(a[1] + 180) % 360 - 180], [b[0]], [(b[1] + 180) % 360 - 180]
        )
        share = np.linspace(0.0, 1.0, 101)
        true_lat, true_lon, _ = direct_arrays(
            np.full(101, a[0]), np.full(101, a[1]), np.full(101, bearing[0]), metres[0] * share
        )
        line = whole(found, 180.0)
        for y, x in zip(true_lat, true_lon % 360, strict=True):
            near = line.interpolate(line.project(shapely.Point(x, y)))
            off, _, _ = inverse_arrays(
                [y], [(x + 180) % 360 - 180], [near.y], [(near.x + 180) % 360 - 180]
            )
            assert off[0] < 2.0


def test_points_names_and_doubt(page):
    made = geojson(
        page,
        drawn("point", [(12.5, 180.0, 40)]),
        drawn("point", [(12.5, -190.0, 0.3)]),
        drawn("point", [(-3.25, 539.5)], HOSTILE),
    )
    assert made["type"] == "FeatureCollection"
    assert "crs" not in made  # RFC 7946, 4: WGS 84, and no member to say otherwise
    coordinates = [feature["geometry"]["coordinates"] for feature in made["features"]]
    assert coordinates == [[-180, 12.5], [170, 12.5], [179.5, -3.25]]
    assert [feature["properties"]["drawn_to_m"] for feature in made["features"]] == [40, 0.3, 10]
    assert made["features"][2]["properties"]["name"].replace("\ufffd", "\ud800") == HOSTILE


def test_gpx_has_the_structure_of_its_schema(page):
    """GPX 1.1 schema: waypoints before tracks, name before description, longitudes below 180."""
    text = page.evaluate(
        "gpxOf",
        [
            drawn("line", [(1, 179.5), (2, 180.0), (3, 180.5)], "Way up"),
            drawn("point", [(12.5, -180.0)], HOSTILE),
            drawn("area", [(0, 0), (0, 1), (1, 1)], "North & <slope>"),
            drawn("point", [(1e-9, -1e-9)]),
        ],
    )
    root = ET.fromstring(text.encode("utf-8"))  # noqa: S314 - our own text
    assert root.tag == f"{GPX}gpx"
    assert root.get("version") == "1.1"
    assert root.get("creator")
    assert [child.tag for child in root] == [f"{GPX}{tag}" for tag in ("wpt", "wpt", "trk", "trk")]
    for child in root:
        tags = [each.tag.removeprefix(GPX) for each in child]
        assert tags == ["name", "desc", "trkseg"][: len(tags)]
    for place in [*root.iter(f"{GPX}wpt"), *root.iter(f"{GPX}trkpt")]:
        assert set(place.attrib) == {"lat", "lon"}
        assert "e" not in place.get("lat") + place.get("lon")
        assert -180.0 <= float(place.get("lon")) < 180.0
    name = root[0].find(f"{GPX}name").text
    assert name.startswith("</name><script>&\"'>]]>\ufffd\ufffd\u202e\ufffd é 𝄞")
    line, area = root[2], root[3]
    assert [float(p.get("lon")) for p in line.iter(f"{GPX}trkpt")] == [179.5, -180.0, -179.5]
    assert area.find(f"{GPX}name").text == "North & <slope>"
    corners = [(p.get("lat"), p.get("lon")) for p in area.iter(f"{GPX}trkpt")]
    assert len(corners) == 4
    assert corners[0] == corners[-1]
