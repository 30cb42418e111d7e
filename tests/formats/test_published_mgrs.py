"""MGRS and USNG against table 03, every row."""

import re

import pytest
from check_values import row, rows

from plotter.errors import FormatError
from plotter.formats.mgrs import format_mgrs, parse_mgrs
from plotter.formats.reading import reading
from plotter.geodesy.grid import latlon_from_utm, zone_of
from plotter.geodesy.position import Position

TABLE = "03_mgrs_usng.csv"


def places(text: str) -> list[Position]:
    pairs = re.findall(r"(-?\d+(?:\.\d+)?),\s*(-?\d+(?:\.\d+)?)", text)
    return [Position(float(a), float(o)) for a, o in pairs]


def monument() -> Position:
    """The standard prints NAD 83 grid coordinates; on GRS 80 and WGS 84 they agree to 0.1 mm."""
    easting, northing = re.search(
        r"E ([\d.]+) N ([\d.]+)", row(TABLE, "Washington Monument USNG")["inputs"]
    ).groups()
    lat, lon = latlon_from_utm([float(easting)], [float(northing)], 18, south=False)
    return Position(float(lat[0]), float(lon[0]))


def test_washington_monument_at_every_precision():
    fine = row(TABLE, "Washington Monument USNG")["expected"].split("; ")
    coarse = re.findall(r"18SUJ\d*", row(TABLE, "Washington Monument coarser")["expected"])
    for text in fine + coarse:
        figures = (len(text) - 5) // 2
        assert format_mgrs(monument(), figures) == text
        square = parse_mgrs(text)
        assert square.size_m == 10 ** (5 - figures)
        assert format_mgrs(square.centre, figures) == text


def test_decode_cell_centre():
    each = row(TABLE, "MGRS decode cell centre")
    square = parse_mgrs(each["inputs"])
    lat, lon = (float(v) for v in each["expected"].split(";")[0].split())
    assert square.centre.lat_deg == pytest.approx(lat, abs=1e-5)
    assert square.centre.lon_deg == pytest.approx(lon, abs=1e-5)


def test_degrees_and_minutes_to_a_kilometre():
    each = row(TABLE, "DMS to MGRS")
    found = reading(each["inputs"].split(" at ")[0])
    assert format_mgrs(found[0].square.centre, 2) == each["expected"]
    assert found[0].assumed == ()


@pytest.mark.parametrize("case", ["Baghdad", "Equator/Greenwich"])
def test_one_metre_examples(case):
    each = row(TABLE, case)
    numbers = re.findall(r"-?\d+(?:\.\d+)?", each["inputs"])[:2]
    place = Position(float(numbers[0]), float(numbers[1]))
    assert format_mgrs(place) == each["expected"].split(";")[0]


def test_eiffel_tower():
    each = row(TABLE, "Eiffel Tower")
    place = places(each["inputs"])[0]
    assert format_mgrs(place) == each["expected"].split(";")[0]


@pytest.mark.parametrize(
    "each", [r for r in rows(TABLE) if r["case"].startswith("City ")], ids=lambda r: r["case"]
)
def test_cities(each):
    assert format_mgrs(places(each["inputs"])[0]) == each["expected"].split()[0]


def test_south_cap_edge():
    each = row(TABLE, "South cap edge")
    utm, ups = places(each["inputs"])
    in_utm, in_ups = re.findall(r"\b(?:\d\d)?[A-Z]{3}\d{10}", each["expected"])
    assert format_mgrs(utm) == in_utm
    assert format_mgrs(ups) == in_ups


def test_north_cap_edge_goes_to_ups():
    """The libraries disagree: UTM ends below 84 N by the standard, so 84 N itself is polar."""
    each = row(TABLE, "North cap edge (libraries DISAGREE)")
    geographiclib, geotrans = each["expected"].split(";", 1)[0], each["expected"].split(";")[1]
    polar = re.findall(r"[YZ][A-Z]{2}\d{10}", geographiclib)
    assert [format_mgrs(p) for p in places(each["inputs"])] == polar
    assert all(zone_of(p) == 0 for p in places(each["inputs"]))
    # What the other library writes names a square that does not reach 84 N in band X; it is
    # refused or read as below 84.
    for text in re.findall(r"\d\d[A-Z]{3}\d{10}", geotrans):
        try:
            assert parse_mgrs(text).centre.lat_deg < 84
        except FormatError as error:
            assert "does not lie in zone" in str(error)  # noqa: PT017 - both answers are right


@pytest.mark.parametrize(
    "text", re.findall(r"\d\d\w{3}\d+", row(TABLE, "Invalid strings")["inputs"])
)
def test_invalid_strings(text):
    with pytest.raises(FormatError) as caught:
        reading(text)
    assert text in str(caught.value)


def test_every_row_is_checked():
    named = {
        "Washington Monument USNG", "Washington Monument coarser", "MGRS decode cell centre",
        "DMS to MGRS", "Baghdad", "Equator/Greenwich", "Eiffel Tower", "South cap edge",
        "North cap edge (libraries DISAGREE)", "Invalid strings",
    }  # fmt: skip
    assert {r["case"] for r in rows(TABLE) if not r["case"].startswith("City ")} == named
