"""No path accepts by changing a typed character what the plain reader refused.

Where the reader of spoken lines reads a typed text that the plain reader refuses, it does so from a
literal part of it that the plain reader takes as it stands, with the rest said to be left out.
"""

import contextlib
import random
import re

import pytest
from degree_texts import by_grammar, by_habit
from grid_texts import grid_texts
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(47.25, 14.6), 40_000)
CHARACTERS = "0123456789NSEWnsewod°'\".,-+ x:;("


def check(text, area):
    with contextlib.suppress(FormatError):
        return 0 if reading(text, area) else 1
    try:
        found = spoken_reading(text, area)
    except FormatError:
        return 1
    for each in found:
        if any("the words mean" in why for why in each.assumed):
            # Figures typed one by one, words of marks and sides: every figure is still there.
            meant = next(why for why in each.assumed if "the words mean" in why)
            left = "".join(each.left_out)
            typed = text.replace(left, "") if left else text
            assert re.sub(r"\D", "", meant) == re.sub(r"\D", "", typed), (text, each)
            minus = r"(?:(?<![\w.°'\"])-|minus)\s?\d"
            assert len(re.findall(minus, meant)) == len(re.findall(minus, typed)), (text, each)
            continue
        assert each.rests_on, (text, each)
        assert each.rests_on in text, (text, each)
        assert each.left_out, (text, each)
        again = reading(each.rests_on, area)
        assert each.square in [other.square for other in again], (text, each)
    return 0


@pytest.mark.parametrize("generator", [by_grammar, by_habit, grid_texts])
@pytest.mark.parametrize("area", [None, AREA], ids=["no area", "area"])
def test_what_is_refused_as_typed_is_not_read_by_changing_it(generator, area):
    rng = random.Random(31)  # noqa: S311 - a test needs to be repeatable, not secret
    refused = 0
    for sample in generator(31, 120):
        for _ in range(3):
            at = rng.randrange(len(sample.text))
            new = rng.choice(CHARACTERS)
            refused += check(sample.text[:at] + new + sample.text[at + 1 :], area)
            refused += check(sample.text[:at] + sample.text[at + 1 :], area)
    assert refused > 20


@given(
    st.sampled_from(["we are at ", "man down at ", "two casualties, ", "position ", ""]),
    st.sampled_from(
        ["-33.8568 N 151.2153 E", "12 02 S 77 02 O", "S12.0464 77.0428W", "-12.046, -77.043"]
    ),
    st.sampled_from([" over", ", needs stretcher", ""]),
)
def test_words_around_a_position_do_not_change_its_meanings(before, position, after):
    expected = [each.square for each in spoken_reading(position)]
    found = [each.square for each in spoken_reading(before + position + after)]
    assert found == expected
