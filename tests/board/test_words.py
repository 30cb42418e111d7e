import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.board.words import (
    age_in_words,
    bearing_in_words,
    length_in_words,
    norths_in_words,
)
from plotter.formats.groups import spoken_groups

NOON = dt.datetime(2026, 5, 14, 12, 0, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "now"),
        (59, "now"),
        (60, "1 min"),
        (3599, "59 min"),
        (3600, "1 h 00"),
        (6000, "1 h 40"),
        (86399, "23 h 59"),
        (86400, "1 d 0 h"),
        (183600, "2 d 3 h"),
        (-300, "in 5 min"),
        (-1, "in 1 min"),
    ],
)
def test_ages(seconds, words):
    assert age_in_words(NOON - dt.timedelta(seconds=seconds), NOON) == words


def test_an_unknown_time_has_no_age():
    assert age_in_words(None, NOON) == ""
    assert age_in_words(NOON, None) == ""


@given(st.floats(1.0, 5e6))
def test_a_length_in_words_is_true_to_half_a_percent(length_m):
    value, unit = length_in_words(length_m).split()
    assert float(value) * {"m": 1, "km": 1000}[unit] == pytest.approx(length_m, rel=0.0505)
    if length_m > 100:
        assert float(value) * {"m": 1, "km": 1000}[unit] == pytest.approx(length_m, rel=0.0051)


@pytest.mark.parametrize(
    ("bearing_deg", "words"),
    [(0.0, "000° true"), (359.5, "000° true"), (359.49, "359° true"), (7.4, "007° true")],
)
def test_bearings(bearing_deg, words):
    assert bearing_in_words(bearing_deg, "true") == words


@pytest.mark.parametrize(
    ("angle_deg", "words"), [(3.04, "3.0° E"), (-3.05, "3.0° W"), (0.04, "0.0°"), (-0.06, "0.1° W")]
)
def test_norths(angle_deg, words):
    assert norths_in_words(angle_deg) == words


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        ("32TKN6180580748", ("32T", "KN", "61805", "80748")),
        ("4QFJ12", ("4Q", "FJ", "1", "2")),
        ("32TKN", ("32T", "KN")),
        ("AZT4125452342", ("A", "ZT", "41254", "52342")),
        ("JN33ad84mb", ("JN", "33", "ad", "84", "mb")),
        ("32T 261805 4780748", ("32T", " 261805", " 4780748")),
        ("", ("",)),
    ],
)
def test_spoken_groups(text, groups):
    assert spoken_groups(text) == groups


@given(st.text())
def test_groups_join_to_the_text_whatever_it_is(text):
    assert "".join(spoken_groups(text)) == text
