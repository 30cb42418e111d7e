"""Nobody moves by a way from himself, and nothing stays where its words say it no longer is."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.reports.replay import replay
from plotter.reports.report import Said, to_ask

NINE = dt.datetime(2026, 3, 14, 9, tzinfo=dt.UTC)


def said(line, text, sender="Team Red", subject=""):
    return Said(line, NINE + dt.timedelta(minutes=line), sender, subject, text, str(line))


BEFORE = [
    said(1, "place 52.4120N 30.1310W", "Base", "mill"),
    said(2, "we are at 52.4010N 30.1005W"),
    said(3, "we are at 52.4300N 30.0900W", "Team Blue"),
]


def picture_of(text):
    return replay([*BEFORE, said(4, text)], title="T", area=None, date=None)


def last_of(picture, name):
    return max((r for r in picture.positions if r.name == name), key=lambda r: r.said.line)


WAYS = (
    "300 m north of {}", "2 km on 090 true from {}", "we are 2 km on 090 true from {}",
    "here 300 m north of {}", "the well is 1.2 km on 300 true from {}", "well 300 m north of {}",
    "halfway between {} and the mill", "halfway between {} and Team Blue", "500 m south-west of {}",
    "position 300 m north of {}", "the mill is 300 m north of {}",
)  # fmt: skip


@given(st.sampled_from(WAYS), st.sampled_from(["us", "me", "here", "our position", "Team Red"]))
def test_nobody_is_moved_by_a_way_from_himself(way, own):
    picture = picture_of(way.format(own))
    assert last_of(picture, "Team Red").said.line == 2, way
    placed = [r for r in picture.positions if r.said.line == 4]
    for report in placed:
        named = report.name.lower() in ("well", "the well")
        assert named or to_ask(report.questions), (way, report.name)


GONE = (
    "is now in the clinic", "now with Team Blue", "is with us", "with us", "taken away",
    "picked up", "flown out", "has left", "walked off", "gone", "evacuated", "carried down",
    "not found",
    "was false alarm", "last night", "earlier", "before", "beyond", "behind", "across", "nearby",
    "has gone home", "is back", "turned back", "later", "soon",
)  # fmt: skip


@given(
    st.sampled_from(GONE), st.sampled_from(["casualty", "Team Blue", "two walkers", "red boat"]),
    st.sampled_from([" ", ", "]),
)  # fmt: skip
def test_what_is_no_longer_there_is_asked_about(words, who, gap):
    picture = picture_of(f"{who} at 52.4400N 30.0800W{gap}{words}")
    placed = [r for r in picture.positions if r.said.line == 4]
    assert all(to_ask(each.questions) for each in placed), words


@pytest.mark.parametrize(
    "words", ["needs a stretcher", "broken leg", "conscious and talking", "two more with him"]
)
def test_how_somebody_is_moves_nobody(words):
    (report,) = [
        r for r in picture_of(f"casualty at 52.4400N 30.0800W, {words}").positions
        if r.said.line == 4
    ]  # fmt: skip
    assert not to_ask(report.questions)


SINCE = (
    "holding at 52.4600N 30.0100W", "this is us 52.4600N 30.0100W", "we have left",
    "52.4600N 30.0100W, water needed", "moving out", "moved on to the quay",
    "at the broken bridge 52.4600N with Kestrel",
    "not at the mill any more", "heading for the old ferry", "disregard my last position",
    "our position was wrong", "correction, 52.4610N", "past the mill by 400 m",
)  # fmt: skip


@given(st.sampled_from(SINCE), st.sampled_from(["bearing 045 true", "distance 2 km", "heard"]))
def test_what_is_measured_from_a_place_that_may_be_left_is_asked_about(words, measured):
    lines = [*BEFORE, said(4, words), said(5, measured, subject="beacon")]
    picture = replay(lines, title="T", area=None, date=None)
    (report,) = (*picture.bearings, *picture.distances, *picture.watches)
    settled = last_of(picture, "Team Red").said.line == 4
    assert settled or to_ask(report.questions), words
    lines[-1] = said(5, "500 m north of Team Red", "Heron")
    picture = replay(lines, title="T", area=None, date=None)
    settled = last_of(picture, "Team Red").said.line == 4
    assert settled or to_ask(last_of(picture, "Heron").questions), words


@pytest.mark.parametrize("words", ["two casualties, all calm", "send water", "weather is turning"])
def test_talk_leaves_a_sender_where_it_is(words):
    lines = [*BEFORE, said(4, words), said(5, "bearing 045 true", subject="beacon")]
    (report,) = replay(lines, title="T", area=None, date=None).bearings
    assert not to_ask(report.questions)


def test_a_team_by_half_its_name_is_asked_about():
    lines = [said(1, "52.40N 30.10W", "Kestrel team"), said(2, "52.41N 30.12W", "Kestrel")]
    picture = replay(lines, title="T", area=None, date=None)
    assert any("Kestrel team" in each for each in last_of(picture, "Kestrel").questions)


BEFORE_A_WAY = (
    "52.4600N 30.0100W, casualty 200 m north of us", "at the mill, casualty 200 m north of us",
    "52.4600N 30.0100W and casualty 200 m north of us", "casualty 2 400 m south of the mill",
    "boat 3 500 m on 090 true from the mill", "cancel, boat 600 m east of the mill",
    "tomorrow, boat 600 m east of the mill", "not there, boat 600 m east of the mill",
    "Team Blue says, casualty 200 m north of us", "moved to the mill, casualty 200 m north of us",
    "1 km north, boat 600 m east of the mill", "we are lost, boat 600 m east of us",
    "searching for hiker at 52.4600N 30.0100W", "boat expected at the mill",
    "child at the mill, we are at the mill",
    "casualty at the mill, no", "casualty at the mill, was there", "boat at the mill, adrift",
)  # fmt: skip


@given(st.sampled_from(BEFORE_A_WAY))
def test_what_stands_before_a_way_or_denies_a_place_is_asked_about(words):
    lines = [*BEFORE, said(4, words), said(5, "bearing 045 true", subject="beacon")]
    picture = replay(lines, title="T", area=None, date=None)
    placed = [r for r in picture.positions if r.said.line == 4]
    assert all(to_ask(each.questions) for each in placed), (words, placed)
    if words.startswith("52"):
        (bearing,) = picture.bearings
        assert to_ask(bearing.questions), words


@given(st.sampled_from(["at the mill, bearing 245 true", "at the mill, not heard within 8 km",
                        "52.4600N 30.0100W, not heard", "at the mill, heard"]))  # fmt: skip
def test_an_observation_is_not_the_place_of_what_it_is_about(words):
    picture = replay([*BEFORE, said(4, words, subject="beacon")], title="T", area=None, date=None)
    placed = [r for r in picture.positions if r.said.line == 4]
    assert all(to_ask(each.questions) for each in placed), words
