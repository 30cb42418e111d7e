"""A named place that is given again: what was reported from it stays where it was said to be."""

import datetime as dt

import pytest

from plotter.reports.replay import replay
from plotter.reports.report import Said

NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
LINES = [
    ("Desk", "mill", "place 61.2000S 40.3000W"),
    ("Cedar", "", "two men at the mill"),
    ("Cedar", "beacon", "bearing 120 true from the mill"),
    ("Birch", "mill", "place 61.2900S 40.5000W"),
    ("Elm", "", "we are at the mill"),
]


def picture(lines):
    return replay(
        [
            Said(number, NOON + dt.timedelta(minutes=number), sender, subject, text)
            for number, (sender, subject, text) in enumerate(lines, start=1)
        ]
    )


def place_of(found, line):
    (report,) = [each for each in found.positions if each.said.line == line]
    centre = report.reading.square.centre
    return (centre.lat_deg, centre.lon_deg), report.questions


def test_each_report_has_the_place_that_was_known_when_it_was_said():
    before, after = picture(LINES[:3]), picture(LINES)
    assert place_of(before, 2)[0] == place_of(after, 2)[0] == (-61.2, -40.3)
    assert before.bearings[0].observer == after.bearings[0].observer
    assert place_of(after, 5)[0] == (-61.29, -40.5)


def test_giving_it_anew_is_asked_about_where_it_is_given_and_where_it_is_used():
    found = picture(LINES)
    assert any("was given" in each and "before" in each for each in place_of(found, 4)[1])
    assert any("given anew" in each for each in place_of(found, 2)[1])
    assert any("given anew" in each for each in found.bearings[0].questions)
    assert not any("anew" in each for each in place_of(found, 5)[1])


def test_a_place_that_is_given_later_serves_an_earlier_line():
    lines = [LINES[1], LINES[0]]
    assert place_of(picture(lines), 1)[0] == (-61.2, -40.3)


def test_the_same_place_again_is_no_question():
    found = picture([*LINES[:3], ("Birch", "mill", "place 61.20003S 40.30002W")])
    assert not any("given" in each for each in place_of(found, 2)[1] + place_of(found, 4)[1])


@pytest.mark.parametrize(
    "text", ["1.500 m north of the mill", "12.000 m on 090 true from the mill"]
)
def test_a_point_that_may_part_thousands_is_asked_about(text):
    found = picture([LINES[0], ("Fir", "", text)])
    assert [each.said.text for each in found.unread] == [text]


@pytest.mark.parametrize(
    "text",
    ["you are at 47.262N 14.601E", "47.262N 14.601E in an hour", "47.262N 14.601E, in 20 minutes",
     "47.262N 14.601E for you", "47.262N 14.601E, you", "then at 47.262N 14.601E",
     "nobody is at 47.262N 14.601E", "everyone is at 47.262N 14.601E",
     "47.262N 14.601E 2 hours ago", "except at 47.262N 14.601E", "avoid 47.262N 14.601E"],
)  # fmt: skip
def test_a_sender_is_not_moved_to_where_it_is_not(text):
    found = picture([("Ridge team", "", "we are at 47.1N 14.5E"), ("Ridge team", "", text)])
    own = [each for each in found.positions if each.name == "Ridge team"]
    assert [each.said.line for each in own] == [1]


@pytest.mark.parametrize("error", ["± 500 m", "within 500 m", "plus minus 500 m", "error 500 m"])
def test_a_stated_error_is_said(error):
    found = picture([("Ridge team", "", f"we are at 47.262N 14.601E {error}")])
    (report,) = found.positions
    assert report.sigma_m == 500.0
    assert any("500 m" in why for why in report.reading.assumed)
