"""Positions on other datums: table 07, PROJ's own answers, and what is said of the accuracy."""

import re

import pyproj
import pytest
from check_values import latlon, numbers, row, rows
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.geodesy.datum import DATUMS, operation_from, operation_to, to_wgs84
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

TABLE = "07_datum_shift.csv"
# Each row that is not ours to check, with its reason.
OUTSIDE = {
    "OS Helmert cartesian": "coordinates from the earth's centre: positions here have no height",
    "IOGP geocentric": "the same",
    "GDA94 -> GDA2020 cartesian": "the same; GDA94 goes to WGS 84 unmoved, good to 3 m",
    "Topocentric": "a local frame: positions here have no height",
    "IOGP abridged Molodensky": "another method than the one used; from memory",
}


def apart_m(a: Position, b: Position) -> float:
    return geodesic(a, b).distance_m


def test_caister():
    each = row(TABLE, "Caister OSGB36 -> WGS84 by Helmert")
    on_wgs84, on_osgb36 = each["expected"].split("; OSGB36 ")
    expected = Position(*latlon(on_wgs84))
    shift = to_wgs84(*latlon(on_osgb36), "OSGB36")
    # Printed to a thousandth of a second, 3 cm, on both sides.
    assert apart_m(shift.position, expected) <= 0.03
    easting, northing = numbers(each["inputs"].replace("TG ", ""))
    place = operation_from(27700, 600_000, 300_000)
    lat, lon = place.to_wgs84([easting], [northing])  # TG begins at 600 km east, 300 km north
    assert apart_m(Position(float(lat[0]), float(lon[0])), expected) <= 0.03
    # "True error up to ~5 m": what is claimed is no less.
    assert shift.accuracy_m >= 5.0


def test_iogp_ed50():
    each = row(TABLE, "IOGP WGS84 -> ED50 geocentric translation")
    wgs84 = row(TABLE, "IOGP geocentric")["inputs"]
    shift = to_wgs84(*latlon(each["expected"]), "ED50")
    # Half a thousandth of a second on both sides, 1.5 cm each.
    assert apart_m(shift.position, Position(*latlon(wgs84))) <= 0.03
    assert shift.operation == "ED50 to WGS 84 (18)"


def test_iogp_wgs72():
    """From memory; from and to the earth's centre by PROJ, between them our own shift."""
    each = row(TABLE, "IOGP WGS72 -> WGS84 position vector")
    start = [float(v) for v in each["inputs"].split(";")[0].split()]
    end = [float(v) for v in each["expected"].split()]
    places = []
    for ellipsoid, cartesian in (("WGS72", start), ("WGS84", end)):
        to_degrees = pyproj.Transformer.from_crs(
            {"proj": "geocent", "ellps": ellipsoid},
            {"proj": "latlong", "ellps": ellipsoid},
            always_xy=True,
        )
        lon, lat, _ = to_degrees.transform(*cartesian)
        places.append(Position(lat, lon))
    shift = to_wgs84(places[0].lat_deg, places[0].lon_deg, 4322)
    assert apart_m(shift.position, places[1]) <= 0.01


SIZES = [
    ("NAD27", 40.0, -105.0, r"40N105W (\d+) m"),
    ("NAD27", 47.6, -122.3, r"47\.6N122\.3W (\d+) m"),
    ("NAD27", 61.2, -149.9, r"Anchorage (\d+) m"),
    ("OSGB36", 52.66, 1.72, r"52\.66N1\.72E (\d+) m"),
    ("ED50", 52.0, 5.0, r"52N5E (\d+) m"),
    ("Tokyo", 35.66, 139.75, r"35\.66N139\.75E (\d+) m"),
    ("NZGD49", -41.0, 175.0, r"NZGD49 (\d+) m"),
    ("AGD84", -33.0, 150.0, r"AGD84 (\d+) m"),
]


@pytest.mark.parametrize(("datum", "lat", "lon", "pattern"), SIZES)
def test_size_of_the_shift(datum, lat, lon, pattern):
    """Computed, not published; where the row names no place, the country's middle is taken."""
    text = row(TABLE, "Size of ignoring the datum (not published; computed)")["expected"]
    expected = float(re.search(pattern, text)[1])
    moved = apart_m(to_wgs84(lat, lon, datum).position, Position(lat, lon))
    assert moved == pytest.approx(expected, abs=3.0)  # "few m"


