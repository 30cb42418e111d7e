"""The board's own arithmetic in Chromium against the Python core: random and hostile places."""

import datetime as dt
import json
from importlib.resources import files

import numpy as np
import pytest

from plotter.board.instrument_data import instrument_data
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs_arrays import format_mgrs_array
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays
from plotter.geodesy.grid import convergence_deg_array, utm_from_latlon, zones_of
from plotter.geodesy.magnetic import decimal_year, field_arrays
from plotter.geodesy.position import Position

pytestmark = pytest.mark.browser
DAY = dt.date(2026, 5, 1)
COUNT = 10_000


@pytest.fixture(scope="module")
def page(chromium):
    context = chromium.new_context(offline=True)
    found = context.new_page()
    scripts = "".join(
        files("plotter.board").joinpath("assets", name).read_text("utf-8")
        for name in ("geodesic.js", "grids_of_place.js")
    )
    found.add_script_tag(content=f"var figures = {json.dumps(instrument_data(DAY))};{scripts}")
    yield found
    context.close()


@pytest.fixture(scope="module")
def places():
    """Random places, and those on the edges of zones, bands, hemispheres and the polar areas."""
    rng = np.random.default_rng(1)
    lat = np.degrees(np.arcsin(rng.uniform(-1, 1, COUNT)))
    lon = rng.uniform(-180, 180, COUNT)
    edges = [0, -1e-12, 1e-12, -80, -80.0000001, 84, 83.9999999, 56, 64, 72, -90, 90, 8, -8]
    meridians = [-180, 0, 3, 6, 9, 12, 21, 33, 42, -6, 179.999999, 179.9999999999]
    lat[:500] = rng.choice(edges, 500)
    lon[:250] = rng.choice(meridians, 250)
    lat[500:1000], lon[500:1000] = np.round(lat[500:1000], 1), np.round(lon[500:1000], 1)
    return lat, lon


@pytest.fixture(scope="module")
def ends(places):
    """Pairs, many of them nearly antipodal, on the equator, on one meridian or close together."""
    rng = np.random.default_rng(2)
    lat1, lon1 = (part.copy() for part in places)
    lat2 = np.degrees(np.arcsin(rng.uniform(-1, 1, COUNT)))
    lon2 = rng.uniform(-180, 180, COUNT)
    lat2[:1500] = -lat1[:1500] + rng.normal(0, 0.5, 1500)
    lon2[:1500] = lon1[:1500] + 180 + rng.normal(0, 0.5, 1500)
    lat1[1500:2000] = rng.choice([0, 1e-9, -1e-9], 500)
    lat2[1500:2000] = rng.choice([0, 1e-9, -1e-9, 1e-5], 500)
    lat2[2000:2500] = lat1[2000:2500] + rng.normal(0, 1e-6, 500)
    lon2[2000:2500] = lon1[2000:2500] + rng.normal(0, 1e-6, 500)
    lat1[2500:2600], lat2[2600:2700] = 90, -90
    lon2[2700:2800], lon2[2800:2900] = lon1[2700:2800], lon1[2800:2900] + 180
    return lat1, lon1, np.clip(lat2, -90, 90), (lon2 + 180) % 360 - 180


def apart_deg(a, b):
    return np.abs((np.asarray(a) - np.asarray(b) + 180) % 360 - 180)


def test_distances_and_bearings(page, ends):
    """PROJ's geodesics: 1 mm, and bearings that lead no farther astray than that."""
    found = page.evaluate(
        "v => v.map(p => { const g = geodesicBetween(...p);"
        " return [g.metres, g.bearing, g.onward]; })",
        np.stack(ends, axis=1).tolist(),
    )
    metres, bearing, onward = np.array(found, dtype=float).T
    true_m, true_bearing, true_back = inverse_arrays(*ends)
    assert np.abs(metres - true_m).max() < 1e-3
    lever = np.minimum(true_m, 1e6)
    # Between opposite places many ways are as short: the bearing is then anybody's.
    clear = true_m < 19.9e6
    assert (np.radians(apart_deg(bearing, true_bearing)) * lever)[clear].max() < 1e-3
    # At a pole the bearing there depends on the longitude alone, and on the convention.
    away = clear & (np.abs(ends[2]) < 89.999) & (np.abs(ends[0]) < 89.999)
    assert (np.radians(apart_deg(onward, true_back + 180.0)) * lever)[away].max() < 1e-3


def test_where_a_bearing_and_a_distance_lead(page, places):
    rng = np.random.default_rng(3)
    bearing, metres = rng.uniform(0, 360, COUNT), rng.uniform(0, 2e7, COUNT)
    metres[:300] = rng.uniform(0, 100, 300)
    found = np.array(
        page.evaluate(
            "v => v.map(p => { const g = geodesicTo(...p); return [g.lat, g.lon]; })",
            np.stack([*places, bearing, metres], axis=1).tolist(),
        ),
        dtype=float,
    )
    lat, lon, _ = direct_arrays(*places, bearing, metres)
    apart, _, _ = inverse_arrays(found[:, 0], found[:, 1], lat, lon)
    assert apart.max() < 1e-3


def test_grids_say_the_same_words(page, places):
    lat, lon = places
    found = page.evaluate(
        "v => v.map(p => [mgrsOf(p[0], p[1], 5), mgrsOf(p[0], p[1], 2), mgrsOf(p[0], p[1], 0),"
        " maidenheadOf(p[0], p[1], 10), maidenheadOf(p[0], p[1], 6), zoneOf(p[0], p[1])])",
        np.stack(places, axis=1).tolist(),
    )
    columns = list(zip(*found, strict=True))
    for column, figures in zip(columns, (5, 2, 0), strict=False):
        assert list(column) == format_mgrs_array(lat, lon, figures).tolist()
    for column, characters in ((columns[3], 10), (columns[4], 6)):
        theirs = [
            format_maidenhead(Position(a, o), characters) for a, o in zip(lat, lon, strict=True)
        ]
        assert list(column) == theirs
    assert list(columns[5]) == zones_of(lat, lon).tolist()


def test_grid_coordinates_there_and_back(page, places):
    lat, lon = places
    found = page.evaluate(
        "v => v.map(p => { const g = gridOf(p[0], p[1]);"
        " const b = placeOfGrid(g.zone, g.easting, g.northing, g.south);"
        " return [g.zone, g.easting, g.northing, b.lat, b.lon]; })",
        np.stack(places, axis=1).tolist(),
    )
    zone, easting, northing, back_lat, back_lon = np.array(found, dtype=float).T
    apart, _, _ = inverse_arrays(lat, lon, back_lat, back_lon)
    assert apart.max() < 1e-3
    for each in np.unique(zone[zone > 0]).astype(int):
        here = zone == each
        x, y = utm_from_latlon(lat[here], lon[here], int(each))
        assert np.abs(easting[here] - x).max() < 1e-3
        assert np.abs(northing[here] - y).max() < 1e-3


def test_norths(page, places):
    lat, lon = places
    found = page.evaluate(
        "v => v.map(p => [declinationOf(p[0], p[1]), convergenceOf(p[0], p[1])])",
        np.stack(places, axis=1).tolist(),
    )
    ours, convergence = np.array(found, dtype=float).T
    assert apart_deg(ours, field_arrays(lat, lon, decimal_year(DAY)).declination_deg).max() < 0.01
    away = np.abs(lat) < 90
    assert apart_deg(convergence, convergence_deg_array(lat, lon))[away].max() < 0.01
