"""Published words of the spelling alphabet and of figures: each row is in our tables and heard."""

import re

import pytest
from check_values import cases, label, rows

from plotter.voice.hear import hear
from plotter.voice.tables import language, languages

TABLE = "09_voice.csv"
LETTERS = cases(TABLE, "Letter ")
ITU_FIGURES = cases(TABLE, "ITU figure ")
ICAO = cases(TABLE, "ICAO")


def words_and_syllables(expected):
    """The word, and the ways its syllables are printed: 'Charlie (CHAR LEE or SHAR LEE)'."""
    word, syllables = re.fullmatch(r"(\S+) \(([^)]+)\).*", expected).groups()
    return word, syllables.split(" or ")


def test_no_row_is_left_out():
    assert len(LETTERS) + len(ITU_FIGURES) + len(ICAO) == len(rows(TABLE)) == 51
    assert [row["inputs"] for row in LETTERS] == list("ABCDEFGHIJKLMNOPQRSTUVWXYZ")


@pytest.mark.parametrize("row", LETTERS, ids=label)
def test_letters(row):
    word, syllables = words_and_syllables(row["expected"])
    assert language().letters_to_say[row["inputs"]] == word
    for said in (word, word.lower(), word.upper(), *syllables, *map(str.lower, syllables)):
        assert hear(said).text == row["inputs"], said


@pytest.mark.parametrize("row", ITU_FIGURES, ids=label)
def test_figures_of_the_radio_regulations(row):
    word, syllables = words_and_syllables(row["expected"])
    character = {"decimal": ".", "full stop": "."}.get(row["inputs"], row["inputs"])
    if character.isdigit():
        assert language().figures_of_the_itu[character] == word
    for said in (word, *syllables, syllables[0].lower()):
        assert hear(said).text == character, said
        assert hear(f"Alfa {said} one").text == f"A{character}1", said


@pytest.mark.parametrize("row", ICAO, ids=label)
def test_figures_of_aviation(row):
    said = row["expected"]
    meant = {"hundred": "00", "thousand": "000", "decimal": "."}.get(row["inputs"], row["inputs"])
    if meant.isdigit() and len(meant) == 1:
        assert language().figures_to_say[meant] == said.replace("-", "").lower()
        assert hear(said).text == meant
    elif meant == ".":
        assert hear(f"two {said} five").text == "2.5"
    else:
        assert hear(f"two {said}").text == f"2{meant}"


@pytest.mark.parametrize("name", languages())
def test_every_language_can_say_and_hear_every_character(name):
    words = language(name)
    assert set(words.letters_to_say) == set("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    for figures in (words.figures_to_say, words.figures_of_the_itu):
        assert set(figures) == set("0123456789")
    for table in (words.letters_to_say, words.figures_to_say, words.figures_of_the_itu):
        for character, word in table.items():
            assert hear(word, name).text == character
    assert len(words.points) == 32
