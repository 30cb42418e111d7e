"""Names that sound or look alike are asked about, and never taken for one.

Spellings of the letters: ICAO Annex 10 and the ITU's table through plotter/voice/data/english.json.
"""

import datetime as dt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from plotter.geodesy.position import Area, Position
from plotter.reports.names import Names, alike, key_of, sounds_like
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.voice.tables import language

ALIKE = [
    ("Alpha", "Alfa"), ("Team 2", "team two"), ("Team2", "Team 2"), ("Team 02", "Team 2"),
    ("Harbor team", "Harbour team"), ("Ridgeteam", "Ridge team"), ("Whitaker", "Whittaker"),
    ("Juliet", "Juliett"), ("Alpa", "Alfa"), ("walker", "walkers"), ("Rigde team", "Ridge team"),
    ("Kestle bridge", "Castle bridge"), ("Philip", "Filip"), ("Boat twenty one", "Boat 21"),
    ("Charlie 2", "Charley two"), ("Alpha team", "Alfa team"),
]  # fmt: skip
UNLIKE = [
    ("Team 1", "Team 2"), ("Team 12", "Team 21"), ("North team", "South team"), ("Alfa", "Bravo"),
    ("East team", "West team"), ("Boat One", "Boat Two"), ("Tom", "Tim"), ("Team A", "Team B"),
    ("Team", "Team 1"), ("two walkers", "three walkers"), ("Harbour team", "Clinic"),
    ("Charlie one", "Charlie two"), ("Team Alfa", "Team Bravo"), ("man", "woman"), ("", "Alfa"),
]  # fmt: skip
LETTERS = {
    (phrase[0], meaning.options[0])
    for phrase, meaning in language("english").phrases.items()
    if meaning.kind == "letter" and len(phrase) == 1 and len(phrase[0]) > 3
}


def asks(known, new):
    names = Names()
    names.add(known)
    return names.add(new)


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_alike(one, other):
    assert sounds_like(one, other)
    assert asks(one, other) == (one,)
    assert asks(other, one) == (other,)


@pytest.mark.parametrize(("one", "other"), UNLIKE)
def test_unlike(one, other):
    assert not sounds_like(one, other)
    assert asks(one, other) == asks(other, one) == ()


@given(st.sampled_from(sorted(LETTERS)), st.sampled_from(sorted(LETTERS)), st.integers(1, 99))
def test_spellings_of_a_letter_are_alike_and_letters_are_not(one, other, number):
    for before, after in (("", ""), ("team ", ""), ("", f" {number}")):
        first, second = (f"{before}{each[0]}{after}" for each in (one, other))
        assert sounds_like(first, second) == (one[1] == other[1] and one[0] != other[0])


@given(st.sampled_from(["Team", "Boat", "Hotel", "rescue"]), st.integers(0, 99), st.integers(0, 99))
def test_numbers_tell_people_apart(word, one, other):
    assert sounds_like(f"{word} {one}", f"{word} {other}") is False
    assert sounds_like(f"{word}{one}", f"{word} {other}") == (one == other)


@given(st.text("abcdefghilmnorstu ", min_size=1, max_size=14), st.data())
def test_one_letter_changed_left_out_or_put_in_is_alike(name, data):
    """Whatever the words are: a word of four letters or more with one slip is asked about."""
    words = key_of(name).split()
    longest = max(words, key=len, default="")
    assume(len(longest) >= 5)
    at = data.draw(st.integers(0, len(longest) - 1))
    letter = data.draw(st.sampled_from("abcdefghilmnorstu"))
    slips = [longest[:at] + longest[at + 1 :], longest[:at] + letter + longest[at + 1 :],
             longest[:at] + letter + longest[at:]]  # fmt: skip
    spelled = {spelling for spelling, _ in LETTERS}
    for slip in slips:
        other = " ".join(slip if word == longest else word for word in words)
        if key_of(other) != key_of(name) and words.count(longest) == 1 and slip not in spelled:
            assume(longest not in spelled)
            assert asks(name, other) == (name,)


@given(st.lists(st.sampled_from([name for pair in ALIKE + UNLIKE for name in pair]), max_size=8))
def test_the_short_way_finds_what_the_long_way_finds(names):
    """`Names` looks only at names that share a hint; `alike` compares with every one."""
    heard, known = Names(), []
    for name in names:
        new = key_of(name) not in map(key_of, known) and key_of(name)
        wanted = set(alike(name, known)) if new else set()
        assert set(heard.add(name)) == wanted
        if new:
            known.append(name)


@given(st.text(max_size=12), st.text(max_size=12))
def test_any_two_names_have_an_answer_both_ways(one, other):
    assert sounds_like(one, other) == sounds_like(other, one)


def test_a_new_name_that_sounds_like_a_known_one_is_asked_once_and_never_merged():
    noon = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
    rows = [("Alfa", "47.00N 8.00E"), ("Bravo", "47.01N 8.00E"), ("Alpha", "47.02N 8.00E"),
            ("Alpha", "47.03N 8.00E")]  # fmt: skip
    said = [
        Said(i, noon + dt.timedelta(minutes=i), who, "", what) for i, (who, what) in enumerate(rows)
    ]
    found = replay(said, area=Area(Position(47, 8), 30e3)).positions
    assert [each.name for each in found] == ["Alfa", "Bravo", "Alpha", "Alpha"]
    assert [each.questions for each in found] == [
        (), (), ("New name 'Alpha': is it 'Alfa'?",), (),
    ]  # fmt: skip
