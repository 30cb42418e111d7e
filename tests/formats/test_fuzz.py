"""Any text at all, and any jumble of the reader's own words: the default part of the fuzz run."""

from hypothesis import given, settings
from hypothesis import strategies as st
from reader_laws import obey

PIECES = [
    "31", "U", "DQ", "48251", "11932", "4825111932", "N", "S", "E", "W", "48.5", "2.5", "-", "+",
    "°", "'", '"', "north", "south", "zone", "JN58", "td25", "0", "999999", "5411932", "448251",
    "lat", "lon", "minus", "deg", "OSGB", "TQ", "388", "773", "Irish grid", "RD", "155000",
    "463000", "EPSG:", "28992", "MGA", "55", "006AG39", "MKPG1204", "9F28WXR9+", "geohash",
    "u4pruydq", "NAD27", "datum", "ED50", "LV95", "ZAH", "180", "90", "00", ",", ";", "/", ":",
    " ", ".", "e", "nan", "inf", "١", "Ω",
]  # fmt: skip
SAID = [
    "niner", "fife", "tree", "double", "triple", "zero", "oh", "forty-five", "decimal", "point",
    "dash", "degrees", "minutes", "north", "grid is", "I spell", "over", "alfa", "quebec", "delta",
    "uniform", "to", "for", "correction", "say again", "break", "hundred", "thousand",
]  # fmt: skip


@given(st.text(max_size=60))
@settings(max_examples=400)
def test_any_text(text):
    obey(text)


@given(st.lists(st.sampled_from(PIECES), max_size=9), st.sampled_from(["", " "]))
@settings(max_examples=1500)
def test_any_jumble_of_pieces(parts, glue):
    obey(glue.join(parts))


@given(st.lists(st.sampled_from(PIECES + SAID), max_size=12))
@settings(max_examples=400)
def test_any_jumble_of_spoken_words(parts):
    obey(" ".join(parts), spoken=True)


def test_a_very_long_text_is_refused_before_it_is_read():
    for text in ("9" * 10_000, "48 " * 5_000, "N" * 10_000, "31U " * 2_500, "niner " * 2_000):
        assert obey(text) == 0
        assert obey(text, spoken=True) == 0


def test_more_decimals_than_anybody_measured():
    """2026-11-25, found by the long run: a square of a ten-millionth of a metre that the writer,
    at nine decimals, could not hold."""
    assert obey("2.528992155 0.4825111932448251") == 2
