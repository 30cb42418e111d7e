"""A datum named in a text: the reading is moved, widened, and says by what."""

import re

import pytest

from plotter.errors import FormatError
from plotter.formats import in_all_formats_of, reading
from plotter.formats.geohash import parse_geohash
from plotter.formats.on_datum import split_datum
from plotter.geodesy.datum import DATUMS, to_wgs84
from plotter.geodesy.geodesic import geodesic


@pytest.mark.parametrize(
    ("text", "datum"),
    [
        ("40.000N 105.000W NAD27", "NAD27"), ("40.000N 105.000W (NAD27)", "NAD27"),
        ("40.000N 105.000W on NAD 27", "NAD27"), ("40.000N 105.000W, NAD-1927 datum", "NAD27"),
        ("40.000N 105.000W datum NAD27", "NAD27"), ("NAD27 40.000N 105.000W", "NAD27"),
        ("datum: NAD27, 40.000N 105.000W", "NAD27"), ("40.000N 105.000W on EPSG:4267", "NAD27"),
        ("52 00.00N 5 00.00E on ED50", "ED50"), ("52.660N 1.720E OSGB36", "OSGB36"),
        ("35.660N 139.750E datum Tokyo", "TOKYO"), ("35.660N 139.750E Tokyo datum", "TOKYO"),
        ("datum Tokyo 35.660N 139.750E", "TOKYO"),
        ("35.660N 139.750E on the Tokyo datum", "TOKYO"),
    ],
)  # fmt: skip
def test_a_named_datum_moves_the_reading(text, datum):
    (found,) = reading(text)
    (plain,) = reading(split_datum(text)[0])
    there = plain.square.centre
    shift = to_wgs84(there.lat_deg, there.lon_deg, datum)
    assert found.format == "latlon"
    assert found.square.centre == shift.position
    assert geodesic(found.square.centre, there).distance_m > 40.0
    assert found.square.size_m == pytest.approx(plain.square.size_m + 2 * shift.accuracy_m)
    assert re.search(
        rf"^\S.* to WGS 84 by {re.escape(shift.operation)}, good to \d+ m$", found.assumed[-1]
    )
    corners = [geodesic(found.square.centre, c).distance_m for c in found.square.corners]
    before = [geodesic(there, c).distance_m for c in plain.square.corners]
    for after, earlier in zip(corners, before, strict=True):
        # Both sides move out by the accuracy, so a corner does by about its diagonal.
        assert after - earlier == pytest.approx(shift.accuracy_m * 2**0.5, rel=0.1)


def test_outside_its_area_a_datum_is_moved_with_doubt():
    (found,) = reading("48.85N 2.29E NAD27")
    assert "outside the area it is meant for, good to 1000 m" in found.assumed[-1]
    assert found.square.size_m > 2_000


@pytest.mark.parametrize(
    "text", ["48.85N 2.29E WGS84", "48.85N 2.29E on WGS 84", "WGS84 48.85N 2.29E"]
)
def test_wgs84_changes_nothing(text):
    assert reading(text) == reading("48.85N 2.29E")


def test_wgs84_may_stand_with_any_format():
    assert reading("31UDQ4825111932 WGS84") == reading("31UDQ4825111932")


@pytest.mark.parametrize("text", ["31UDQ4825111932 ED50", "31U 448251 5411932 on NAD27"])
def test_grids_on_another_datum_are_refused(text):
    with pytest.raises(FormatError, match="ask for the position on WGS 84") as caught:
        reading(text)
    assert text in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("48.85N 2.29E datum Atlantis", "'Atlantis'.*not known"),
        ("48.85N 2.29E on EPSG:28992", "not latitude and longitude"),
        ("48.85N 2.29E on EPSG:99999", "not a known"),
        ("48.85N 2.29E Tokyo", "cannot read"),
        ("48.85N NAD27", "latitude and one longitude"),
    ],
)
def test_what_is_no_datum_is_said(text, said):
    with pytest.raises(FormatError, match=said):
        reading(text)


@pytest.mark.parametrize("name", [name for name in DATUMS if name != "TOKYO"])
def test_every_name_is_found_without_the_word(name):
    assert split_datum(f"1N 2E {name}") == ("1N 2E", (name, DATUMS[name]))


def test_a_moved_reading_is_written_on_wgs84():
    (found,) = reading("40.00000N 105.00000W NAD27")
    texts = in_all_formats_of(found)
    assert set(texts) == {"latlon", "utm", "mgrs", "maidenhead"}
    (back,) = reading(texts["mgrs"])
    assert geodesic(back.square.centre, found.square.centre).distance_m < 10


def test_a_place_at_the_pole_is_widened_too():
    (found,) = reading("90N 0E on EPSG:4258")
    (plain,) = reading("90N 0E")
    assert found.square.centre.lat_deg == 90.0
    assert found.square.size_m > plain.square.size_m
    lowest = min(corner.lat_deg for corner in found.square.corners)
    assert lowest < min(corner.lat_deg for corner in plain.square.corners)


def test_a_geohash_that_looks_like_a_datum_is_a_geohash():
    assert reading("geohash ed50")[0].square == parse_geohash("ed50")
