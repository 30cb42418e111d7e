"""Lines as they are said or dictated, each with the square that it means, on invented ground."""

import csv
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError, PlotterError
from plotter.formats import reading
from plotter.geodesy.position import Area, Position
from plotter.voice.script import same_square
from plotter.voice.spoken import spoken_reading
from plotter.voice.tables import language

AREA = Area(Position(-38.42, -22.35), 40_000)
MGRS = "27H UT 81370 48420"
UTM = "27H 381370 5748420"
DEGREES = "38.4497S 22.2725W"
MINUTES = "38°25.759'S 022°20.405'W"
SECONDS = "38°25'45\"S 022°20'24\"W"
LOCATOR = "HF81tn"

# What was said, and the same place written down: common ways to speak, no source.
with (Path(__file__).parent / "spoken_lines.csv").open(encoding="utf-8", newline="") as file:
    SAID = [(line["said"], line["meant"]) for line in csv.DictReader(file)]


def test_there_are_enough_lines():
    assert len({said for said, _ in SAID}) >= 60


@pytest.mark.parametrize(("said", "meant"), SAID)
def test_said(said, meant):
    (expected,) = reading(meant, AREA)
    found = spoken_reading(said, AREA)
    assert same_square(found[0], expected), found
    assert len(found) == 1, found


@pytest.mark.parametrize("text", [MGRS, UTM, DEGREES, MINUTES, SECONDS, LOCATOR, "38.4497S 22W"])
def test_a_text_that_reads_as_it_stands_is_left_alone(text):
    assert spoken_reading(text, AREA) == reading(text, AREA)


