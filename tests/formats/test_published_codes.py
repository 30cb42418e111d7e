"""GARS, GEOREF, geohash and Open Location Code against table 05, every row."""

import re

import pytest
from check_values import cases, label, row, rows

from plotter.errors import FormatError
from plotter.formats import reading
from plotter.formats.gars import format_gars, parse_gars
from plotter.formats.geohash import format_geohash, parse_geohash
from plotter.formats.georef import format_georef, parse_georef
from plotter.formats.olc import complete_olc, format_olc, parse_olc
from plotter.geodesy.position import Area, Position, wrap_longitude_deg

TABLE = "05_gars_georef_geohash_olc.csv"


def floats(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]


def centre_of(square) -> tuple[float, float]:
    return square.centre.lat_deg, square.centre.lon_deg


def test_gars_reverse():
    each = row(TABLE, "GARS reverse")
    assert centre_of(parse_gars(each["inputs"])) == pytest.approx(
        floats(each["expected"]), abs=1e-9
    )


def test_gars_precision():
    each = row(TABLE, "GARS precision example")
    texts = each["inputs"].split("; ")
    minutes = [float(m) for m in re.findall(r"(\d+)'", each["expected"])]
    corners = [tuple(map(float, c)) for c in re.findall(r"(-[\d.]+)/(-[\d.]+)", each["expected"])]
    assert len(texts) == len(minutes) == 3
    south_west = [corners[0], corners[0], corners[1]]
    for text, size, corner in zip(texts, minutes, south_west, strict=True):
        square = parse_gars(text)
        low = square.corners[0]
        assert (low.lat_deg, low.lon_deg) == pytest.approx(corner, abs=1e-6)
        assert square.corners[2].lat_deg - low.lat_deg == pytest.approx(size / 60, abs=1e-9)
    assert centre_of(parse_gars(texts[2])) == pytest.approx(corners[2], abs=1e-6)


def test_gars_corners():
    each = row(TABLE, "GARS corners")
    places = [Position(*floats(p)) for p in re.findall(r"\(([^)]+)\)", each["inputs"])]
    assert [format_gars(p) for p in places] == each["expected"].split("; ")


def test_georef_patuxent():
    each = row(TABLE, "GEOREF Patuxent")
    place = Position(*floats(each["inputs"]))
    for text in each["expected"].split(" ; "):
        assert format_georef(place, (len(text) - 4) // 2) == text
        assert format_georef(parse_georef(text).centre, (len(text) - 4) // 2) == text


def test_georef_decode():
    each = row(TABLE, "GEOREF decode")
    expected = each["expected"].removeprefix("centre ").split(" ; ")
    for text, centre in zip(each["inputs"].split(" ; "), expected, strict=True):
        assert centre_of(parse_georef(text)) == pytest.approx(floats(centre), abs=1e-6)


@pytest.mark.parametrize("each", cases(TABLE, "geohash "), ids=label)
def test_geohash(each):
    text = each["expected"]
    place = Position(*floats(each["inputs"]))
    assert format_geohash(place, len(text)) == text
    assert format_geohash(parse_geohash(text).centre, len(text)) == text


@pytest.mark.parametrize("each", cases(TABLE, "OLC encode"), ids=lambda r: r["inputs"])
def test_olc_encode(each):
    lat, lon, characters = floats(each["inputs"])
    if abs(lat) > 90:
        # The specification cuts such a latitude to the pole; here it is an error said aloud.
        with pytest.raises(FormatError, match="latitude"):
            Position(lat, lon)
        lat = 90.0
    text = format_olc(Position(lat, wrap_longitude_deg(lon)), int(characters))
    assert text == each["expected"]
    assert format_olc(parse_olc(text).centre, int(characters)) == text


@pytest.mark.parametrize("each", cases(TABLE, "OLC short"), ids=label)
def test_olc_short(each):
    code, near = each["inputs"].split(" near ")
    place = Position(*floats(near))
    assert complete_olc(code, place) == each["expected"]
    found = reading(code, Area(place, 150.0))
    assert found[0].square == parse_olc(each["expected"])
    assert each["expected"] in found[0].assumed[0]


@pytest.mark.parametrize(
    ("code", "verdict"), [part.split() for part in row(TABLE, "OLC validity")["inputs"].split("; ")]
)
def test_olc_validity(code, verdict):
    if verdict == "ok":
        assert [each.format for each in reading(code)] == ["olc"]
        return
    with pytest.raises(FormatError) as caught:
        parse_olc(code)
    assert code in str(caught.value)
    with pytest.raises(FormatError, match="Open Location Code"):
        reading(code)


def test_every_row_is_checked():
    named = {
        "GARS reverse", "GARS precision example", "GARS corners", "GEOREF Patuxent",
        "GEOREF decode", "OLC validity",
    }  # fmt: skip
    left = {r["case"] for r in rows(TABLE)} - named
    assert all(re.match("geohash |OLC encode|OLC short", case) for case in left)
    assert len(left) > 10
