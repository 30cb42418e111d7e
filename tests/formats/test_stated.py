"""A stated place has one meaning, whatever else is known, and every character of it counts.

Examples of the text form are those of ISO 6709:2008, annex H, from memory; pyproj is the oracle of
the datum shift.
"""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pyproj import Transformer

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.stated import decimal_of, looks_stated, stated_text
from plotter.geodesy.position import Area, Position
from plotter.voice.columns import converted
from plotter.voice.spoken import spoken_reading

# Where an area might turn a place: Greenwich, the equator, 180 degrees, the poles.
EDGES = [0.0, 1e-7, -1e-7, 0.1, -0.1, 45.0, 89.9999999, -89.9999999, 90.0, -90.0]
lats = st.one_of(st.sampled_from(EDGES), st.floats(-90, 90))
lons = st.one_of(
    st.sampled_from([*EDGES, 179.9999999, -179.9999999, 180.0, -180.0]), st.floats(-180, 180)
)
areas = st.one_of(
    st.none(),
    st.builds(lambda lat, lon, m: Area(Position(lat, lon), m), lats, lons, st.floats(10, 2e7)),
)
words = st.one_of(
    st.just(""),
    st.sampled_from(
        [
            "stone hut",
            "48 30 N 2 17 E",
            "-1.5, 7",
            "correction 3 W",
            "32T MT 12 34",
            "±6 m",
            "±6 m deep",
        ]
    ),
    st.text(max_size=40).map(str.strip),
)


def exact(value, decimals):
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals))


def same_lon(one, other):
    return abs((one - other + 180.0) % 360.0 - 180.0) < 1e-9


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [
        ("+40.20361-075.00417CRSWGS_84/", 40.20361, -75.00417),
        ("+4012.22-07500.25CRSWGS_84/", 40 + 12.22 / 60, -75 - 0.25 / 60),
        ("+401213.1-0750015.1CRSWGS_84/", 40 + 12 / 60 + 13.1 / 3600, -75 - 15.1 / 3600),
        ("+27.5916+086.5640+8850CRSWGS_84/", 27.5916, 86.5640),
    ],
)
def test_examples_of_the_standard(text, lat, lon):
    [found] = reading(text)
    assert found.square.centre.lat_deg == pytest.approx(lat, abs=1e-12)
    assert found.square.centre.lon_deg == pytest.approx(lon, abs=1e-12)
    assert found.assumed == ()


@given(lats, lons, st.integers(0, 9), areas, words)
def test_no_area_and_no_words_turn_a_stated_place(lat, lon, decimals, area, said):
    lat, lon = exact(lat, decimals), exact(lon, decimals)
    text = stated_text(lat, lon, decimals, words=said)
    assert "e" not in text.partition("/")[0].lower()
    for read in (reading, spoken_reading):
        [found] = read(text, area)
        assert abs(found.square.centre.lat_deg - float(lat)) < 1e-12
        assert same_lon(found.square.centre.lon_deg, float(lon))
        assert found.left_out == ((said.strip(),) if said.strip() else ())
        assert bool(found.assumed) == (lat == 0 and lon == 0)
        # One unit of the last figure, along a meridian.
        assert found.square.size_m == pytest.approx(111_000.0 * 10.0**-decimals, rel=0.01)
    columns = converted([text], ("latlon",), area, spoken_reading)
    assert abs(columns["lat_deg"][0] - float(lat)) < 1e-12
    assert columns["problem"][0] == ""


@given(lats, lons, st.integers(1, 7), st.data())
def test_every_character_counts(lat, lon, decimals, data):
    """Taking away any character changes the place or its square, or is an error."""
    text = stated_text(exact(lat, decimals), exact(lon, decimals), decimals)
    [whole] = reading(text)
    at = data.draw(st.integers(0, len(text) - 1))
    changed = text[:at] + text[at + 1 :]
    assume(changed != text)
    try:
        found = spoken_reading(changed)
    except FormatError:
        return
    assert looks_stated(changed), "no other reader takes what is left of it"
    assert [each.square for each in found] != [whole.square]


@given(st.floats(36, 60), st.floats(-8, 28), areas)
def test_another_datum_is_shifted_as_another_library_shifts_it(lat, lon, area):
    lat, lon = exact(lat, 7), exact(lon, 7)
    text = stated_text(lat, lon, 7, epsg=4258)
    [found] = spoken_reading(text, area)
    theirs = Transformer.from_crs(4258, 4326, always_xy=True).transform(float(lon), float(lat))
    assert found.square.centre.lon_deg == pytest.approx(theirs[0], abs=1e-7)
    assert found.square.centre.lat_deg == pytest.approx(theirs[1], abs=1e-7)
    assert found.square.size_m > 1.9, "good to a metre on every side"
    assert "ETRS89" in found.assumed[0]


def test_how_far_it_may_be_off_makes_the_square_larger():
    text = stated_text(Decimal("47.2620000"), Decimal("14.6010000"), 7, good_to_m=6.0, words="quay")
    assert text == "+47.2620000+014.6010000CRSWGS_84/ ±6 m quay"
    [found] = reading(text)
    assert found.square.size_m == pytest.approx(12.0, rel=1e-3)
    assert found.left_out == ("quay",)


@pytest.mark.parametrize(
    "text",
    [
        "+95.0+014.601CRSWGS_84/", "+47.262+190.0CRSWGS_84/", "+47.262+014.601CRSWGS_84",
        "+47.262+014.601CRSWGS_84/words", "+47.262+14.601CRSWGS_84/", "+4775.0+01436.0CRSWGS_84/",
        "+47.262+014.601CRSNAD27/", "+47.262+014.601CRSEPSG:25833/", "+47.262+014.601CRSEPSG:9/",
        "+47.262 +014.601CRSWGS_84/", "+4715.0+014.601CRSWGS_84/",
    ],
)  # fmt: skip
def test_what_is_no_place_is_an_error_and_nothing_else(text):
    area = Area(Position(47.0, 14.0), 50_000.0)
    for read in (reading, spoken_reading):
        with pytest.raises(FormatError):
            read(text, area)


@given(st.text(max_size=80))
def test_no_number_takes_long_or_breaks(text):
    value = decimal_of(text)
    assert value is None or value.is_finite()


@pytest.mark.parametrize("text", ["1e999999999", "9" * 70, "NaN", "Infinity", "1_0", "٣", ""])
def test_numbers_that_are_none(text):
    assert decimal_of(text) is None
    assert decimal_of("1e9999") > 360
