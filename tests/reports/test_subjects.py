"""Whose place is it: the sender only where the words say so, and never by a guess.

What people say on the air: common practice, no source.
"""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.formats.reading import reading
from plotter.formats.result import Reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.reports import place_lines
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.reports.subjects import subject_of

NAMES = ("Base", "Charlie", "Ridge team")
PLACE = "47.2620N 14.6010E"
NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
OWN = ("I am at", "we are at", "my position is", "our location", "Bravo at", "Bravo is at",
       "Base this is Bravo, we are at", "Base, Bravo, we are at", "we are now at", "my grid is",
       "hello Base, we are at", "we have stopped at", "found two walkers, we are at")  # fmt: skip
PROCEDURE = (
    "",
    "at",
    "position",
    "Base this is Bravo",
    "grid",
    "good morning all stations",
)
THINGS = (
    ("injured man with broken leg at", "injured man", None),
    ("two injured walkers at", "two injured walkers", 2),
    ("found family of four at", "family of four", 4),
    ("3 casualties", "3 casualties", 3),
    ("there is a car wreck at", "car wreck", None),
    ("blocked road at", "blocked road", None),
    ("smoke", "smoke", None),
    ("Charlie is at", "Charlie", None),
    ("Base this is Bravo. We have an injured climber at", "injured climber", None),
)
UNCLEAR = ("heading for", "we were at", "we are not at", "no casualties at", "send helicopter to",
           "this is Charlie, we are at", "he is at", "the old mill", "zorbls at", "Charlie",
           "proceeding to", "last seen at", "we will be at")  # fmt: skip
AFTER = ("", "over", "all well", "moving north", "at 1430Z", "how copy")


@given(st.sampled_from((*OWN, *PROCEDURE)), st.sampled_from(AFTER))
def test_the_senders_own_place(before, after):
    found = subject_of(before, after, "Bravo", NAMES)
    assert (found.whose, found.question) == ("sender", "")


@given(st.sampled_from(THINGS), st.sampled_from(("", "needs stretcher", "over")))
def test_somebody_or_something_else_is_the_subject(thing, after):
    before, name, number = thing
    found = subject_of(before, after, "Bravo", NAMES)
    assert (found.whose, found.name, found.number, found.question) == ("named", name, number, "")
    assert before.removesuffix(".") in found.said
    assert ("needs stretcher" in found.state) == (after == "needs stretcher")


@given(st.sampled_from(UNCLEAR), st.sampled_from(("", "over", "in the valley")))
def test_what_is_not_plain_is_asked(before, after):
    found = subject_of(before, after, "Bravo", NAMES)
    assert found.whose == "unclear"
    assert found.question.startswith("Whose place is this: Bravo's, or what does")
    assert found.name


@pytest.mark.parametrize("after", ["two casualties", "needs stretcher", "by the old barn"])
def test_words_after_a_bare_position_are_asked_about(after):
    assert subject_of("", after, "Bravo", NAMES).whose == "unclear"
    explicit = subject_of("we are at", after, "Bravo", NAMES)
    assert (explicit.whose, explicit.state) == ("sender", after)


@given(st.text(max_size=40), st.text(max_size=40), st.text(max_size=10))
def test_any_words_have_an_answer_and_are_kept(before, after, sender):
    found = subject_of(before, after, sender, NAMES)
    assert (found.whose == "unclear") == bool(found.question)
    assert bool(found.name) == (found.whose != "sender")
    for word in (*before.split(), *after.split()):
        assert word.strip(" ,;:.!?()-–—") in found.said


@pytest.fixture
def reads_around(monkeypatch):
    """A reader that knows which part of a text it read: here the place that this file uses."""

    def read(text, area=None):
        at = text.find(PLACE)
        if at < 0:
            return reading(text, area)
        (found,) = reading(PLACE, area)
        left = tuple(part for part in (text[:at].strip(), text[at + len(PLACE) :].strip()) if part)
        return (Reading(found.format, found.square, (), PLACE, left),)

    monkeypatch.setattr(place_lines, "spoken_reading", read)


