"""No ordinary word is a position, and a text with two meanings has both."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.formats import reading
from plotter.geodesy.position import Area, Position

LONDON = Area(Position(51.5, -0.1), 60_000)
DUBLIN = Area(Position(53.3, -6.2), 60_000)
PARIS = Area(Position(48.85, 2.29), 30_000)


@pytest.mark.parametrize("area", [None, LONDON, DUBLIN])
@pytest.mark.parametrize(
    "text",
    [
        "mill", "CAMP", "BELL", "DALE", "team", "FARM", "camp1030", "team0930", "rescue1",
        "number5", "sector 5", "unit 12", "GRP123", "500km", "500KM", "270nm", "120FT", "1500ft",
        "270deg", "045true", "2300hrs", "1530utc", "12h30m", "t12h30", "485230N", "4852n", "n4852",
        "vk2dxz", "VK2DXZ", "g4bcd", "utm31u", "utm33n", "31u448251", "M50", "N11", "R 123",
        "SW19", "SE 10", "grid", "osgb", "epsg", "datum", "the datum", "tokyo",
        "QTHHF81TN", "qthhf81tn",
        "bridge", "second bridge", "hut6", "echo7", "+22", "22+", "+", "b2",
    ],
)  # fmt: skip
def test_ordinary_words_are_no_positions(text, area):
    with pytest.raises(FormatError):
        reading(text, area)


@given(st.from_regex(r"[A-Za-z]{1,12}", fullmatch=True))
def test_no_word_of_letters_alone_is_a_position(word):
    for area in (None, LONDON, DUBLIN):
        try:
            found = reading(word, area)
        except FormatError:
            continue
        # Two letters A to R are a locator's field, three may be a polar square.
        assert {each.format for each in found} <= {"maidenhead", "mgrs"}


@given(st.from_regex(r"[a-z]{2,11}[0-9]{1,4}", fullmatch=True))
def test_no_small_word_with_a_number_is_a_geohash_unless_it_cannot_be_spoken(word):
    try:
        found = reading(word)
    except FormatError:
        return
    for each in found:
        if each.format == "geohash":
            assert not set(word) & set("aeiouy")


def formats(text, area=None):
    return [each.format for each in reading(text, area)]


def test_a_locator_in_small_letters_may_be_a_geohash():
    assert formats("jn58td25") == ["maidenhead", "geohash"]
    assert formats("JN58td25") == ["maidenhead"]
    assert formats("JN58TD25") == ["maidenhead"]
    assert formats("jn58td") == ["maidenhead"]
    assert formats("geohash jn58td25") == ["geohash"]


@pytest.mark.parametrize("text", ["38SMB4488", "38smb4488", "381NH45", "MKPG1204", "GJPJ342171"])
def test_other_grids_are_no_geohash_without_its_name(text):
    assert "geohash" not in formats(text)
    assert len(formats(text)) == 1


def test_a_geohash_in_capitals_needs_its_name():
    assert formats("geohash U4PRUYDQQVJ") == formats("u4pruydqqvj") == ["geohash"]
    assert formats("6gkzwgjz") == ["geohash"]
    with pytest.raises(FormatError):
        reading("U4PRUYDQQVJ")


def test_a_lettered_square_without_its_grid_needs_an_area_that_holds_it():
    for text in ("TQ 388 773", "O 15904 34671"):
        with pytest.raises(FormatError):
            reading(text)
    assert formats("TQ 388 773", LONDON) == ["osgb"]
    assert formats("O 15904 34671", DUBLIN) == ["irish"]
    assert "fits the area" in reading("TQ 388 773", LONDON)[0].assumed[0]
    for area in (DUBLIN, PARIS):
        with pytest.raises(FormatError):
            reading("TQ 388 773", area)
    with pytest.raises(FormatError):
        reading("O 15904 34671", LONDON)


def test_a_square_of_two_grids_has_both_meanings():
    """Wide areas hold a British square and an MGRS square of the same letters."""
    area = Area(Position(54.0, -2.0), 600_000)
    assert set(formats("NT 45 58", area)) == {"osgb", "mgrs"}


def test_half_a_position_is_no_irish_square():
    with pytest.raises(FormatError, match="may be one angle"):
        reading("N 53 20", DUBLIN)
    assert "irish" in formats("Irish grid N 53 20")


def test_a_number_that_looks_like_a_short_code_is_numbers():
    assert formats("48+22", PARIS) == ["latlon"]
