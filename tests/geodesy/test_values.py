"""Positions, squares and areas that cannot be wrong; angles that never print 60; array helpers."""

import math
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.geodesy.angle import degrees_from_parts, format_angle
from plotter.geodesy.ellipsoid import Ellipsoid
from plotter.geodesy.position import Area, Position, Square, wrap_longitude_deg


@pytest.mark.parametrize("lat", [90.0000001, -91, math.nan, math.inf])
def test_latitude_out_of_range(lat):
    with pytest.raises(FormatError, match="latitude"):
        Position(lat, 0)


@pytest.mark.parametrize("lon", [361, math.nan, -math.inf])
def test_longitude_out_of_range(lon):
    with pytest.raises(FormatError, match="longitude"):
        Position(0, lon)


def test_longitude_is_kept_in_range_and_zero_has_no_sign():
    assert Position(0, 180).lon_deg == -180
    assert Position(0, 190).lon_deg == -170
    assert math.copysign(1, Position(-0.0, -0.0).lat_deg) == 1
    assert math.copysign(1, Position(-0.0, -0.0).lon_deg) == 1


@given(st.floats(-360, 360))
def test_wrapping(lon):
    wrapped = wrap_longitude_deg(lon)
    assert -180 <= wrapped < 180
    assert math.cos(math.radians(wrapped - lon)) == pytest.approx(1)


def test_values_without_extent_are_refused():
    with pytest.raises(FormatError, match="positive size"):
        Square(Position(0, 0), 0, (Position(0, 0),) * 4)
    with pytest.raises(FormatError, match="three corners"):
        Square(Position(0, 0), 1, ())
    with pytest.raises(FormatError, match="radius"):
        Area(Position(0, 0), 0)
    with pytest.raises(FormatError, match="radius"):
        Ellipsoid(-1, 298)
    with pytest.raises(FormatError, match="1/f"):
        Ellipsoid(1, 0.5)


@given(st.floats(-180, 180), st.sampled_from(["dd", "ddm", "dms"]), st.integers(0, 6))
@example(59.9999999999, "dms", 1)
@example(-12.999999999, "ddm", 3)
@example(-0.0, "dms", 0)
@example(-1e-12, "dd", 3)
@example(179.9999999999, "ddm", 0)
def test_no_sixty_and_half_a_unit(value, style, decimals):
    text = format_angle(value, "EW", style, decimals)
    parts = re.findall(r"\d+(?:\.\d+)?", text)
    assert all(float(part) < 60 for part in parts[1:])
    read, unit = degrees_from_parts(tuple(parts), text)
    signed = -read if text.endswith("W") else read
    assert abs(signed - value) <= unit / 2 * (1 + 1e-6) + 1e-12
    assert not (read == 0 and text.endswith("W"))


def test_degrees_from_parts_refuses_what_is_no_angle():
    with pytest.raises(FormatError, match=r"minutes '73.2' in .* must be below 60"):
        degrees_from_parts(("48", "73.2"), "48 73.2")
    with pytest.raises(FormatError, match="have decimals"):
        degrees_from_parts(("48.5", "30"), "48.5 30")
    with pytest.raises(FormatError, match="seconds '60'"):
        degrees_from_parts(("48", "30", "60"), "48 30 60")
