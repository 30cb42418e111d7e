"""Who or what is where: the sound place serves, the doubted one never without a word."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.geodesy.position import Area, Position
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.reports.whereabouts import END, moments, named_squares, whereabouts_of

NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
AREA = Area(Position(47.0, 8.0), 20e3)


def at(minute):
    return NOON + dt.timedelta(minutes=minute)


def picture(*rows):
    """Reports from (minute or None, sender, subject, text)."""
    return replay(
        [
            Said(i, None if minute is None else at(minute), *words)
            for i, (minute, *words) in enumerate(rows, start=1)
        ],
        area=AREA,
    )


def test_the_sound_place_serves_and_the_doubted_one_is_said():
    known = whereabouts_of(
        picture(
            (0, "Ridge team", "", "47.00N 8.00E"),
            (30, "Ridge team", "", "47.01N 8.01E"),
            (60, "Ridge team", "", "57.01N 8.01E"),  # 1 100 km off
        )
    )
    found = known.find("ridge team")
    assert found.position == Position(47.01, 8.01)
    assert found.as_of == "last position of ridge team at 12:30 UTC"
    assert found.time_utc == at(30)
    assert found.questions == (
        "Ask ridge team whether it still is where it was at 12:30 UTC.",
    )  # fmt: skip


def test_only_doubted_places_serve_with_a_question():
    known = whereabouts_of(
        picture((0, "Ridge team", "", "57N 8E"), (1, "Desk", "hut", "place 57N 9E"))
    )
    for name in ("Ridge team", "hut"):
        found = known.find(name)
        assert found.doubtful
        assert any("in doubt" in question for question in found.questions)
    assert known.doubted({"place", "station"}) == ("Ridge team", "hut")
    assert list(known.latest({"place", "station"})) == []


def test_a_place_reported_again_in_doubt_keeps_its_sound_square():
    """2026-11: the later report replaced the place without a word."""
    found = picture(
        (0, "Desk", "hut", "place 47.00N 8.00E"), (5, "Desk", "hut", "place 57.00N 8.00E")
    )
    known = whereabouts_of(found)
    assert known.find("hut").position == Position(47.0, 8.0)
    assert "reported elsewhere at 12:05 UTC, in doubt" in known.find("hut").questions[0]
    assert [name for name, _ in named_squares(found)] == ["hut"]


def test_the_later_one_serves_by_the_time_it_was_said():
    """A report that comes in late does not undo a newer one."""
    known = whereabouts_of(
        picture((30, "Bravo", "", "47.02N 8.00E"), (10, "Bravo", "", "47.01N 8.00E"))
    )
    assert known.find("Bravo").position == Position(47.02, 8.0)
    assert known.own_place("Bravo", (at(20), 99)).position == Position(47.01, 8.0)


def test_a_line_without_a_time_stands_where_it_stood():
    lines = [Said(1, at(5), "A", "", ""), Said(2, None, "A", "", ""), Said(3, at(7), "A", "", "")]
    assert moments(lines) == sorted(moments(lines))
    assert moments(lines)[1][0] == at(5)


def test_a_place_with_two_meanings_says_so():
    known = whereabouts_of(replay([Said(1, NOON, "Bravo", "", "18S 323483 4306479")], area=None))
    found = known.find("Bravo")
    assert len(found.others) == 1
    assert "The report of Bravo has 2 meanings: ask for it again." in found.questions


def test_an_unknown_name_is_said_with_those_that_sound_like_it():
    known = whereabouts_of(picture((0, "Desk", "chapel", "place 47.0N 8.0E")))
    with pytest.raises(FormatError, match="is it 'chapel'\\?"):
        known.find("chappel")
    with pytest.raises(FormatError, match="known places: chapel"):
        known.find("the mill")


def test_ones_own_place_in_every_kind_of_report():
    found = picture(
        (0, "Bravo", "", "47.0000N 8.0000E"),
        (1, "Bravo", "smoke", "2 km on 045 true from us"),
        (2, "Bravo", "signal", "bearing 45 true from here"),
        (3, "Bravo", "signal", "distance 2 km from our position"),
        (4, "Bravo", "signal", "not heard within 3 km from me"),
        (5, "Bravo", "", "searched 500 m around us 70 %"),
        (6, "Desk", "hut", "place 47.02N 8.0E"),
        (7, "Bravo", "camp", "halfway between us and the hut"),
    )
    assert found.unread == ()
    own = Position(47.0, 8.0)
    assert found.bearings[0].observer == found.distances[0].observer == own
    assert found.watches[0].observer == own


@given(
    st.lists(
        st.tuples(st.integers(0, 90), st.sampled_from(["Bravo", "Lima"]), st.booleans()),
        min_size=1,
        max_size=8,
    ),
    st.integers(0, 100),
)
def test_the_rules_hold_for_any_reports(reports, minute):
    """The latest sound place before, by time; of places in doubt only where there is none."""
    rows = [
        (when, name, "", f"{'5' if doubted else '4'}7.0000{i}N 8.0000E")
        for i, (when, name, doubted) in enumerate(reports)
    ]
    known = whereabouts_of(picture(*rows))
    for name in {name for _, name, _ in reports}:
        mine = [(when, i, doubted) for i, (when, who, doubted) in enumerate(reports) if who == name]
        before = [each for each in mine if each[0] <= minute]
        sound = [each for each in before if not each[2]]
        found = known.own_place(name, (at(minute), 10**6))
        if sound:
            wanted = max(sound)
            assert bool(found.questions) == (max(before) != wanted)
        elif before:
            wanted = max(before)
            assert found.questions
        else:
            wanted = min([each for each in mine if not each[2]] or mine)
            assert found.questions
        assert found.position.lat_deg == pytest.approx((57 if wanted[2] else 47) + wanted[1] / 1e5)
        assert found.time_utc == at(wanted[0])
        assert known.find(name, END).position == known.own_place(name).position


def test_an_area_may_be_about_a_named_place():
    found = replay(
        [
            Said(1, NOON, "Desk", "", "area five km around the chapel"),
            Said(2, NOON, "Desk", "chapel", "place 47.0N 8.0E"),
        ]
    )
    assert found.area == Area(Position(47.0, 8.0), 5000.0)
    assert found.unread == ()
