"""Latitude and longitude in every notation that people write or say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import positions

from plotter.errors import FormatError
from plotter.formats.latlon import FORMAT, format_latlon
from plotter.geodesy.position import Area, Position

EIFFEL = (48.8582, 2.2945)


def read(text, area=None):
    return FORMAT.readings(text, area)


LETTERED = [
    "48.8582N 2.2945E", "48.8582 N, 2.2945 E", "N48.8582 E2.2945", "N 48.8582, E 002.2945",
    "48.8582°N 2.2945°E", "48.8582° N / 2.2945° E", "2.2945E 48.8582N", "E2.2945 N48.8582",
    "48,8582N 2,2945E", "48.8582 north 2.2945 east", "North 48.8582 East 2.2945",
    "48°51.492'N 2°17.67'E", "48 51.492N 002 17.670E", "48° 51,492′ N; 2° 17,670′ E",
    "48°51'29.52\"N 2°17'40.2\"E", "48°51’29,52”N 2°17’40,20”E", "48º51´29.52´´N 2º17´40.2´´E",
    "48-51-29.52N 002-17-40.2E", "48:51:29.52N 2:17:40.2E", "48d51m29.52sN 2d17m40.2sE",
    "48 deg 51 min 29.52 sec north, 2 deg 17 min 40.2 sec east",
    "4851.492N 00217.670E", "485129.52N 0021740.2E", "4851.492,N,00217.670,E",
    "lat 48.8582N lon 2.2945E", "Latitude: 48.8582 N Longitude: 2.2945 E",
    "lon 2.2945 E, lat 48.8582 N", "(48.8582 N, 2.2945 E)", "48.8582n 2.2945e",
    "geo:48.8582,2.2945", "+48.8582+002.2945/", "+4851.492+00217.670/",
    "+485129.52+0021740.20/",
]  # fmt: skip


@pytest.mark.parametrize("text", LETTERED)
def test_lettered_notations_say_it_all(text):
    (found,) = read(text)
    assert found.square.centre.lat_deg == pytest.approx(EIFFEL[0], abs=2e-8)
    assert found.square.centre.lon_deg == pytest.approx(EIFFEL[1], abs=2e-8)
    assert found.assumed == ()


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [
        ("33.9S 18.4W", -33.9, -18.4),
        ("S33.9 W18.4", -33.9, -18.4),
        ("33° 54'S 018° 24'W", -33.9, -18.4),
        ("33-54-00 south 18-24-00 west", -33.9, -18.4),
        ("33 54.00S 018 24.00W", -33.9, -18.4),
        ("-33.9 -18.4", -33.9, -18.4),
        ("−33.9, −18.4", -33.9, -18.4),
        ("minus 33.9 minus 18.4", -33.9, -18.4),
        ("geo:-33.9,-18.4", -33.9, -18.4),
        ("-33.9-018.4/", -33.9, -18.4),
        ("33.9S 180W", -33.9, -180),
        ("0N 0E", 0, 0),
        ("90N 0E", 90, 0),
    ],
)
def test_hemispheres_and_signs(text, lat, lon):
    (found,) = read(text)
    assert (found.square.centre.lat_deg, found.square.centre.lon_deg) == pytest.approx((lat, lon))


@pytest.mark.parametrize(
    ("text", "size_deg"),
    [("48.8582N 2.2945E", 1e-4), ("48.86N 2.29E", 0.01), ("48°51'N 2°17'E", 1 / 60)],
)
def test_the_square_is_one_unit_of_the_last_figure_about_the_value(text, size_deg):
    (found,) = read(text)
    corners = found.square.corners
    assert corners[2].lat_deg - corners[0].lat_deg == pytest.approx(size_deg)
    assert corners[2].lon_deg - corners[0].lon_deg == pytest.approx(size_deg)
    assert (corners[2].lat_deg + corners[0].lat_deg) / 2 == pytest.approx(
        found.square.centre.lat_deg
    )


@pytest.mark.parametrize(
    "text",
    [
        "48.8582, 2.2945", "48.8582 2.2945", "48,8582 2,2945", "48,8582; 2,2945",
        "48.8582/2.2945", "[48.8582, 2.2945]", "48 51 29.52 2 17 40.2", "48 51.492 2 17.67",
        "48°51.492' 2°17.67'", "48.8582° and 2.2945°",
    ],
)  # fmt: skip
def test_without_letters_order_and_side_are_stated_assumptions(text):
    (found,) = read(text)
    assert found.square.centre.lat_deg == pytest.approx(EIFFEL[0], abs=1e-8)
    assert found.square.centre.lon_deg == pytest.approx(EIFFEL[1], abs=1e-8)
    assert found.assumed == ("latitude first", "north and east: no letter and no sign")


def test_a_number_over_90_settles_the_order():
    (found,) = read("120.5 -33.2")
    assert found.square.centre == Position(-33.2, 120.5)
    assert any("120.5 cannot be a latitude" in why for why in found.assumed)


def test_letters_settle_the_order_and_half_of_them_too():
    (found,) = read("2.2945E 48.8582")
    assert found.square.centre.lat_deg == pytest.approx(EIFFEL[0])
    assert found.assumed == ("north: no letter and no sign",)


def test_the_area_settles_an_unstated_side_and_says_so():
    area = Area(Position(-41, 174), 50_000)
    (only,) = read("41.1 174.2", area)
    assert only.square.centre == Position(-41.1, 174.2)
    assert any("fits the area" in why for why in only.assumed)


def test_a_stated_side_is_not_settled_by_any_area():
    area = Area(Position(-41, 174), 50_000)
    for text in ("41.1N 174.2E", "+41.1 +174.2", "+41.1+174.2/", "geo:41.1,174.2"):
        (only,) = read(text, area)
        assert only.square.centre == Position(41.1, 174.2)


def test_the_area_settles_the_order_and_says_so():
    area = Area(Position(47, 8), 50_000)
    (only,) = read("8.1 47.1", area)
    assert only.square.centre == Position(47.1, 8.1)
    assert any("longitude first: fits the area" in why for why in only.assumed)
    (plain,) = read("47.1 8.1", area)
    assert plain.square.centre == Position(47.1, 8.1)


def test_a_sign_against_its_letter_is_both():
    south, north = read("-33.8568 N 151.2153 E")
    assert south.square.centre == Position(-33.8568, 151.2153)
    assert north.square.centre == Position(33.8568, 151.2153)
    assert all("against" in each.assumed[0] for each in (south, north))


def test_a_letter_between_two_numbers_may_belong_to_either():
    found = read("68.2 E 62.4")
    assert {each.square.centre for each in found} == {Position(62.4, 68.2), Position(68.2, 62.4)}


def test_the_uncertainty_of_a_geo_uri_widens_its_square():
    (found,) = read("geo:48.8582,2.2945;u=35")
    (without,) = read("geo:48.8582,2.2945")
    assert found.square.size_m == pytest.approx(without.square.size_m + 70.0)
    assert found.assumed == ("good to 35 m, as it says",)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("N 48 73.2 E 2", r"minutes '73.2' in 'N 48 73.2 E 2' must be below 60"),
        ("48°51'60\"N 2°17'40\"E", "seconds '60'"),
        ("48.5 30N 2 17E", "have decimals"),
        ("91N 2E", "latitude '91' in '91N 2E' is beyond 90 degrees"),
        ("48N 361E", "longitude '361' in '48N 361E' is beyond 180 degrees"),
        ("48.5", "does not make one latitude and one longitude"),
        ("48N", "does not make one latitude and one longitude"),
        ("48N 47N", "both parts of '48N 47N' are a latitude"),
        ("48 51", "two whole numbers and may be anything"),
        ("lat 48E lon 2N", "calls an angle with the letter 'E' a latitude"),
        ("48512N 2E", "neither degrees nor run-together"),
        ("48\" 51' 3N 2E", "wrong mark"),
    ],
)
def test_what_is_wrong_is_said(text, match):
    with pytest.raises(FormatError, match=match) as caught:
        read(text)
    assert caught.value.text == text


@pytest.mark.parametrize("text", ["", "the bridge", "31U DQ 48251 11932", "JN58td", "48#2", "N E"])
def test_other_texts_are_none_of_our_business(text):
    assert read(text) == []


@given(positions, st.sampled_from(["dd", "ddm", "dms"]), st.integers(0, 6))
def test_round_trip(place, style, decimals):
    text = format_latlon(place, style, decimals)
    (found,) = read(text)
    corners = found.square.corners
    height = corners[2].lat_deg - corners[0].lat_deg
    assert abs(found.square.centre.lat_deg - place.lat_deg) <= max(height, 1e-12) + 1e-11
    unit = {"dd": 1, "ddm": 1 / 60, "dms": 1 / 3600}[style] * 10.0**-decimals
    off = abs((found.square.centre.lon_deg - place.lon_deg + 180) % 360 - 180)
    assert off <= unit / 2 + 1e-11


def test_array_form_is_the_scalar_form_by_row():
    texts = ["48.8582N 2.2945E", "nonsense", "95N 2E"]
    columns = FORMAT.read_array(texts)
    assert columns.ok.tolist() == [True, False, False]
    assert columns.lat_deg[0] == pytest.approx(48.8582)
    assert "not in this format: 'nonsense'" in columns.reasons[1]
    assert "beyond 90" in columns.reasons[2]
    assert FORMAT.write_array([48.8582, -1], [2.2945, -2], 1.0).tolist() == [
        "48.85820N 2.29450E",
        "1.00000S 2.00000W",
    ]
