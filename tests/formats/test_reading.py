"""The reader of unknown formats: every meaning, or what is wrong or missing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import HARD_PLACES, positions

from plotter.errors import FormatError, PlotterError
from plotter.formats import FORMATS, in_all_formats, in_all_formats_of, reading
from plotter.formats.registry import formats_that_may_read
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position

EIFFEL = Position(48.8582, 2.2945)
NATIONAL = {
    "osgb", "irish", "rd", "lv95", "lv03", "sweref99tm", "tm35fin", "nztm", "itm", "mga", "epsg",
}  # fmt: skip


@pytest.mark.parametrize("name", FORMATS)
def test_each_format_reads_its_own_example(name):
    found = reading(FORMATS[name].example)
    assert [each.format for each in found] == [name]
    # A grid on a datum of its own says how it came to WGS 84, and assumes nothing else.
    national = "to WGS 84 by" in " ".join(found[0].assumed)
    assert len(found[0].assumed) == (1 if national else 0)
    assert national == (name in NATIONAL)


@given(positions)
def test_what_is_written_is_read_back(place):
    for name, text in in_all_formats(place, 1.0).items():
        found = reading(text)
        assert len(found) == 1, (name, text)
        size = max(found[0].square.size_m, 1.2)
        assert geodesic(found[0].square.centre, place).distance_m <= size


@pytest.mark.parametrize("place", HARD_PLACES, ids=str)
def test_hard_places_are_written_and_read(place):
    for text in in_all_formats(place).values():
        centre = reading(text)[0].square.centre
        assert geodesic(centre, place).distance_m <= 40  # a ten-character locator is 38 m wide


def test_all_formats_of_a_reading_keep_its_own_text():
    (found,) = reading("38S MB 44 88")
    assert in_all_formats_of(found) == {
        "latlon": "33.334N 44.404E",
        "utm": "38S north 444500 3688500",
        "mgrs": "38SMB4488",
        "maidenhead": "LM23ei80kf",
    }


def test_polar_places_have_ups_in_the_place_of_utm():
    assert in_all_formats(Position(-88, 2))["utm"].startswith("B ")


def test_readings_inside_the_area_come_first():
    south = Area(Position(-51.3, -77.5), 50_000)
    found = reading("18S 323483 4306479", south)
    assert found[0].square.centre.lat_deg < 0
    assert len(found) == 1
    assert found[0].assumed[-1] == "of 2 meanings the only one in the area of operations"
    assert len(reading("18S 323483 4306479")) == 2


def test_several_formats_may_read_one_text():
    """Two groups of two figures: whole degrees, or a kilometre square of the area."""
    found = reading("48 02", Area(Position(48.0, 2.0), 60_000))
    assert {each.format for each in found} == {"latlon", "mgrs"}


@pytest.mark.parametrize(
    "text", ["", "   ", "the old mill", "?", "31", "x" * 500, "48.85", "DQ 48251 11932", "a b"]
)
def test_unreadable_text_is_quoted_and_told_what_was_expected(text):
    with pytest.raises(FormatError) as caught:
        reading(text)
    message = str(caught.value)
    assert caught.value.text == text
    assert repr(text.strip()[:20])[1:-1] in message
    assert any(word in message for word in ("expected", "ask", "give"))


def test_full_stops_and_commas_at_the_end_do_not_matter():
    assert reading("31UDQ4825111932.") == reading("31UDQ4825111932")


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_by_our_own_error(text):
    try:
        found = reading(text, Area(EIFFEL, 30_000))
    except PlotterError:
        return
    for each in found:
        assert -90 <= each.square.centre.lat_deg <= 90
        assert -180 <= each.square.centre.lon_deg < 180


@given(
    st.lists(
        st.sampled_from(
            ["31", "U", "DQ", "48251", "11932", "N", "S", "E", "48.5", "2.5", "°", "'", '"', ",",
             "-", "north", "zone", "JN58", "td", "0", "999999", "5411932", "lat", "lon", " "]
        ),
        max_size=8,
    )
)  # fmt: skip
def test_any_jumble_of_our_own_words_too(parts):
    for area in (None, Area(EIFFEL, 30_000)):
        for glue in ("", " "):
            try:
                found = reading(glue.join(parts), area)
            except PlotterError:
                continue
            assert all(each.square.size_m > 0 for each in found)


def _claims(name, text, area):
    """Whether a format reads a text, or says what is wrong with it."""
    try:
        return bool(FORMATS[name].readings(text, area))
    except FormatError:
        return True


@pytest.mark.parametrize("name", FORMATS)
def test_the_cheap_test_passes_every_format_its_own_text(name):
    tried = [each.name for each in formats_that_may_read(FORMATS[name].example, area=False)]
    assert name in tried


@given(
    st.lists(
        st.sampled_from(
            ["31", "U", "DQ", "48251", "11932", "N", "S", "E", "48.5", "2.5", "°", "'", "north",
             "south", "and", "seconds", "zone", "JN58", "td", "999999", "5411932", "lat", "minus",
             "latitude", "OSGB", "TQ", "Irish grid", "O", "RD", "155000", "463000", "EPSG:28992",
             "MGA", "55", "006AG39", "MKPG1204", "9F28WXR9+", "geohash", "u4pruydq", "+", "GARS",
             "geo:48,2", "LV95", "NZTM", "itm", "deg", " ", ", "]
        ),
        max_size=6,
    )
)  # fmt: skip
def test_the_cheap_test_never_hides_a_format(parts):
    for text in ("".join(parts), " ".join(parts)):
        plain = text.strip().rstrip(".;,")
        for area in (None, Area(EIFFEL, 30_000)):
            tried = {each.name for each in formats_that_may_read(plain, area=area is not None)}
            hidden = [name for name in FORMATS if name not in tried and _claims(name, plain, area)]
            assert hidden == [], (plain, hidden)
