"""Lines about a thing looked for: read, turned into evidence, and nothing lost on the way."""

import datetime as dt

import pytest

from plotter.errors import FormatError
from plotter.fix import Bearing, Listening, Range, Sighting
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.reports.evidence import cases, fixes
from plotter.reports.evidence_words import (
    DistanceWords,
    GroundWords,
    MotionWords,
    WatchWords,
    evidence_words,
)
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.reports.words import words_of

HOME = Position(47.0, 8.0)
NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)


def picture(*lines):
    said = [
        Said(i, NOON + dt.timedelta(minutes=i), sender, subject, text)
        for i, (sender, subject, text) in enumerate(lines, start=1)
    ]
    return replay(said, area=Area(HOME, 30e3))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("distance 2.4 km ± 200 m", DistanceWords(2400.0, 200.0, None)),
        ("Distance is 1 nm ± 0.1 nm from the light", DistanceWords(1852.0, 185.2, "the light")),
        ("distance 3 km guessed", DistanceWords(3000.0, None, None)),
        ("distance 500 yards by signal from here", DistanceWords(457.2, None, None)),
        ("heard", WatchWords(True, None, None, None, None, None)),
        ("not heard within 8 km from A", WatchWords(False, 8000.0, None, None, None, "A")),
        ("heard, antenna 6 m, its antenna 2 m, duty 50 %", WatchWords(True, None, 6, 2, 0.5, None)),
        ("ruled out 2 km around the lake", GroundWords("ruled out", 0.0, 2000.0, ("the lake",))),
        ("searched 500 m around A 70 %", GroundWords("searched", 0.3, 500.0, ("A",))),
        ("likely inside A; B; C 3 times", GroundWords("likely", 3.0, 0.0, ("A", "B", "C"))),
        ("moving walker", MotionWords("walker", 0.0)),
        ("moving at 3.6 km/h", MotionWords("", 1.0)),
    ],
)  # fmt: skip
def test_words_of_evidence(text, words):
    found = evidence_words(text)
    assert type(found) is type(words)
    for name in words.__slots__:
        value, wanted = getattr(found, name), getattr(words, name)
        assert value == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)


@pytest.mark.parametrize(
    "text", ["48.5N 7.9E", "bearing 240 true", "note heard nothing", "31U DQ 1 2", ""]
)
def test_other_texts_are_none_of_these(text):
    assert evidence_words(text) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("distance about two hours", "as a distance"),
        ("distance 0 km", "above zero"),
        ("heard a dog barking", "listening watch"),
        ("heard duty 120 %", "at most 100"),
        ("searched 500 m around the bridge", "as ground"),
        ("searched 500 m around the bridge 100 %", "less than 100"),
        ("ruled out inside A; B", "three or more"),
        ("moving fast", "as a motion"),
        ("bearing 20 true shared error 95 by Anna", "shared error"),
        ("47N r95 200 m 8E", "last"),
    ],
)
def test_what_cannot_be_read_says_what_was_expected(text, said):
    with pytest.raises(FormatError, match=said) as caught:
        words_of(text)
    assert text in str(caught.value)


def test_everything_becomes_evidence_of_its_subject():
    found = picture(
        ("Team 1", "", "47.00N 7.90E"),
        ("Team 2", "", "46.95N 8.05E"),
        ("Desk", "Lake", "place 47.02N 8.02E"),
        ("Team 1", "weak signal", "bearing 90 true ± 3 sense confirmed"),
        ("Team 2", "Weak signal", "bearing 325 true loop"),
        ("Team 1", "Weak signal", "bearing 92 true ± 3 shared error 5 by old compass"),
        ("Team 2", "weak signal", "distance 6 km ± 500 m"),
        ("Team 1", "weak signal", "not heard within 3 km"),
        ("Walker", "weak signal", "47.00N 8.00E r95 500 m"),
        ("Desk", "", "ruled out 1 km around Lake"),
        ("Desk", "weak signal", "moving drift"),
    )
    assert found.unread == ()
    (case,) = cases(found).values()
    kinds = [type(each) for each in case.evidence]
    assert kinds == [Bearing, Bearing, Bearing, Range, Sighting, Listening]
    confirmed, loop, shared = case.evidence[:3]
    assert confirmed.p_reciprocal == 0.005
    assert loop.p_reciprocal == 0.48
    assert not loop.sigma_stated
    assert (shared.common.name, shared.common.sigma_deg) == ("old compass", 5.0)
    # 5.991 is chi-square's 95 % with two degrees of freedom (any table).
    assert case.evidence[4].sigma_m == pytest.approx(500.0 / 5.991**0.5, rel=1e-4)
    assert case.ground[0].weight == 0.0
    assert case.motion is not None
    results, failed = fixes(found)
    assert failed == {}
    assert geodesic(results[0][1].best, HOME).distance_m < 3_000


def test_ruled_out_ground_moves_the_fix():
    lines = [
        ("Team 1", "", "47.00N 7.90E"),
        ("Team 2", "", "46.95N 8.00E"),
        ("Team 1", "signal", "bearing 90 true ± 5"),
        ("Team 2", "signal", "bearing 0 true ± 5"),
    ]
    free = fixes(picture(*lines))[0][0][1]
    ruled = fixes(picture(*lines, ("Desk", "", "ruled out 600 m around 47.00N 8.00E")))[0][0][1]
    assert geodesic(free.best, HOME).distance_m < 200
    assert geodesic(ruled.best, HOME).distance_m > 550


def test_a_subject_is_needed():
    (unread,) = picture(("Team 1", "", "distance 2 km guessed")).unread
    assert "as the subject" in unread.reason