def test_every_row_is_checked_or_named():
    checked = {
        "Caister OSGB36 -> WGS84 by Helmert", "IOGP WGS84 -> ED50 geocentric translation",
        "IOGP WGS72 -> WGS84 position vector",
        "Size of ignoring the datum (not published; computed)",
    }  # fmt: skip
    assert {r["case"] for r in rows(TABLE)} == checked | set(OUTSIDE)
    assert len(re.findall(r"\d+ m\b", row(TABLE, max(checked, key=len))["expected"])) == len(SIZES)


# The middle of what each datum is meant for, from the registry.
def middle(code: int) -> Position:
    west, south, east, north = pyproj.CRS.from_epsg(code).area_of_use.bounds
    return Position((south + north) / 2, west + ((east - west) % 360 or 360) / 2)


@pytest.mark.parametrize("name", [name for name in DATUMS if name != "WGS84"])
def test_every_datum_moves_where_it_is_used_and_says_how_well(name):
    place = middle(DATUMS[name])
    shift = to_wgs84(place.lat_deg, place.lon_deg, name)
    assert shift.operation
    assert shift.accuracy_m >= 1.0
    # No datum is known to lie further off than this; ignoring it is never the answer.
    assert apart_m(shift.position, place) < 1_000.0
    assert (
        pyproj.CRS.from_epsg(DATUMS[name]).geodetic_crs.name.split()[0].upper().startswith(name[:4])
    )


@given(st.sampled_from([n for n in DATUMS if n != "WGS84"]), st.floats(0, 1), st.floats(0, 1))
def test_to_and_from_wgs84(name, up, along):
    """Where the datum is used; heights are lost on the way, which moves a place by centimetres."""
    west, south, east, north = pyproj.CRS.from_epsg(DATUMS[name]).area_of_use.bounds
    place = Position(south + up * (north - south), west + along * ((east - west) % 360 or 360))
    operation = operation_from(DATUMS[name], place.lon_deg, place.lat_deg)
    x, y = operation.from_wgs84(*operation.to_wgs84([place.lon_deg], [place.lat_deg]))
    assert apart_m(Position(float(y[0]), float(x[0])), place) <= 0.05
    assert operation.accuracy_m >= 1.0


@given(st.floats(25, 49), st.floats(-124, -67))
def test_the_answers_of_all_operations_lie_within_the_accuracy(lat, lon):
    """Whatever operation PROJ would rather use, its answer is within what is claimed."""
    shift = to_wgs84(lat, lon, "NAD27")
    theirs = pyproj.Transformer.from_crs(4267, 4326, always_xy=True, allow_ballpark=False)
    x, y = theirs.transform(lon, lat)
    assert apart_m(shift.position, Position(y, x)) <= shift.accuracy_m + 0.01


def test_outside_every_area_the_answer_is_doubtful_and_says_so():
    shift = to_wgs84(48.85, 2.29, "NAD27")
    assert shift.accuracy_m == 1_000.0
    assert "outside the area" in operation_from(4267, 2.29, 48.85).words
    assert apart_m(shift.position, Position(48.85, 2.29)) < shift.accuracy_m


def test_wgs84_itself_is_left_alone():
    for datum in ("WGS84", "wgs 84", 4326):
        shift = to_wgs84(10.0, 20.0, datum)
        assert (shift.position, shift.accuracy_m, shift.operation) == (Position(10, 20), 0.0, "")


def test_a_grid_on_wgs84_needs_no_operation():
    found = operation_to(32631, Position(48.0, 3.0))
    assert (found.name, found.accuracy_m, found.words) == ("", 0.0, "")


def test_the_network_stays_off():
    import pyproj.network

    to_wgs84(40.0, -105.0, "NAD27")
    assert pyproj.network.is_network_enabled() is False


@pytest.mark.parametrize(
    ("datum", "said"),
    [
        ("Atlantis", "not known"),
        (28992, "not latitude"),
        (4807, "not latitude"),
        (1, "not a known"),
    ],
)
def test_what_is_no_datum(datum, said):
    with pytest.raises(FormatError, match=said):
        to_wgs84(48.0, 2.0, datum)


@pytest.mark.parametrize("code", [3752, 7082, 22300, 22700, 32600, 32700])
def test_a_code_without_any_operation_is_refused_not_a_crash(code):
    """Codes of pyproj's registry for which it raises an IndexError; found by a sweep over all."""
    with pytest.raises(FormatError, match="WGS 84"):
        operation_to(code, Position(0.0, 0.0))
