"""UTM and UPS as text: zone with band letter or hemisphere word, and what is missing."""

import re

import numpy as np
import pytest
import utm as utm_package
from hypothesis import given
from hypothesis import strategies as st
from strategies import HARD_PLACES, utm_positions

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.utm import UPS_FORMAT, UTM_FORMAT, format_ups, format_utm
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.grid import zone_of
from plotter.geodesy.position import Area, Position

EIFFEL = Position(48.8582, 2.2945)


def read(text, area=None):
    return UTM_FORMAT.readings(text, area)


@pytest.mark.parametrize(
    "text",
    [
        "31U 448251 5411932", "31 U 448251 5411932", "31u 448251 5411932",
        "31U 448251E 5411932N", "31U 448251mE 5411932mN", "31U 448251 mE 5411932 mN",
        "31U 5411932N 448251E", "31U E448251 N5411932", "31U easting 448251 northing 5411932",
        "UTM 31U 448251, 5411932", "zone 31 north 448251 5411932", "31 north 448251 5411932",
        "UTM zone 31N 448251 5411932", "31N 448251 5411932",
        "Zone 31, northern hemisphere, 448251 5411932", "31U 448251/5411932",
    ],
)  # fmt: skip
def test_notations(text):
    (found,) = read(text)
    assert geodesic(found.square.centre, EIFFEL).distance_m < 1
    assert found.square.size_m == 1
    assert found.assumed == ()


def test_coordinates_truncate_to_a_square():
    (found,) = read("31U 448251 5411932")
    (finer,) = read("31U 448251.5 5411932.5")
    assert finer.square.size_m == 0.1
    assert geodesic(found.square.centre, finer.square.corners[0]).distance_m < 1e-6


def test_the_letter_s_is_ambiguous_and_said_to_be():
    north, south = read("18S 323483 4306479")
    assert north.square.centre.lat_deg > 32
    assert south.square.centre.lat_deg < -50
    for found in (north, south):
        assert "could also" in found.assumed[0]
    (word,) = read("18S north 323483 4306479")
    assert word.square.centre == north.square.centre
    assert word.assumed == ()
    (only,) = read("60S 313784 5427057")
    assert only.square.centre.lat_deg == pytest.approx(-41.28646, abs=1e-5)
    assert "does not fit band S" in only.assumed[0]


def test_northing_first_is_stated():
    area = Area(EIFFEL, 20_000)
    (found,) = read("31U 5411932 448251")
    assert "northing first" in found.assumed[0]
    (found,) = read("5411932 448251", area)
    assert found.assumed == (
        "northing first: it has seven figures",
        "zone 31 north, from the area of operations",
    )


def test_a_missing_zone_is_completed_from_the_area():
    (found,) = read("448251 5411932", Area(EIFFEL, 20_000))
    assert found.assumed == ("zone 31 north, from the area of operations",)
    south = Area(Position(-41.3, 174.8), 20_000)
    (found,) = read("313784 5427057", south)
    assert found.assumed == ("zone 60 south, from the area of operations",)
    (found,) = read("60 313784 5427057", south)
    assert found.assumed == ("south, from the area of operations",)


@pytest.mark.parametrize("text", ["48.661578, 2.571519", "48.661578 2.571519", "4.6615781 2.5715"])
def test_degrees_with_six_decimals_are_no_zone_and_easting(text):
    """48.661578 is not zone 48 with an easting of 661578 m."""
    assert read(text, Area(EIFFEL, 30_000)) == []
    assert [each.format for each in reading(text, Area(EIFFEL, 30_000))] == ["latlon"]


def test_an_area_over_a_zone_edge_gives_each_zone_that_fits():
    edge = Area(Position(48.0, 6.0), 400_000)
    found = read("500000 5316000", edge)
    assert {round(each.square.centre.lon_deg) for each in found} == {3, 9}


def test_without_an_area_what_is_missing_is_said():
    with pytest.raises(FormatError, match="does not say the UTM zone"):
        read("448251 5411932")
    with pytest.raises(FormatError, match="does not say the hemisphere"):
        read("31 448251 5411932")


