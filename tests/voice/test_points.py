"""The 32 points of the compass, by every way to write them; number words in a sentence."""

import pytest

from plotter.voice.figures import in_figures
from plotter.voice.points import point_degrees, point_name
from plotter.voice.tables import language


def test_thirty_two_points_stand_eleven_and_a_quarter_degrees_apart():
    """A circle of 32 points: 11 degrees 15 minutes each, common definition of the point."""
    for at, names in enumerate(language().points):
        for name in names:
            assert point_degrees(name)[0] == at * 360 / 32


@pytest.mark.parametrize(
    ("words", "degrees", "spacing"),
    [
        ("north", 0, 45),
        ("east", 90, 45),
        ("S", 180, 45),
        ("north-east", 45, 45),
        ("northeast", 45, 45),
        ("North East", 45, 45),
        ("NE", 45, 45),
        ("SSW", 202.5, 22.5),
        ("south-south-west", 202.5, 22.5),
        ("west north west", 292.5, 22.5),
        ("north by east", 11.25, 11.25),
        ("south-west by west", 236.25, 11.25),
    ],
)
def test_points(words, degrees, spacing):
    assert point_degrees(words) == (degrees, spacing)


@pytest.mark.parametrize("words", ["", "up", "northerly gale", "north north north", "left"])
def test_no_points(words):
    assert point_degrees(words) is None


def test_names():
    assert [point_name(d) for d in (0, 22.4, 22.6, 181, 337.4, 337.6, 359.9)] == [
        "north", "north", "north-east", "south", "north-west", "north", "north",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "figures"),
    [
        ("six hundred metres north-east ", "600 metres north east "),
        ("two point four kilometres on two four zero magnetic ", "2.4 kilometres on 240 magnetic "),
        ("three km on oh four five true", "3 km on 045 true"),
        ("thirty-five miles", "35 miles"),
        ("bearing two four zero ± five", "bearing 240 ± 5"),
        ("2 nm on 310 ", "2 nm on 310 "),
        ("up the hill to the hut, for now", "up the hill to the hut, for now"),
        ("", ""),
    ],
)
def test_number_words_become_figures(said, figures):
    assert in_figures(said) == figures
