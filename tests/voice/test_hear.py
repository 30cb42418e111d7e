"""Spoken words to characters: spellings, numbers, marks, what is dropped and what is doubtful."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError, PlotterError
from plotter.voice.hear import hear, hear_all
from plotter.voice.tables import language


@pytest.mark.parametrize(
    ("said", "characters"),
    [
        ("alpha bravo charley", "ABC"),
        ("ALFA BRAVO CHARLIE", "ABC"),
        ("x-ray yankee zulu", "XYZ"),
        ("xray, whisky, juliet", "X W J"),
        ("niner fife tree fower", "9534"),
        ("ait seven six too wun zero", "876210"),
        ("four oh two", "402"),
        ("four oh oh two", "4002"),
        ("double four triple zero niner", "440009"),
        ("double alfa", "AA"),
        ("forty-five", "45"),
        ("forty five", "45"),
        ("forty-five seventeen", "45 17"),
        ("one hundred", "100"),
        ("one hundred and five", "105"),
        ("one hundred twenty two", "122"),
        ("four hundred forty-eight thousand two hundred fifty-one", "448251"),
        ("one two thousand", "12000"),
        ("eight thousand one hundred four thousand eight hundred", "8100 4800"),
        ("nine hundred eight hundred", "900 800"),
        ("two thousand and five", "2005"),
        ("twelve hundred", "1200"),
        ("two hundred four eight two", "200 482"),
        ("forty-eight point five", "48.5"),
        ("four eight decimal eight five", "48.85"),
        ("four eight dot five", "48.5"),
        ("minus two two point four", "-22.4"),
        ("three eight dash two two", "38-22"),
        ("four nine plus two two", "49+22"),
        ("thirty-eight degrees", "38°"),
        ("38 degrees 25 minutes 45 seconds south", "38° 25' 45\" south"),
        ("27 hotel UT eight one", "27 H UT 81"),
        ("27H UT double eight", "27H UT 88"),
        ("2 7 hotel", "27H"),
        ("grid is two seven hotel", "27H"),
        ("I spell uniform tango, over", "UT"),
        ("um, two, er, seven", "2 7"),
        ("you need form tango", "UT"),
        ("bee cee dee zed", "BCDZ"),
        ("free sicks ate won", "3681"),
    ],
)
def test_heard(said, characters):
    assert hear(said).text == characters


def test_what_was_dropped_is_kept_in_order():
    heard = hear("my grid is uniform tango, that is all, over")
    assert heard.text == "UT"
    assert heard.dropped == ("my", "grid is", "that is", "all", "over")
    assert heard.unknown == ("my", "all")


def test_slips_are_said():
    assert hear("free one").assumed == ("'free' taken as 3",)
    assert hear("tree wun").assumed == ()


def test_a_word_with_two_meanings_has_both():
    texts = {each.text: each.assumed for each in hear_all("one for two")}
    assert texts == {
        "142": ("'for' taken as the figure 4",),
        "12": ("'for' left out as a word without meaning",),
    }
    assert [each.text for each in hear_all("juliett oh")] == ["J0", "JO"]


def test_an_oh_between_figures_is_a_zero_without_doubt():
    (only,) = hear_all("four oh two")
    assert only.assumed == ()


def test_the_same_word_in_a_row_has_one_meaning():
    assert [each.text for each in hear_all("juliett oh oh")] == ["J00", "JOO"]


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("four eight fish one", "cannot tell what 'fish' stands for"),
        ("uniform delta quebc four", "cannot tell what 'quebc' stands for"),
        ("four hundredweight two", "cannot tell what 'hundredweight' stands for"),
        ("alfa hundred two", "cannot tell what 'hundred' stands for"),
        ("alfa double hotel hut two", "cannot tell what 'hut' stands for"),
        ("over and out", "no figures or letters in 'over and out'"),
        ("one for alfa to bravo oh charlie a delta i echo for fox", "more than one meaning"),
        ("four " * 300, "too long for a spoken position"),
    ],
)
def test_what_cannot_be_heard_is_quoted(said, message):
    with pytest.raises(FormatError, match=message) as caught:
        hear(said)
    assert caught.value.text == said


def test_a_language_without_a_table_is_refused():
    with pytest.raises(FormatError, match="no words of the language 'volapük': expected one of"):
        hear("alfa", "volapük")


def test_tables_are_frozen():
    with pytest.raises(TypeError):
        language().phrases[("alfa",)] = None


PHRASES = [" ".join(key) for key in language().phrases]
TYPED = ["31U", "UT", "48251", "4", "°", "'", ",", "-", ".", "+", "hut", "é", "½", "٣", "'s", "2nd"]


@given(st.lists(st.sampled_from(PHRASES + TYPED), max_size=12))
def test_any_salad_of_words_is_heard_or_refused_by_our_own_error(words):
    said = " ".join(words)
    try:
        found = hear_all(said)
    except PlotterError:
        return
    assert 1 <= len(found) <= 16
    for each in found:
        assert each.said == said
        assert each.text == each.text.strip()
        # Nothing is invented: every word dropped was said.
        assert all(word in said for word in each.dropped)


@given(st.text(max_size=80))
def test_any_text_at_all_too(said):
    try:
        hear_all(said)
    except PlotterError:
        return


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=1, max_size=20))
def test_spelled_out_every_run_of_characters_is_heard_again(run):
    words = language()
    figures = words.figures_to_say
    for table in (figures, words.figures_of_the_itu):
        said = " ".join({**words.letters_to_say, **table}[character] for character in run)
        assert hear(said).text == run