def test_a_place_outside_the_zone_it_was_given_in_is_said():
    (found,) = read("30N 859739 1000491")  # DMA TM 8358.2, 2-11: 9 N 0 16 E, in zone 31
    assert found.assumed == ("taken in zone 30 though the place itself lies in zone 31",)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("61U 448251 5411932", "zone 61"),
        ("0U 448251 5411932", "zone 0"),
        ("31I 448251 5411932", "'I' in .* is not a UTM band"),
        ("31T 448251 5411932", "lies in band U, not T"),
        ("31U south 448251 5411932", "band U in .* is not in the south"),
        ("31U 948251 5411932", "easting 948251"),
        ("31U 448251 9911932", "northing 9911932"),
        ("31U 448251E 5411932E", "both numbers"),
        ("31X 448251 9340000", "outside UTM"),
    ],
)
def test_what_is_wrong_is_said(text, match):
    with pytest.raises(FormatError, match=match):
        read(text)


@pytest.mark.parametrize("text", ["", "48.5 2.5", "31U DQ 48251 11932", "hello", "48251 11932"])
def test_other_texts_are_none_of_our_business(text):
    assert read(text) == []


@given(utm_positions)
def test_round_trip(place):
    text = format_utm(place)
    found = read(text)
    assert len(found) == 1
    # The corner of the square is within its diagonal of the place.
    assert geodesic(found[0].square.centre, place).distance_m <= 2**-0.5 + 1e-3


@given(utm_positions.filter(lambda p: 0 < abs(p.lat_deg) < 83.9), st.sampled_from([0.1, 0.01]))
def test_finer_than_a_metre(place, unit):
    text = format_utm(place, unit)
    (found,) = read(text)
    assert found.square.size_m == unit
    assert geodesic(found.square.centre, place).distance_m <= unit


def test_against_the_utm_package_on_100_000_points():
    """Traps: that package stays in band X at exactly 84 N; its series is good to millimetres."""
    rng = np.random.default_rng(5)
    n = 100_000
    lat = np.degrees(np.arcsin(rng.uniform(np.sin(np.radians(-80)), np.sin(np.radians(84)), n)))
    lon = rng.uniform(-180, 180, n)
    from plotter.geodesy.grid import utm_from_latlon, zones_of

    zones = zones_of(lat, lon)
    worst = 0.0
    for zone in range(1, 61):
        here = zones == zone
        for half in (here & (lat >= 0), here & (lat < 0)):
            if not half.any():
                continue
            easting, northing = utm_from_latlon(lat[half], lon[half], zone)
            theirs = utm_package.from_latlon(lat[half], lon[half], force_zone_number=zone)
            worst = max(
                worst, np.abs(easting - theirs[0]).max(), np.abs(northing - theirs[1]).max()
            )
    assert worst <= 0.005
    for i in range(0, n, 997):
        assert utm_package.latlon_to_zone_number(lat[i], lon[i]) == zones[i]


@pytest.mark.parametrize("place", [p for p in HARD_PLACES if zone_of(p) == 0], ids=str)
def test_ups_round_trip(place):
    text = format_ups(place)
    (found,) = UPS_FORMAT.readings(text, None)
    assert geodesic(found.square.centre, place).distance_m <= 1
    assert found.assumed == ()


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("A 2663075 1930307", "other side of the pole"),
        ("Z 2663075 930307999", "outside UPS"),
        ("Z 2963075 1930307", "outside UPS: ask for it in UTM"),
    ],
)
def test_wrong_ups_is_said(text, match):
    with pytest.raises(FormatError, match=match):
        UPS_FORMAT.readings(text, None)


def test_ups_with_a_word_instead_of_a_letter():
    (letter,) = UPS_FORMAT.readings("Y 1530125 2426773", None)
    (word,) = UPS_FORMAT.readings("UPS north 1530125 2426773", None)
    assert letter.square == word.square


def test_outside_utm_says_ups():
    with pytest.raises(FormatError, match="use UPS"):
        format_utm(Position(85, 0))


def test_text_always_names_its_zone_and_band():
    for place in HARD_PLACES:
        if zone_of(place):
            assert re.match(r"\d\d[C-HJ-NP-X](?: north)? \d{6} \d{7}$", format_utm(place))
