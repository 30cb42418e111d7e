"""The grids that the board's script draws, as data, against the core, PROJ and two packages."""

import datetime as dt
import json
import math
import re
from importlib.resources import files

import mgrs
import numpy as np
import pytest
from maidenhead import to_maiden
from pyproj import Transformer

from plotter.board.instrument_data import instrument_data
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs_arrays import format_mgrs_array
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import latlon_from_utm, utm_from_latlon, zones_of
from plotter.geodesy.position import Position

pytestmark = pytest.mark.browser
SCRIPTS = ("text", "geodesic", "grids_of_place", "place_words", "grid_zones", "grid_lines",
           "grid_degrees", "grid_view")  # fmt: skip
RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
# South, west, north, east; and the width of a pixel in metres.
VIEWS = {
    "two zones": (42.7, 5.3, 43.6, 6.9, 90.0),
    "two zones near": (43.11, 5.97, 43.16, 6.06, 4.0),
    "a hundred metres": (43.128, 5.994, 43.134, 6.005, 0.6),
    "the equator": (-0.6, 8.6, 0.5, 10.1, 90.0),
    "south": (-45.5, 169.6, -44.6, 171.0, 90.0),
    "180 degrees": (-17.5, 179.4, -16.6, 180.9, 90.0),
    "180 degrees from the east": (-17.5, -180.7, -16.6, -179.2, 90.0),
    "Norway": (55.6, 1.8, 64.5, 12.9, 900.0),
    "Norway near": (59.8, 2.6, 60.2, 3.5, 50.0),
    "Svalbard": (71.0, 5.0, 81.0, 45.0, 900.0),
    "edge of the north": (83.2, -10.0, 84.9, 20.0, 250.0),
    "edge of the south": (-80.9, 160.0, -79.3, 200.0, 400.0),
    "north, the half turn": (84.0, 170.0, 85.0, 190.0, 150.0),
    "south, all round": (-85.0, -180.0, -79.0, 180.0, 2100.0),
    "a continent": (30.0, -20.0, 60.0, 40.0, 1400.0),
}
UPS = {False: "EPSG:5041", True: "EPSG:5042"}


@pytest.fixture(scope="module")
def page(chromium):
    context = chromium.new_context(offline=True)
    found = context.new_page()
    scripts = "".join(
        files("plotter.board").joinpath("assets", f"{name}.js").read_text("utf-8")
        for name in SCRIPTS
    )
    figures = json.dumps(instrument_data(dt.date(2026, 5, 1)))
    found.add_script_tag(content=f"var figures = {figures};{scripts}")
    yield found
    context.close()


def drawn(page, choice, name):
    *view, pixel = VIEWS[name]
    return page.evaluate("([c, v, p]) => gridOfView(c, v, p)", [choice, view, pixel])


def along(line, count=12):
    """Places on the drawn line, on its corners and between: it is straight on the map."""
    places = np.array(line["places"])
    up = np.arcsinh(np.tan(np.radians(places[:, 0])))
    where = np.linspace(0.0, len(places) - 1.0, (len(places) - 1) * count + 1)
    steps = np.arange(len(places))
    lat = np.degrees(np.arctan(np.sinh(np.interp(where, steps, up))))
    return lat, np.interp(where, steps, places[:, 1])


def to_grid(zone, south, lat, lon):
    """Eastings and northings by the core's UTM, by PROJ's UPS where the zone is 0."""
    if zone:
        # A southern cell's edge on the equator keeps its own false northing.
        return utm_from_latlon(np.minimum(lat, -1e-12) if south else lat, lon, zone)
    # Always easting first: PROJ's two definitions differ in the order of their axes.
    proj = Transformer.from_crs("EPSG:4326", UPS[south], always_xy=True)
    return proj.transform(lon, lat)


def from_grid(zone, south, easting, northing):
    """Latitudes and longitudes, the other way."""
    if zone:
        return latlon_from_utm(easting, northing, zone, south=south)
    proj = Transformer.from_crs(UPS[south], "EPSG:4326", always_xy=True)
    return proj.transform(easting, northing)[::-1]


