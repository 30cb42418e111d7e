"""The read-back: heard and read by our own reader it gives the same square, in every format."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import positions

from plotter.errors import FormatError
from plotter.formats import FORMATS, reading
from plotter.geodesy.angle import format_angle
from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Position
from plotter.voice.readback import SHORT_LENGTH, readback
from plotter.voice.script import same_square
from plotter.voice.spoken import spoken_reading


def the_same(found, answer):
    """Words and short form both name the reading's square and no other."""
    assert len(answer.short) <= SHORT_LENGTH
    (short,) = reading(answer.short)
    assert same_square(short, found), answer
    (heard,) = spoken_reading(answer.words)
    assert same_square(heard, found), answer


# Text, words and short form, a line each.
EXAMPLES = """
27H UT 81370 48420
too seven Hotel, Uniform Tango, ait wun tree seven zero, fower ait fower too zero
27HUT8137048420

27H 381370 5748420
too seven Hotel, tree ait wun tree seven zero, fife seven fower ait fower too zero
27H 381370 5748420

HF81tn25
Hotel Foxtrot, ait wun, Tango November, too fife
HF81tn25

38.4497S 22.2725W
tree ait decimal fower fower niner seven south, too too decimal too seven too fife west
38.4497S 22.2725W

38°25.759'S 022°20.405'W
tree ait degrees, too fife decimal seven fife niner minutes south, \
zero too too degrees, too zero decimal fower zero fife minutes west
38:25.759S 022:20.405W

38°25'45"S 022°20'24"W
tree ait degrees, too fife minutes, fower fife seconds south, \
zero too too degrees, too zero minutes, too fower seconds west
38:25:45S 022:20:24W

49HVJHGJ+6R
fower niner Hotel Victor, Juliett Hotel Golf Juliett, plus six Romeo
49HVJHGJ+6R
"""


@pytest.mark.parametrize("example", EXAMPLES.strip().split("\n\n"))
def test_words_and_short_form(example):
    text, words, short = example.splitlines()
    answer = readback(text)
    assert (answer.words, answer.short) == (words, short)
    the_same(reading(text)[0], answer)


def test_figures_of_the_radio_regulations_when_asked_for():
    answer = readback("27H UT 81 48", itu_figures=True)
    assert answer.words == (
        "Bissotwo Setteseven Hotel, Uniform Tango, Oktoeight Unaone, Kartefour Oktoeight"
    )
    the_same(reading("27H UT 81 48")[0], answer)


def test_a_spoken_line_can_be_read_back():
    answer = readback("grid is tree ait decimal fife south, double two decimal two five west, over")
    assert answer.short == "38.5S 22.25W"


def near_example(name):
    """Places within 15 km of the format's own example, which lies where the format is in use."""
    centre = reading(FORMATS[name].example)[0].square.centre
    return st.builds(
        lambda bearing, metres: destination(centre, bearing, metres),
        st.floats(0, 360),
        st.floats(0, 15_000),
    )


@pytest.mark.parametrize("name", FORMATS)
@given(data=st.data(), size_m=st.sampled_from([0.5, 1.0, 10.0, 300.0, 1e3, 1e4, 2e5]))
def test_every_format_is_said_and_heard_again(name, data, size_m):
    own = FORMATS[name]
    place = data.draw(positions.filter(own.covers) if _everywhere(name) else near_example(name))
    if not own.covers(place):
        return
    written = own.write(place, size_m)
    try:
        readings = own.readings(written, None)
    except FormatError:
        return  # its own text on the rim of its ground: a matter of that format's tests
    for found in readings:
        for itu_figures in (False, True):
            the_same(found, readback(found, given=written, itu_figures=itu_figures))


def _everywhere(name):
    """Whether a format covers so much of the world that places may be drawn at random."""
    places = [Position(lat, lon) for lat in (-85, -45, 0, 45, 88) for lon in (-120, 10, 150)]
    return sum(FORMATS[name].covers(place) for place in places) > 5


@given(
    positions,
    st.sampled_from(["dd", "ddm", "dms"]),
    st.sampled_from(["dd", "ddm", "dms"]),
    st.integers(0, 4),
    st.integers(0, 4),
)
def test_degrees_in_every_style_keep_their_last_figure(place, one, other, decimals, more):
    text = (
        f"{format_angle(place.lat_deg, 'NS', one, decimals)} "
        f"{format_angle(place.lon_deg, 'EW', other, more)}"
    )
    (found,) = reading(text)
    the_same(found, readback(found, given=text))


def test_a_place_to_check_against():
    chapel = reading("27H UT 80000 48000")[0].square
    far = reading("27H UT 10000 10000")[0].square
    answer = readback("27H UT 81000 48000", [("far hut", far), ("chapel", chapel)])
    # A kilometre of grid east; the grid is turned 0.84 degrees here, so true east less that.
    assert answer.check == (
        "1 km east of chapel, the nearest named place, on 091 degrees true. A square of 1 m."
    )
    assert readback("27H UT 80000 48000", [("chapel", chapel)]).check == (
        "At chapel, the nearest named place. A square of 1 m."
    )
    assert readback("27H UT 80 48").check == (
        "No named place to check it against. A square of 1 km."
    )


def test_a_text_with_several_meanings_is_not_read_back_as_one():
    with pytest.raises(FormatError, match="has 2 meanings"):
        readback("18S 323483 4306479")
    with pytest.raises(FormatError, match="has 3 meanings"):
        readback("38 25 45 S 22 20 24 W")
