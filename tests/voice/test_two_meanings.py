"""What has two meanings is offered in both or asked about: letters, runs, dashes, corrections."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.formats.result import asks_of
from plotter.voice.columns import converted
from plotter.voice.spoken import spoken_reading

# Letters of the sides on maps and in speech, N S E W in this order (common practice, no source).
LETTERS = {
    "english": ("N", "S", "E", "W"),
    "french, spanish, italian": ("N", "S", "E", "O"),
    "german": ("N", "S", "O", "W"),
    "dutch": ("N", "Z", "O", "W"),
    "danish, norwegian": ("N", "S", "Ø", "V"),
    "romanian": ("N", "S", "E", "V"),
    "czech, slovak, slovene": ("S", "J", "V", "Z"),
    "russian": ("С", "Ю", "В", "З"),
}
TAKEN = [name for name in LETTERS if name != "czech, slovak, slovene"]
lats = st.decimals(1, 89, places=3).map(str)
lons = st.decimals(1, 179, places=3).map(str)
forms = st.sampled_from(
    ["{a} {n}, {o} {e}", "{a}{n} {o}{e}", "{n} {a} {e} {o}", "{a}°{n}; {o}°{e}"]
)


def places(text):
    """Where the text may be, and whether anything is asked; None where it is refused."""
    try:
        found = spoken_reading(text)
    except FormatError:
        return None
    centres = {
        (round(r.square.centre.lat_deg, 3), round(r.square.centre.lon_deg, 3)) for r in found
    }
    return centres, bool(asks_of(found))


@given(st.sampled_from(list(LETTERS)), lats, lons, st.booleans(), st.booleans(), forms)
@settings(max_examples=120)
def test_a_side_letter_means_what_it_does_in_every_language_that_has_both(
    name, lat, lon, south, west, form
):
    rows = LETTERS[name]
    north, east = rows[int(south)], rows[2 + int(west)]
    text = form.format(a=lat, o=lon, n=north, e=east)
    found = places(text)
    if found is None:
        assert name not in TAKEN, text  # J and I alone are not read
        return
    wanted = {
        (
            (-1 if each.index(north) else 1) * float(lat),
            (-1 if each.index(east) == 3 else 1) * float(lon),
        )
        for each in LETTERS.values()
        if north in each[:2] and east in each[2:]
    }
    assert wanted <= found[0], text


@given(
    lats, lons, forms, st.sampled_from([("С", "E"), ("N", "В"), ("Z", "E"), ("J", "W"), ("З", "E")])
)
def test_letters_that_no_language_has_together_are_asked_for(lat, lon, form, sides):
    north, east = sides
    found = places(form.format(a=lat, o=lon, n=north, e=east))
    assert found is None or found[1] or len(found[0]) > 1


RUNS = ("N {a}{m:02d} E {o}", "{a}{m:02d}N {o}E", "{a}{m:02d}30N {o}E", "S{a}{m:02d} W{o}.5")


@given(
    st.integers(1, 89), st.integers(0, 59), st.integers(1, 179), st.booleans(),
    st.sampled_from(RUNS),
)  # fmt: skip
def test_figures_run_together_in_one_angle_only_are_asked_about(lat, minute, lon, wide, form):
    text = form.format(a=f"{lat:02d}", m=minute, o=f"{lon:03d}" if wide else lon)
    found = places(text)
    assert found is None or found[1]


@given(st.integers(0, 60), st.integers(0, 60), st.sampled_from("-–—"), st.sampled_from(["", " "]),
       st.sampled_from(["{}", "{}:30"]))  # fmt: skip
def test_a_span_of_whole_numbers_or_times_is_no_place(one, other, dash, gap, number):
    text = f"{number.format(one)}{gap}{dash}{gap}{number.format(other)}"
    found = places(text)
    assert found is None or found[1], text


FORMS = (
    '{{"type":"Point","coordinates":[{o},{a}]}}', "<coordinates>{o},{a}</coordinates>",
    "<coordinates>{o},{a},0</coordinates>", "POINT ({o} {a})", '"coordinates":[{o},{a}]',
    '{{"geometry":{{"type":"Point","coordinates":[{o},{a}]}}}}', "POINT({o} {a})",
    "SRID=4326;POINT({o} {a})",
)  # fmt: skip


@given(st.sampled_from(FORMS), lats, st.decimals(1, 89, places=3).map(str), st.data())
@settings(max_examples=150)
def test_a_damaged_form_never_falls_back_to_latitude_first(form, lat, lon, data):
    """RFC 7946 and OGC 06-103r4 put the longitude first; a letter more or less changes no axis."""
    text = form.format(a=lat, o=lon)
    letters = [i for i, c in enumerate(text) if not (c.isdigit() or c in ".-")]
    at = data.draw(st.sampled_from(letters))
    text = text[:at] + data.draw(st.sampled_from(["", "x", "i"])) + text[at + 1 :]
    found = places(text)
    right = (float(lat), float(lon))
    assert found is None or found[1] or right in found[0] or len(found[0]) > 1, text


@given(
    st.text("ABCDEFGHIJKLMNOPQR", min_size=2, max_size=2), st.integers(0, 99),
    st.integers(0, 99), st.sampled_from([" ", ", ", " and ", "-", " - ", "; "]),
    st.sampled_from(["", "PN"]),
)  # fmt: skip
def test_two_locators_are_not_one(field, one, other, joint, fine):
    found = places(f"{field}{one:02d}{joint}{field}{other:02d}{fine}")
    assert found is None or found[1] or len(found[0]) > 1


@given(st.sampled_from([
    "four seven decimal {x} north eight decimal east", "{x} point 2 north 8 decimal west",
    "south 60 point {x} east 4 point", "north six five point fife, east one {x} decimal sevzn",
]), st.sampled_from(["one", "two", "3", "7"]))  # fmt: skip
def test_a_decimal_point_that_was_said_has_its_figures(form, figure):
    assert places(form.format(x=figure)) is None


@given(lats, st.decimals(1, 89, places=2).map(str), st.integers(1, 99), st.sampled_from([
    "{a} north {o} correction .{x} west", "{a} correction {x} N {o} W",
    "{a} correction {x} north {o} west", "{a} north {o} correction {x} west",
    "{o} correction {x} W {a} N",
]), st.sampled_from(["correction", "I mean", "make that", "sorry"]))  # fmt: skip
def test_a_few_figures_said_anew_are_asked_about(lat, lon, few, form, word):
    text = form.format(a=lat, o=lon, x=few).replace("correction", word)
    found = places(text)
    assert found is None or found[1] or len(found[0]) > 1, text


@pytest.mark.parametrize("word", ["sevn", "sevem", "eigt", "nner", "fourr", "thre", "fiv", "nin"])
def test_a_figure_that_was_heard_badly_is_not_left_out(word):
    found = places(f"grid 32T MT one two tree four fife six {word}")
    assert found is None or found[1]


@pytest.mark.parametrize("text", ["10 SEC 20", "5 KMS 12", "15KTS10", "36 RUN 10", "12 MPH 5"])
def test_numbers_with_a_unit_between_are_no_square(text):
    found = places(text)
    assert found is None or found[1]


@given(lats, lons, st.sampled_from([
    "{a} north, {o} est", "{a} degrees north {o} degrees est", "{a} N {o} V", "{a} S {o} V",
    "{a} N {o} O", "{a} S {o} Z", "{a} sever {o} V",
]))  # fmt: skip
def test_a_table_has_the_meanings_of_a_single_text(lat, lon, form):
    text = form.format(a=lat, o=lon)
    found = places(text)
    table = converted([text, text])
    for row in range(2):
        assert (found is not None and len(found[0]) == 1) == (str(table["problem"][row]) == ""), (
            text
        )


@given(
    st.integers(0, 9), st.integers(0, 9), st.decimals(0, 59, places=1), st.sampled_from([" ", ", "])
)
def test_three_bare_numbers_are_one_angle_not_two(one, other, last, gap):
    found = places(f"{one}{gap}{other}{gap}{last}")
    assert found is None or found[1] or len(found[0]) > 1
