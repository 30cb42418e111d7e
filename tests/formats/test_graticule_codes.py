"""GARS, GEOREF, geohash and Open Location Code: independent packages, round trips, bad texts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openlocationcode import openlocationcode
from pygeodesy import gars as their_gars
from pygeodesy import geohash as their_geohash
from pygeodesy import wgrs as their_georef
from strategies import HARD_PLACES, positions

from plotter.errors import FormatError
from plotter.formats import FORMATS, reading
from plotter.formats.cells import cell_of
from plotter.formats.gars import format_gars, parse_gars
from plotter.formats.geohash import format_geohash, parse_geohash
from plotter.formats.georef import format_georef, parse_georef
from plotter.formats.olc import complete_olc, format_olc, parse_olc
from plotter.formats.squares import metres_per_degree
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position

CODES = ("gars", "georef", "geohash", "olc")
READ_BACK = {
    "gars": (format_gars, parse_gars, (5, 6, 7)),
    "georef": (format_georef, parse_georef, (0, 2, 3, 4, 5, 6, 7, 8)),
    "geohash": (format_geohash, parse_geohash, tuple(range(1, 13))),
    "olc": (format_olc, parse_olc, (2, 4, 6, 8, 10, 11, 12, 13, 14, 15)),
}


def holds(square, place: Position) -> bool:
    """Whether a place lies in a graticule square, to the rounding of a float."""
    low, high = square.corners[0], square.corners[2]
    width = (high.lon_deg - low.lon_deg) % 360 or 360
    east = (place.lon_deg - low.lon_deg + 1e-12) % 360
    lat_ok = low.lat_deg - 1e-12 <= place.lat_deg <= high.lat_deg + 1e-12
    return lat_ok and east <= width + 2e-12


@given(positions, st.sampled_from(CODES), st.data())
def test_a_code_names_the_cell_of_its_place_and_of_its_middle(place, name, data):
    write, read, levels = READ_BACK[name]
    level = data.draw(st.sampled_from(levels))
    text = write(place, level)
    square = read(text)
    assert holds(square, place)
    assert write(square.centre, level) == text


@pytest.mark.parametrize("place", HARD_PLACES, ids=str)
@pytest.mark.parametrize("name", CODES)
def test_hard_places(name, place):
    write, read, levels = READ_BACK[name]
    for level in levels:
        assert holds(read(write(place, level)), place)


def on_an_edge(place: Position, rows: int, columns: int) -> bool:
    """Whether a place lies so near to a cell's edge that floats may take it across."""
    offsets = ((place.lat_deg + 90) * rows / 180, (place.lon_deg + 180) * columns / 360)
    return any(abs(v - round(v)) < 1e-6 for v in offsets)


@given(positions)
def test_gars_by_an_independent_package(place):
    if not on_an_edge(place, 2160, 4320):
        assert format_gars(place) == their_gars.encode(place.lat_deg, place.lon_deg, 2)
        lat, lon, _ = their_gars.decode3(format_gars(place))
        centre = parse_gars(format_gars(place)).centre
        assert (centre.lat_deg, centre.lon_deg) == pytest.approx((lat, lon), abs=1e-9)


@given(positions)
def test_georef_by_an_independent_package(place):
    if not on_an_edge(place, 180 * 6000, 360 * 6000):
        # Its precision counts two decimals of a minute as 5; it rounds what it decodes.
        theirs = their_georef.encode(place.lat_deg, place.lon_deg, 5)
        assert format_georef(place, 4) == theirs
        lat, lon = their_georef.decode3(theirs)[:2]
        centre = parse_georef(theirs).centre
        assert (centre.lat_deg, centre.lon_deg) == pytest.approx((lat, lon), abs=1e-6)


@given(positions)
def test_geohash_by_an_independent_package(place):
    if not on_an_edge(place, 1 << 22, 1 << 23):
        assert format_geohash(place, 9) == their_geohash.encode(place.lat_deg, place.lon_deg, 9)