def core_values(line, lat, lon):
    cell = line["cell"]
    return to_grid(cell["zone"], cell["south"], lat, lon)[0 if line["easting"] else 1]


@pytest.mark.parametrize("name", VIEWS)
def test_every_line_lies_on_its_figure(page, name):
    """By the core and, near the poles, by PROJ: to a metre or half a pixel, between corners too."""
    pixel = VIEWS[name][4]
    lines = drawn(page, "utm", name)["lines"]
    places = 0
    for line in lines:
        lat, lon = along(line)
        off = np.abs(core_values(line, lat, lon) - line["value"])
        assert off.max() < max(1.0, pixel / 2), (line["value"], line["cell"])
        places += len(lat)
    assert places >= 200


@pytest.mark.parametrize("name", VIEWS)
def test_each_zone_has_its_lines_in_its_own_ground_only(page, name):
    for line in drawn(page, "utm", name)["lines"]:
        lat, lon = along(line)
        # The edge itself belongs to one side: look from a hair inside.
        south, west, north, east = line["cell"]["box"]
        middle = np.clip(lat, south + 1e-7, north - 1e-7), np.clip(lon, west + 1e-7, east - 1e-7)
        assert (np.abs(middle[0] - lat) < 2e-7).all()
        assert (np.abs(middle[1] - lon) < 2e-7).all()
        assert (zones_of(*middle) == line["cell"]["zone"]).all()


@pytest.mark.parametrize("name", VIEWS)
def test_no_line_is_missing(page, name):
    """Random places, moved onto the nearest figure: a line of the right zone is there."""
    south, west, north, east, _ = VIEWS[name]
    found = drawn(page, "utm", name)
    step = found["spacing"]
    lines = {}
    for line in found["lines"]:
        key = (line["cell"]["zone"], line["cell"]["south"], line["easting"], round(line["value"]))
        lines.setdefault(key, []).append(line["cell"]["box"])
    rng = np.random.default_rng(7)
    lat, lon = rng.uniform(south, north, 400), rng.uniform(west, east, 400)
    checked = 0
    for a, o, zone in zip(lat.tolist(), lon.tolist(), zones_of(lat, lon).tolist(), strict=True):
        e, n = (float(v[0]) for v in to_grid(zone, a < 0, np.array([a]), np.array([o])))
        for easting in (True, False):
            value = round((e if easting else n) / step) * step
            at = (value, n) if easting else (e, value)
            la, lo = (float(v[0]) for v in from_grid(zone, a < 0, [at[0]], [at[1]]))
            lo += 360.0 * round((o - lo) / 360.0)
            inside = south < la < north and west < lo < east
            if not inside or zones_of([la], [lo])[0] != zone or (la < 0) != (a < 0):
                continue
            checked += 1
            boxes = lines.get((zone, a < 0, easting, value), [])
            assert any(b[0] <= la <= b[2] and b[1] <= lo <= b[3] for b in boxes), (la, lo, value)
    assert checked > 200


def test_norway_and_svalbard_have_their_wider_zones(page):
    def zones(name, low, high):
        cells = drawn(page, "utm", name)["lines"]
        return {c["cell"]["name"] for c in cells if low < c["cell"]["box"][0] < high}

    # DMA TM 8358.1, the two exceptions to the width of a zone.
    assert zones("Norway", 55.9, 63.0) == {"31V", "32V", "33V"}
    assert zones("Svalbard", 71.9, 80.0) == {"31X", "33X", "35X", "37X", "38X"}