def test_plain_text_loads_no_tables():
    script = (
        "import sys\n"
        "from plotter.voice.spoken import spoken_reading\n"
        f"spoken_reading({MGRS!r})\n"
        "print('plotter.voice.tables' in sys.modules)\n"
        "spoken_reading('hotel foxtrot eight one')\n"
        "print('plotter.voice.tables' in sys.modules)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout.split() == ["False", "True"]


DMS = ("38°25'45\"S 22°20'24\"W", "38°25.45'S 22°20.24'W", "38.2545°S 22.2024°W")


@pytest.mark.parametrize(
    "text",
    [
        "thirty-eight twenty-five forty-five south twenty-two twenty twenty-four west",
        "three eight two five four five south two two two zero two four west",
        "three eight two five four five south zero two two two zero two four west",
        "38 25 45 south 22 20 24 west",
        "38 25 45 S 22 20 24 W",
        "38 25 45 S and 22 20 24 W",
        "south 38 25 45 west 22 20 24",
        "south three eight two five four five west zero two two two zero two four",
        "3-8-2-5-4-5 south 2-2-2-0-2-4 west",
        "S 38 25 45, W 22 20 24",
        "latitude 38 25 45 south longitude 22 20 24 west",
        "position is 38 25 45 south, twenty-two 20 24 west, over",
    ],
)
def test_degrees_without_marks_are_read_three_ways(text):
    found = spoken_reading(text)
    assert len(found) == 3
    for each, meant, way in zip(
        found, DMS, ("seconds", "minutes with", "degrees with"), strict=True
    ):
        assert same_square(each, reading(meant)[0])
        assert any(way in why and "not said" in why for why in each.assumed)


def test_degrees_and_minutes_without_marks_are_read_two_ways():
    found = spoken_reading("thirty-eight twenty-five south twenty-two twenty west")
    assert [same_square(a, reading(b)[0]) for a, b in zip(
        found, ("38°25'S 22°20'W", "38.25°S 22.20°W"), strict=True)] == [True, True]  # fmt: skip


def test_a_way_that_cannot_be_is_left_out():
    (only,) = spoken_reading("38 85 82 south 22 29 45 west")
    assert same_square(only, reading("38.8582S 22.2945W")[0])


def test_of_the_three_ways_those_in_the_area_come_first():
    near = Area(Position(-38.2545, -22.2024), 2_000)
    found = spoken_reading("38 25 45 south 22 20 24 west", near)
    assert same_square(found[0], reading(DMS[2])[0])


@pytest.mark.parametrize(
    ("said", "assumed"),
    [
        (
            "grid is 27H UT eight one, four eight, over",
            ("the words mean '27H UT 81 48', leaving out 'grid is', 'over'",),
        ),
        (
            "Bravo two is at grid 27H UT eight one, four eight",
            (
                "left out 'Bravo two'",
                "the words mean '27H UT 81 48', leaving out 'is at', 'grid'",
            ),
        ),
        (
            "27H UT eight one, four eight at one four three zero hours",
            ("left out 'at one four three zero hours'", "the words mean '27H UT 81 48'"),
        ),
        (
            "27H UT eight one, four eight, over. three injured",
            ("left out 'over . three injured'", "the words mean '27H UT 81 48'"),
        ),
        (
            "27H UT eight one, four eight near the quay",
            ("the words mean '27H UT 81 48', leaving out 'near', 'the', 'quay'",),
        ),
    ],
)
def test_the_words_are_shown_with_what_was_left_out(said, assumed):
    (found,) = spoken_reading(said, AREA)
    assert found.assumed == assumed
    assert same_square(found, reading("27H UT 81 48")[0])


def test_two_positions_in_one_line_are_two_readings():
    found = spoken_reading("now at UT eight one four eight position UT eight two four nine", AREA)
    assert [each.square for each in found] == [
        reading(text)[0].square for text in ("27H UT 81 48", "27H UT 82 49")
    ]
    assert all("more than one part" in each.assumed[0] for each in found)


def test_both_meanings_of_a_word_are_given():
    found = spoken_reading("27H UT eight for eight to")
    assert [each.square.size_m for each in found] == [1_000, 10_000]
    assert "'for' taken as the figure 4" in found[0].assumed
    assert "'for' left out as a word without meaning" in found[1].assumed


def test_oh_is_a_letter_where_only_a_letter_fits():
    (found,) = spoken_reading("hotel foxtrot eight one oh november")
    assert same_square(found, reading("HF81on")[0])
    assert "'oh' taken as the letter O" in found.assumed


def test_said_twice_and_differently_gives_both():
    found = spoken_reading("27H UT eight one four eight I say again 27H UT eight one four niner")
    assert len(found) == 2
    assert all(any("more than one part" in why for why in each.assumed) for each in found)


def test_said_twice_and_once_not_to_be_understood_says_so():
    (found,) = spoken_reading(
        "27H UT fish one four eight, I say again, 27H UT eight one four eight"
    )
    assert found.assumed[0] == "left out '27H UT fish one four eight ,'"


def test_a_correction_shows_what_it_corrects():
    (found,) = spoken_reading("27H UT eight two four eight correction 27H UT eight one four eight")
    assert found.assumed[0] == "'27H UT eight two four eight' was corrected and is left out"


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("two seven hotel uniform fish eight one four eight", "cannot tell what 'fish' stands for"),
        ("27H UT eight one four", "heard '27H UT 814' .* 3 figures after the letters"),
        ("hotel lima", "no figures"),
        ("northing 5748420 easting three eight one three seven zero zone 27 hotel", "heard"),
        ("no longer at 27H UT eight one four eight", "says 'no longer'"),
        ("three eight point four two two point two seven", "two decimal points in one number"),
        ("thirty-eight twenty-five south", "one angle of degrees and minutes, or two"),
        ("38 25 S", "one angle of degrees and minutes, or two"),
        ("27H UT eight one four eight attitude two hundred", "cannot tell what 'attitude'"),
        ("zero three eight two five south zero two two two zero west", "neither degrees nor"),
        ("gibberish", "cannot read 'gibberish' as a position"),
        ("the old mill", "cannot read 'the old mill' as a position"),
        ("uniform tango eight one four eight", "does not say the grid zone"),
        ("", "no position given"),
        ("eight one " * 150, "too long"),
    ],
)
def test_what_cannot_be_read_is_said(said, message):
    with pytest.raises(FormatError, match=message):
        spoken_reading(said)


@pytest.mark.parametrize(
    "name",
    [
        "at 1430 hours",
        "at one four three zero hours",
        "hill 4812",
        "hut four eight one two",
        "checkpoint 8148",
    ],
)
def test_a_name_with_a_number_is_no_grid_reference(name):
    with pytest.raises(FormatError):
        spoken_reading(name, AREA)


PHRASES = [" ".join(key) for key in language().phrases]
TYPED = ["27H", "UT", "81370", "4", "°", "'", ",", "-", "+", "hut", "38.45", "north", "½"]


@given(st.lists(st.sampled_from(PHRASES + TYPED), max_size=10), st.sampled_from([None, AREA]))
def test_any_salad_of_words_is_read_or_refused_by_our_own_error(words, area):
    try:
        found = spoken_reading(" ".join(words), area)
    except PlotterError:
        return
    assert found
    for each in found:
        assert each.square.size_m > 0
