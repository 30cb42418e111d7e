"""One grammar of quantities: every wording is read alike in every kind of report, or in none.

The truth comes first: a value is drawn, said in some wording by this file's own speaker, and must
be found again. Units: their defining constants (see plotter/units.py), written out here by hand.
"""

import dataclasses
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.reports.quantities import length_at, radius_at, share_at_end
from plotter.reports.words import words_of

# International definitions: foot 0.3048 m, nautical mile 1852 m, statute mile 1609.344 m.
UNITS = {
    "m": 1.0, "metres": 1.0, "meters": 1.0, "km": 1000.0, "kilometres": 1000.0, "nm": 1852.0,
    "nautical miles": 1852.0, "miles": 1609.344, "feet": 0.3048, "yards": 0.9144,
}  # fmt: skip
ONES = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]  # fmt: skip
TENS = ["_", "_", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
MARKS = (
    "±",
    "± ",
    "+/- ",
    "+-",
    "plus or minus ",
    "plus minus ",
    "give or take ",
    "within ",
    "sigma ",
)


def in_words(number):
    """An English numeral below ten thousand, by this file's own rules."""
    if number < 20:
        return ONES[number]
    if number < 100:
        return TENS[number // 10] + (f"-{ONES[number % 10]}" if number % 10 else "")
    if number < 1000:
        rest = f" and {in_words(number % 100)}" if number % 100 else ""
        return f"{ONES[number // 100]} hundred{rest}"
    rest = number % 1000
    joint = " and " if 0 < rest < 100 else " "
    return f"{in_words(number // 1000)} thousand{joint + in_words(rest) if rest else ''}"


@st.composite
def numbers(draw, most=999):
    """(value, how it is said)."""
    whole = draw(st.integers(1, most))
    tenths = draw(st.integers(0, 9))
    way = draw(st.sampled_from(["typed", "comma", "spoken", "one by one", "number", "half"]))
    if way == "typed":
        return whole + tenths / 10, f"{whole}.{tenths}"
    if way == "comma":
        return whole + tenths / 10, f"{whole},{tenths}"
    if way == "number":
        return float(whole), in_words(whole)
    if way == "half":
        return whole + 0.5, f"{in_words(whole)} and a half"
    spelled = " ".join(ONES[int(figure)] for figure in str(whole))
    if way == "one by one":
        return float(whole), spelled
    mark = draw(st.sampled_from(["decimal", "point"]))
    return whole + tenths / 10, f"{spelled} {mark} {ONES[tenths]}"


lengths = st.builds(
    lambda number, unit, gap: (number[0] * UNITS[unit], f"{number[1]}{gap}{unit}"),
    numbers(),
    st.sampled_from(sorted(UNITS)),
    st.sampled_from([" ", "  ", "\N{NO-BREAK SPACE}"]),
)
# Each kind of report that holds a length, and where its value is.
LENGTHS = {
    "distance": ("distance {} from the hut", lambda w: w.distance_m),
    "distance is": ("Distance is {}", lambda w: w.distance_m),
    "offset": ("{} on 045 true from the hut", lambda w: w.distance_m),
    "offset to a point": ("at {} north-east of the hut", lambda w: w.distance_m),
    "who, offset": ("two walkers {} north of the hut", lambda w: w.distance_m),
    "watch": ("not heard within {} from the hut", lambda w: w.range_m),
    "antenna": ("heard, antenna {}", lambda w: w.antenna_m),
    "its antenna": ("heard, its antenna {}, duty 50 %", lambda w: w.target_antenna_m),
    "ruled out": ("ruled out {} around the hut", lambda w: w.radius_m),
    "searched": ("searched {} around the hut 70 %", lambda w: w.radius_m),
    "likely": ("likely {} around the hut 3 times", lambda w: w.radius_m),
    "area": ("area {} around 47N 8E", lambda w: w.radius_m),
    "area radius": ("area radius of {} around 47N 8E", lambda w: w.radius_m),
    "circle": ("47N 8E r95 {}", lambda w: w.sigma_m * 2.447746830680816),
    "sectors": ("{} around the hut", None),
}
ERRORS = {
    "distance": ("distance 5 km {}", lambda w: w.sigma_m),
    "offset": ("5 km {} on 045 true from the hut", lambda w: w.sigma_m),
    "offset to a point": ("5 km {} north of the hut", lambda w: w.sigma_m),
    "position": ("47.01N 8.02E {}", lambda w: w.sigma_m),
}


def value_of(text, get):
    """What a report says, "refused" where it is not read as that kind."""
    try:
        if get is None:
            found = radius_at(text, 0)
            return found[0] if found else "refused"
        found = get(words_of(text))
    except (FormatError, AttributeError):
        return "refused"
    return "refused" if found in (None, 0.0) else found


@given(lengths, st.sampled_from(sorted(LENGTHS)))
def test_a_length_is_read_in_every_kind(length, kind):
    metres, said = length
    template, get = LENGTHS[kind]
    assert value_of(template.format(said), get) == pytest.approx(metres, rel=1e-4), kind


@given(lengths, st.sampled_from(MARKS), st.sampled_from(sorted(ERRORS)))
def test_an_error_of_a_length_is_read_in_every_kind(length, mark, kind):
    metres, said = length
    template, get = ERRORS[kind]
    assert value_of(template.format(mark + said), get) == pytest.approx(metres, rel=1e-9), kind


@pytest.mark.parametrize(
    "said",
    ["-2 km", "2,400 m", "2 cubits", "some km", "2..4 km", "two to km", "minus two km", "km"],
)
def test_what_is_no_length_is_refused_in_every_kind(said):
    """2,400 m is 2 400 m to some and 2.4 m to others."""
    found = {kind: value_of(text.format(said), get) for kind, (text, get) in LENGTHS.items()}
    assert set(found.values()) == {"refused"}


@given(
    numbers(most=359),
    st.sampled_from(["", "°", " degrees", " deg"]),
    st.sampled_from(["", " true", " T", " magnetic", " mag", " M", " grid", " true north"]),
    st.one_of(st.just(""), st.tuples(st.sampled_from(MARKS), numbers(most=89))),
)
def test_directions_are_read_alike(number, unit, north, error):
    value, said = number
    spread = f" {error[0]}{error[1][1]}" if error else ""
    bearing = words_of(f"bearing {said}{unit}{north}{spread} from the hut")
    offset = words_of(f"2 km on {said}{unit}{north}{spread} from the hut")
    assert bearing.direction == offset.direction
    assert bearing.direction.degrees == pytest.approx(value % 360)
    wanted = north.split()[0][0].lower() if north else None
    assert (bearing.direction.north or " ")[0] == (wanted or " ")
    assert (bearing.sigma_deg or 0.0) == offset.sigma_deg
    assert offset.sigma_deg == pytest.approx(error[1][0] if error else 0.0)
    assert bearing.where == offset.where == "the hut"


@given(numbers(most=98), st.sampled_from([" %", "%", " per cent", " percent"]))
def test_shares_are_read_alike(number, unit):
    value, said = number
    duty = words_of(f"heard, duty {said}{unit}").p_transmitting
    ground = 1.0 - words_of(f"searched 500 m around the hut, {said}{unit}").weight
    sector = share_at_end(f"A2 {said}{unit}")
    assert duty == pytest.approx(value / 100)
    assert ground == pytest.approx(value / 100)
    assert sector == ("A2", pytest.approx(value / 100), "%")


@pytest.mark.parametrize("own", ["here", "us", "our position", "own place", "my location"])
@pytest.mark.parametrize(
    "text", ["bearing 45 true from {}", "distance 2 km from {}", "heard from {}"]
)
def test_ones_own_place_is_known_in_every_kind(own, text):
    assert words_of(text.format(own)).where is None


@pytest.mark.parametrize(
    ("said", "metres", "unit_m"),
    [
        ("two decimal four km", 2400, 100),
        ("2,4 km", 2400, 100),
        ("half a mile", 804.672, 804.672),
        ("three quarters of a mile", 1207.008, 402.336),
        ("2½ km", 2500, 500),
        ("2 400 m", 2400, 1),
        ("a hundred and fifty metres", 150, 1),
        ("a kilometre", 1000, 1000),
        ("0,400 km", 400, 1),
    ],
)
def test_a_length_has_the_unit_of_its_last_figure(said, metres, unit_m):
    length, end = length_at(said, 0)
    assert (length.metres, length.unit_m, end) == (
        pytest.approx(metres), pytest.approx(unit_m), len(said)
    )  # fmt: skip


def test_a_hundred_is_not_lost():
    """2026-11: "a hundred and fifty one degrees" was read as 51."""
    assert words_of("bearing a hundred and fifty one degrees true").direction.degrees == 151


REPORTS = (
    "bearing 245 magnetic ± 5 class A sense confirmed from the hut",
    "bearing 245 true shared error 5 by old compass from the hut",
    "distance 2.4 km ± 200 m from the hut",
    "distance 3 km guessed",
    "not heard within 8 km, antenna 6 m, its antenna 2 m, duty 50 % from the hut",
    "ruled out 2 km around the hut",
    "searched 500 m around the hut 70 %",
    "likely inside A; B; C 3 times",
    "moving at 3.6 km/h",
    "moving walker",
    "2.4 km ± 100 m on 240 magnetic ± 3 from the hut",
    "600 m north-east of the hut",
    "halfway between the hut and the mill",
    "47N 8E r95 200 m",
    "area 30 km around 47N 8E",
)
GAPS = [(text, match.start()) for text in REPORTS for match in re.finditer(r"\s|$", text)]


@given(
    st.sampled_from(GAPS), st.sampled_from(["zorble", "not", "9.99", "minus", "wrong", "?!", "-"])
)
@example((REPORTS[0], 7), "not")
def test_no_word_of_a_report_is_dropped(gap, word):
    """A word more makes an error that quotes the report, or stands in what was read."""
    text, at = gap
    longer = f"{text[:at]} {word}{text[at:]}"
    held = said_of(longer)
    assert word in held, longer


def said_of(text):
    """Everything that was read of a text, or what is wrong with it."""
    try:
        found = words_of(text)
    except FormatError as error:
        return str(error)
    return " ".join(str(getattr(found, field.name)) for field in dataclasses.fields(found))


@pytest.mark.parametrize(
    "text", ["bearing 245 ± 5 ± 7", "bearing 245 class A class B", "heard duty 50 % duty 60 %"]
)
def test_what_is_said_twice_is_asked(text):
    with pytest.raises(FormatError, match="twice: ask which one holds"):
        words_of(text)