@given(positions, st.sampled_from((2, 4, 6, 8, 10, 11, 12)))
def test_olc_by_the_reference_package(place, characters):
    if on_an_edge(place, 180 * 8000 * 5**2, 360 * 8000 * 4**2):
        return
    text = format_olc(place, characters)
    assert text == openlocationcode.encode(place.lat_deg, place.lon_deg, characters)
    theirs = openlocationcode.decode(text)
    centre = parse_olc(text).centre
    assert centre.lat_deg == pytest.approx(theirs.latitudeCenter, abs=1e-9)
    assert centre.lon_deg == pytest.approx(theirs.longitudeCenter, abs=1e-9)


@given(positions, st.floats(-0.4, 0.4), st.floats(-0.4, 0.4), st.sampled_from((2, 4, 6, 8)))
def test_short_codes_by_the_reference_package(near, north, east, dropped):
    step = 20.0 ** (2 - dropped // 2)
    lat, lon = near.lat_deg + north * step, near.lon_deg + east * step
    if abs(near.lat_deg) > 90 - 2 * step or abs(near.lon_deg) > 180 - 2 * step:
        return  # the reference package does not go round the earth
    short = format_olc(Position(lat, lon), 11)[dropped:]
    assert complete_olc(short, near) == openlocationcode.recoverNearest(
        short, near.lat_deg, near.lon_deg
    )


@given(positions, st.sampled_from(CODES), st.sampled_from((1.0, 10.0, 1000.0, 20_000.0)))
def test_what_a_format_writes_it_reads_no_coarser_than_asked(place, name, size_m):
    text = FORMATS[name].write(place, size_m)
    found = [each for each in reading(text) if each.format == name]
    assert len(found) == 1
    square = found[0].square
    per_lat, _ = metres_per_degree(place.lat_deg)
    five_minutes = per_lat / 12 * 1.02  # the finest cell that GARS has
    assert square.size_m <= max(size_m * 1.02, five_minutes if name == "gars" else 0)
    assert geodesic(square.centre, place).distance_m <= square.size_m


@pytest.mark.parametrize(
    "text",
    [
        "GARS 000AA", "GARS 721AA", "GARS 001RA", "GARS 001AI", "GARS 001AA5", "GARS 001AA30",
        "GARS", "001QZ51", "GEOREF MKPG12", "GEOREF MKPG120", "GEOREF MKPG6004", "GEOREF MKPG0460",
        "GEOREF IKPG1204", "GEOREF MNPG1204", "GEOREF MKRG1204", "MKPG12045", "MKPG6104",
        "geohash", "geohash abc", "geohash u4pruydqqvj00", "OLC 8FVC2222", "OLC X2222222+22",
        "2X222222+22", "8FVC2222+2", "OLC 8FVC0022+22", "OLC 00000000+",
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_quoted(text):
    with pytest.raises(FormatError) as caught:
        reading(text)
    assert text in str(caught.value)


def test_a_short_code_asks_for_what_is_missing():
    with pytest.raises(FormatError, match=r"first 4 characters.*area of operations"):
        reading("9QCJ+2VX")
    with pytest.raises(FormatError, match=r"first 6 characters.*about [0-9]+ places"):
        reading("CJ+2VX", Area(Position(51.4, -1.2), 30_000))


def test_a_short_code_has_every_meaning_inside_the_area():
    area = Area(Position(51.4, -1.2), 90_000)
    found = reading("9QCJ+2VX", area)
    assert len(found) > 1
    distances = [geodesic(area.centre, each.square.centre).distance_m for each in found]
    assert distances == sorted(distances)
    assert distances[-1] <= area.radius_m
    for each in found:
        code = each.assumed[0].split()[2].strip(",")
        assert openlocationcode.isFull(code)
        assert code.endswith("9QCJ+2VX")
        assert parse_olc(code) == each.square


@given(st.floats(-180, 180), st.integers(1, 10**6))
def test_the_cell_of_a_value_holds_it(value, cells):
    cell = cell_of(value, 180, cells)
    assert 0 <= cell < cells
    width = 360 / cells
    assert -180 + cell * width <= value + 1e-9
    assert value <= -180 + (cell + 1) * width + 1e-9


def test_decimals_that_no_float_holds_lie_on_their_edge():
    assert [cell_of(tenth / 10, 180, 3600) for tenth in range(-1800, 1800)] == list(range(3600))
    assert math.isclose(cell_of(1e22, 10**23, 2), 1)