@pytest.mark.parametrize("name", VIEWS)
def test_figures_are_those_of_the_reference(page, name):
    """The large figures of a line are what the reference of a place just beyond it begins with."""
    found = drawn(page, "utm", name)
    spacing = found["spacing"]
    if spacing == 100_000:
        assert all(
            re.fullmatch(r"\d+ km( [EN])?", line["label"])
            and float(line["label"].split()[0]) * 1000 == line["value"]
            for line in found["lines"]
        )
        return
    digits = round(5 - math.log10(spacing))
    for line in found["lines"]:
        label = line["label"].split()[0]
        raised, large = label[:-digits], label[-digits:]
        assert float(raised.translate(RAISED) + large) * spacing == line["value"]
        lat, lon = along(line)
        cell, centre = line["cell"], len(lat) // 2
        if not cell["zone"]:
            continue
        e, n = (float(v[0]) for v in utm_from_latlon(lat[[centre]], lon[[centre]], cell["zone"]))
        beyond = (line["value"] + spacing / 2, n) if line["easting"] else (e, n + spacing / 2)
        la, lo = from_grid(cell["zone"], cell["south"], [beyond[0]], [beyond[1]])
        if zones_of(la, lo)[0] == cell["zone"] and (la[0] < 0) == cell["south"]:
            text = str(format_mgrs_array(la, lo, digits)[0])
            figures = text[-2 * digits : -digits] if line["easting"] else text[-digits:]
            assert figures == large


@pytest.mark.parametrize("name", VIEWS)
def test_squares_have_the_names_that_the_core_and_a_package_give(page, name):
    package = mgrs.MGRS()
    named = 0
    for each in drawn(page, "utm", name)["names"]:
        if "box" in each:
            continue
        for lat, lon in each["places"]:
            there = (lon + 180.0) % 360.0 - 180.0
            core = str(format_mgrs_array([lat], [there], 0)[0])
            assert core.endswith(each["text"][-2:])
            # The package stays in band X at 84° exactly and beyond its own last letter: not there.
            if -79.9 < lat < 83.9 and abs(lat) > 1e-6:
                assert package.toMGRS(lat, there, MGRSPrecision=0).strip() == core
            named += 1
    assert named > 0


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize("level", [0, 1, 2])
def test_locators_are_those_of_the_core_and_a_package(page, name, level):
    *view, _ = VIEWS[name]
    # Of a continent there are half a million: some of them, from all over it.
    found = page.evaluate(
        """([view, level]) => {
          const all = locatorsIn(view, level), step = Math.ceil(all.length / 400);
          return all.filter((_, number) => number % step === 0); }""",
        [view, level],
    )
    for each in found:
        south, west, north, east = each["box"]
        lat, lon = (south + north) / 2, ((west + east) / 2 + 180.0) % 360.0 - 180.0
        assert each["text"] == format_maidenhead(Position(lat, lon), 2 * level + 2)
        # maidenhead 1.8 is right for six characters only (it gives FJ for the field of JN).
        assert each["text"] == to_maiden(lat, lon, 3)[: 2 * level + 2]
    assert found


@pytest.mark.parametrize("choice", ["maidenhead", "graticule"])
@pytest.mark.parametrize("name", VIEWS)
def test_lines_of_degrees_part_the_squares(page, choice, name):
    found = drawn(page, choice, name)
    pixel = VIEWS[name][4]
    assert found["lines"] or found["spacing"] > 5
    for line in found["lines"]:
        step = found["spacing"] * (2 if choice == "maidenhead" and line["easting"] else 1)
        assert line["value"] / step == pytest.approx(round(line["value"] / step), abs=1e-9)
        lat, lon = along(line)
        low, high = (lon, lon + 1e-9) if line["easting"] else (lat, lat + 1e-9)
        assert (np.abs(low - line["value"]) <= high - low).all()
        if choice == "graticule":
            assert graticule_value(line["label"]) == pytest.approx(
                abs((line["value"] + 180) % 360 - 180) if line["easting"] else abs(line["value"]),
                abs=1e-6,
            )
    ground, _, _ = inverse_arrays([0.0], [0.0], [found["spacing"]], [0.0])
    assert ground[0] / pixel >= 40 or found["spacing"] in {10, 30}


def graticule_value(words):
    figures = [float(part) for part in re.findall(r"\d+", words)]
    return sum(part / 60**place for place, part in enumerate(figures))


def test_lines_come_closer_as_the_map_does(page):
    spacings = [
        page.evaluate("p => gridOfView('utm', [43, 6, 43.001, 6.001], p).spacing", pixel)
        for pixel in (5000.0, 2000.0, 200.0, 20.0, 2.0, 0.2)
    ]
    assert spacings == [None, 100_000, 10_000, 1_000, 100, 100]