def picture(*rows):
    said = [
        Said(i, NOON + dt.timedelta(minutes=30 * i), *words)
        for i, words in enumerate(rows, start=1)
    ]
    return replay(said, area=Area(Position(47.25, 14.6), 30e3))


@pytest.mark.usefixtures("reads_around")
def test_a_casualty_does_not_move_who_reports_it():
    """2026-11: the injured man moved Bravo 5.9 km, and no casualty was on the map."""
    found = picture(
        ("Bravo", "", "47.2300N 14.5400E"),
        ("Bravo", "", f"injured man with broken leg at {PLACE}, needs stretcher"),
        ("Bravo", "signal", "bearing 45 true"),
    )
    own, man = found.positions
    assert (man.name, man.role, man.questions) == ("injured man", "subject", ())
    assert man.subject.state == "with broken leg; needs stretcher"
    assert man.remark == "injured man with broken leg at; needs stretcher"
    assert found.bearings[0].observer == own.reading.square.centre


@pytest.mark.usefixtures("reads_around")
@given(st.sampled_from((*UNCLEAR, *(before for before, _, _ in THINGS))))
def test_nobody_is_moved_by_a_guess(before):
    found = picture(
        ("Charlie", "", "47.2000N 14.5000E"),
        ("Bravo", "", "47.2300N 14.5400E"),
        ("Bravo", "", f"{before} {PLACE}"),
        ("Bravo", "signal", "bearing 45 true"),
    )
    there = next(each for each in found.positions if PLACE in each.said.text)
    assert there.name != "Bravo"
    assert geodesic(there.reading.square.centre, Position(47.262, 14.601)).distance_m < 20
    assert found.bearings[0].observer == Position(47.23, 14.54)


@pytest.mark.usefixtures("reads_around")
def test_words_against_the_subject_that_was_filed_are_asked():
    (report,) = picture(("Bravo", "two walkers", f"we are at {PLACE}")).positions
    assert report.name == "two walkers"
    assert "Whose place is this: Bravo's, as the words say, or two walkers's?" in report.questions


def test_who_is_there_by_the_name_of_a_place():
    found = picture(
        ("Base", "chapel", f"place {PLACE}"),
        ("Bravo", "", "two walkers at the chapel, one hurt"),
        ("Bravo", "", "injured man 2.4 km on 240 true from the chapel"),
        ("Bravo", "", "we are at the chapel"),
    )
    assert [(each.name, each.role) for each in found.positions[1:]] == [
        ("two walkers", "subject"), ("injured man", "subject"), ("Bravo", "station"),
    ]  # fmt: skip
    assert found.positions[1].remark == "two walkers at; one hurt"
    assert found.unread == ()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("no idea where we are", "notes"),
        ("two stretchers ready at 1430", "notes"),
        ("slope above the river is moving", "notes"),
        ("heard a dog barking", "notes"),
        ("area is flooded", "notes"),
        ("we need 200 m of rope", "notes"),
        ("31U DQ 48O51 1193Z", "unread"),
        ("somewhere near 48.2N", "unread"),
        ("at the mill", "unread"),
        ("600 m north-east", "unread"),
        ("grid 482 11", "unread"),
        ("bearing up the hill", "unread"),
    ],
)
def test_free_talk_is_a_note_and_what_looks_like_a_position_is_asked(text, kind):
    found = picture(("Bravo", "", text))
    kept = {"notes": found.notes, "unread": found.unread}
    assert [each.said.text for each in kept.pop(kind)] == [text]
    assert next(iter(kept.values())) == ()


@pytest.mark.usefixtures("reads_around")
def test_a_sender_without_a_place_gets_none_by_a_guess():
    found = picture(("Charlie", "signal", "bearing 45 true"), ("Bravo", "", f"Charlie {PLACE}"))
    assert [each.name for each in found.positions] == ["Charlie (not sure)"]
    assert "has not reported where it is" in found.unread[0].reason


