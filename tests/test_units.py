"""Constants and conversions against table 12, every row that the package has a constant for."""

import pytest
from check_values import numbers, row, rows

from plotter import units
from plotter.errors import FormatError
from plotter.geodesy.ellipsoid import WGS84, Ellipsoid
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

TABLE = "12_units.csv"

# Not read from reports in this version: no constant to check.
NOT_READ = {"US survey foot", "US survey mile", "knot", "fathom", "gon"}
CHECKED = {
    "NATO mil", "1 mil at 1 km", "nautical mile", "statute mile", "international foot",
    "minute of latitude WGS84", "WGS84", "GRS80", "Clarke 1866", "Airy 1830",
    "International 1924", "Bessel 1841",
}  # fmt: skip


def test_every_row_is_checked_or_named():
    assert {each["case"] for each in rows(TABLE)} == CHECKED | NOT_READ


def test_nato_mil():
    circle, degrees, _, per_degree, _, in_degrees, in_minutes = numbers(
        row(TABLE, "NATO mil")["expected"].replace("=", " = ").replace(";", " ")
    )
    assert units.degrees_from_mils(circle) == degrees
    assert units.mils_from_degrees(1) == pytest.approx(per_degree, abs=5e-7)
    assert units.degrees_from_mils(1) == in_degrees
    assert units.degrees_from_mils(1) * 60 == in_minutes


def test_a_mil_at_a_kilometre():
    import math

    expected = numbers(row(TABLE, "1 mil at 1 km")["expected"])[0]
    assert math.radians(units.degrees_from_mils(1)) * 1000 == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("case", "unit"),
    [("nautical mile", "nm"), ("statute mile", "mile"), ("international foot", "ft")],
)
def test_lengths(case, unit):
    assert units.length_m(1, unit) == pytest.approx(numbers(row(TABLE, case)["expected"])[0])


def test_minute_of_latitude():
    texts = row(TABLE, "minute of latitude WGS84")["expected"].split(";")
    for text in texts:
        metres, lat = numbers(text)
        half = 0.5 / 60
        low, high = (lat - half, lat + half) if lat < 90 else (lat - 2 * half, lat)
        found = geodesic(Position(low, 0), Position(high, 0)).distance_m
        assert found == pytest.approx(metres, abs=0.001)


def test_ellipsoids():
    printed = numbers(row(TABLE, "WGS84")["expected"].replace("1/f", "").replace(";", " "))
    assert [WGS84.a_m, WGS84.inverse_flattening] == printed[:2]
    assert WGS84.b_m == pytest.approx(printed[2], abs=5e-7)
    for case in ("GRS80", "International 1924", "Bessel 1841"):
        a, rf = numbers(row(TABLE, case)["expected"].replace("1/f", "").replace(";", " "))
        assert 6.35e6 < Ellipsoid(a, rf).b_m < a
    for case in ("Clarke 1866", "Airy 1830"):
        text = row(TABLE, case)["expected"].replace("1/f", "").replace(";", " ").replace("(", " ")
        a, b, *rest = numbers(text.replace(")", " "))
        rf = rest[0] if rest else a / (a - b)
        assert Ellipsoid(a, rf).b_m == pytest.approx(b, abs=0.005)


def test_an_unknown_unit_is_quoted():
    with pytest.raises(FormatError, match="'cubits'"):
        units.length_m(3, "cubits")


def test_unit_words_in_any_case_and_spacing():
    assert units.length_m(1, " Nautical  Miles ") == 1852