@pytest.mark.parametrize("point", ["north", "south-west", "ENE", "240 true"])
@pytest.mark.parametrize(
    ("words", "mover"),
    [
        ("the chapel is {} of us", "chapel"),
        ("chapel is {} from us", "chapel"),
        ("go {} of the chapel", "Bravo"),
        ("proceed {} from the chapel", "Bravo"),
        ("send somebody {} of the chapel", "Bravo"),
        ("search {} of the chapel", "Bravo"),
    ],
)
def test_neither_a_named_place_nor_a_sender_who_is_told_to_go_is_moved(words, mover, point):
    """A place does not move because somebody says how it lies; an order says where nobody is."""
    length = "2 km on" if point[0].isdigit() else "2 km"
    joint = words.replace(" of ", " from ") if point[0].isdigit() else words
    lines = [
        ("Desk", "chapel", "place 47.26N 14.60E"),
        ("Bravo", "", "we are at 47.25N 14.62E"),
        ("Bravo", "", joint.format(f"{length} {point}")),
    ]
    said = [
        Said(line, NOON + dt.timedelta(minutes=line), sender, subject, text)
        for line, (sender, subject, text) in enumerate(lines, start=1)
    ]
    found = replay(said)
    for name, place in (("chapel", (47.26, 14.60)), ("Bravo", (47.25, 14.62))):
        own = [each.reading.square.centre for each in found.positions if each.name == name]
        assert [(each.lat_deg, each.lon_deg) for each in own] == [pytest.approx(place)], name
    last = [each for each in found.positions if each.said.line == 3]
    assert all(each.questions for each in last), last
    assert mover in ("chapel", "Bravo")


@pytest.mark.parametrize(
    "text",
    ["2 km north and 1 km east of the chapel", "2 or 3 km north of the chapel",
     "two to three km south of the chapel", "500 m east then 200 m north of the chapel"],
)  # fmt: skip
def test_more_than_one_length_is_asked_about(text):
    said = [
        Said(1, NOON, "Desk", "chapel", "place 47.26N 14.60E"),
        Said(2, NOON, "Bravo", "", text),
    ]
    found = replay(said)
    assert [each.said.text for each in found.unread] == [text]


@pytest.mark.parametrize(
    "word", ["copy", "roger", "yes", "ok", "say again", "standby", "go ahead", "near"]
)
def test_an_answer_before_a_position_is_no_report_of_being_there(word):
    assert subject_of(word, "", "Bravo", NAMES).whose == "unclear"
    assert subject_of(f"{word}, we are at", "", "Bravo", NAMES).whose == "sender"


@pytest.mark.parametrize(
    "before", ["in the harbour", "on the ridge", "at the base", "near Charlie"]
)
def test_a_place_called_like_a_team_is_not_the_team(before):
    assert subject_of(before, "", "Bravo", ("Harbour", "Ridge", *NAMES)).whose == "unclear"


@pytest.mark.parametrize(
    "text",
    [
        "we are at the chapel. Fire at 47.278N 14.658E",
        "we are at the chapel, correction 47.28N 14.66E",
        "at the chapel, casualty at 47.27N 14.65E",
        "casualty at the chapel and we are at 47.27N 14.65E",
        "we are at the chapel, 500 m north",
        "we are at the chapel, then the mill",
        "47.27N 14.65E, moving to the chapel",
    ],
)
def test_two_places_in_one_line_are_asked_about(text):
    said = [
        Said(1, NOON, "Desk", "chapel", "place 47.26N 14.60E"),
        Said(2, NOON, "Desk", "mill", "place 47.25N 14.61E"),
        Said(3, NOON, "Bravo", "", text),
    ]
    found = replay(said)
    assert all(each.questions for each in found.positions if each.said.line == 3)


@pytest.mark.parametrize(
    "before", ["base reports team 3 at", "hut saw Ben,", "camp reporting a man at"]
)
def test_who_tells_is_not_who_is_there(before):
    assert subject_of(before, "", "Bravo", NAMES).whose == "unclear"
