"""From lines to the picture: nothing dropped, nothing guessed silently."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Area, Position
from plotter.reports import Said
from plotter.reports.evidence import cases, fixes
from plotter.reports.replay import replay

START = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
HOME = Position(47.0, 8.0)
AREA = Area(HOME, 60_000)


def lines(*rows):
    """Reports a minute apart from (sender, subject, text)."""
    return [
        Said(i + 2, START + dt.timedelta(minutes=i), sender, subject, text)
        for i, (sender, subject, text) in enumerate(rows)
    ]


def picture(*rows, **named):
    return replay(lines(*rows), **named)


def test_roles():
    found = picture(
        ("Team 1", "", "47.0N 8.0E"),
        ("Team 2", "Team 1", "47.01N 8.0E"),
        ("Team 1", "casualty", "47.02N 8.0E"),
        ("Desk", "chapel", "place 47.03N 8.0E"),
    )
    assert [(p.name, p.role) for p in found.positions] == [
        ("Team 1", "station"),
        ("Team 1", "station"),
        ("casualty", "subject"),
        ("chapel", "place"),
    ]


def test_every_line_ends_up_somewhere():
    rows = [
        ("Team 1", "", "47.0N 8.0E"),
        ("Team 1", "signal", "bearing 45 true"),
        ("Team 1", "", "note nothing heard"),
        ("Team 1", "", "no idea where we are"),
        ("Team 1", "signal", "bearing up the hill"),
        ("Desk", "", "area 30 km around 47N 8E"),
        ("Desk", "", "incident Storm"),
    ]
    found = picture(*rows)
    counted = (*found.positions, *found.bearings, *found.notes, *found.unread)
    assert sorted(each.said.line for each in counted) == list(range(2, 2 + len(rows)))
    assert {each.said.text for each in counted} == {text for _, _, text in rows}
    assert found.title == "Storm"
    assert found.area == Area(Position(47, 8), 30_000)


@given(st.lists(st.tuples(st.text(max_size=8), st.text(max_size=8), st.text(max_size=30))))
def test_any_lines_at_all_are_all_kept(rows):
    found = picture(*rows, area=AREA)
    counted = (*found.positions, *found.bearings, *found.notes, *found.unread)
    assert sorted(each.said.line for each in counted) == list(range(2, 2 + len(rows)))


def test_assumptions_become_questions():
    (found,) = picture(("Team 1", "", "47.01, 8.02"), area=AREA).positions
    assert any(q.startswith("Assumed latitude first") for q in found.questions)
    (plain,) = picture(("Team 1", "", "47.01N 8.02E"), area=AREA).positions
    assert plain.questions == ()


def test_a_missing_zone_is_completed_and_asked():
    (found,) = picture(("Team 1", "", "MT 20000 10000"), area=AREA).positions
    assert found.questions == ("Assumed zone 32T, from the area of operations: read it back.",)
    (unread,) = picture(("Team 1", "", "MT 20000 10000")).unread
    assert "does not say the grid zone" in unread.reason


def test_two_meanings_are_both_kept_and_asked():
    (found,) = picture(("Team 1", "", "18S 323483 4306479")).positions
    assert len(found.others) == 1
    assert any("2 meanings fit" in q for q in found.questions)


def test_a_wrong_hemisphere_is_asked():
    (found,) = picture(("Team 1", "", "47.0S 8.0E"), area=AREA).positions
    assert any("outside the area of operations" in q for q in found.questions)
    assert found.reading.square.centre.lat_deg == -47  # plotted as said, never put right


def test_a_jump_is_asked_and_not_used_for_a_bearing():
    found = picture(
        ("Team 1", "", "47.00N 8.00E"),
        ("Team 1", "", "47.40N 8.00E"),  # 44 km in a minute: a misheard figure
        ("Team 1", "signal", "bearing 45 true"),
        area=AREA,
    )
    assert any("Moved 44 km in 1 min" in q for q in found.positions[1].questions)
    (bearing,) = found.bearings
    assert bearing.observer == Position(47.0, 8.0)
    assert any("still is where it was" in q for q in bearing.questions)


def test_north_not_stated_is_flagged_and_both_meanings_are_kept():
    found = picture(("Team 1", "", "47N 8E"), ("Team 1", "signal", "bearing 45"))
    (bearing,) = found.bearings
    assert bearing.north is None
    assert bearing.bearing_true_deg == 45
    turn = declination_deg(HOME, START.date())
    assert bearing.other_true_deg == pytest.approx(45 + turn)
    assert any("North not stated: ask" in q for q in bearing.questions)


def test_magnetic_and_grid_bearings_are_turned():
    found = picture(
        ("Team 1", "", "47.0N 8.5E"),
        ("Team 1", "signal", "bearing 45 magnetic"),
        ("Team 1", "signal", "bearing 45 grid"),
    )
    place = Position(47.0, 8.5)
    magnetic, grid = found.bearings
    assert magnetic.bearing_true_deg == pytest.approx(45 + declination_deg(place, START.date()))
    assert grid.bearing_true_deg == pytest.approx(45 + convergence_deg(place))
    assert magnetic.questions == grid.questions == ()


def test_default_errors_are_marked_as_not_stated():
    found = picture(
        ("Team 1", "", "47N 8E"),
        ("Team 1", "signal", "bearing 45 true"),
        ("Team 1", "signal", "bearing 45 magnetic"),
        ("Team 1", "signal", "bearing 45 true ± 4"),
    )
    assert [(b.sigma_deg, b.sigma_stated) for b in found.bearings] == [
        (6.0, False),
        (pytest.approx(45**0.5), False),  # 6 degrees and a compass's 3 in quadrature
        (4.0, True),
    ]


def test_where_a_bearing_was_taken():
    found = picture(
        ("Desk", "chapel", "place 47.1N 8.1E"),
        ("Team 1", "", "47.0N 8.0E"),
        ("Team 1", "signal", "bearing 45 true"),
        ("Team 1", "signal", "bearing 45 true from the Chapel"),
        ("Team 1", "signal", "bearing 45 true from 47.2N 8.2E"),
        ("Team 2", "signal", "bearing 45 true from Team 1"),
    )
    assert [b.observer for b in found.bearings] == [
        Position(47.0, 8.0),
        Position(47.1, 8.1),
        Position(47.2, 8.2),
        Position(47.0, 8.0),
    ]
    assert found.bearings[0].observer_from == "last position of Team 1 at 09:01 UTC"
    assert found.bearings[1].observer_from == "chapel"


def test_a_place_may_be_named_after_it_was_used():
    found = picture(
        ("Team 1", "signal", "bearing 45 true from the chapel"),
        ("Desk", "chapel", "place 47.1N 8.1E"),
    )
    assert found.bearings[0].observer == Position(47.1, 8.1)


def test_a_sender_without_a_place_is_asked_for_it():
    (unread,) = picture(("Team 9", "signal", "bearing 45 true")).unread
    assert "'Team 9' has not reported where it is: ask for its position" in unread.reason
    late = picture(("Team 9", "signal", "bearing 45 true"), ("Team 9", "", "47N 8E"))
    assert any("already when it took the bearing" in q for q in late.bearings[0].questions)


def test_an_unknown_place_lists_the_known_ones():
    found = picture(
        ("Desk", "chapel", "place 47.1N 8.1E"),
        ("Team 1", "casualty", "2 km on 90 true from the mill"),
    )
    assert "no place called 'the mill'" in found.unread[0].reason
    assert "known places: chapel" in found.unread[0].reason


def test_offsets_are_resolved_with_their_own_extent():
    found = picture(
        ("Desk", "chapel", "place 47.1000N 8.1000E"),
        ("Team 1", "casualty", "2.4 km on 240 true from the chapel"),
    )
    report = found.positions[1]
    expected = destination(Position(47.1, 8.1), 240, 2400)
    assert geodesic(report.reading.square.centre, expected).distance_m < 1e-6
    # 100 m of the distance's last figure, and the 11 m square of the chapel on top.
    assert 100 < report.reading.square.size_m < 150
    assert report.reading.format == "offset"


def test_an_offset_without_its_north_has_two_meanings():
    found = picture(
        ("Desk", "chapel", "place 47.1N 8.1E"), ("Team 1", "casualty", "9 km on 240 from chapel")
    )
    report = found.positions[1]
    assert len(report.others) == 1
    assert any("North not stated" in q for q in report.questions)


def test_a_position_by_the_name_of_a_place():
    found = picture(("Desk", "chapel", "place 47.1N 8.1E"), ("Team 1", "", "at the chapel"))
    assert found.positions[1].reading.square.centre == Position(47.1, 8.1)


def test_fixes_by_name():
    found = picture(
        ("Team 1", "", "47.00N 7.90E"),
        ("Team 2", "", "46.95N 8.05E"),
        ("Team 1", "weak signal", "bearing 90 true ± 3"),
        ("Team 2", "Weak signal", "bearing 325 true ± 3"),
        ("Team 1", "smoke", "bearing 10 true"),
    )
    assert [(name, len(case.evidence)) for name, case in cases(found).items()] == [
        ("weak signal", 2),
        ("smoke", 1),
    ]
    results, failed = fixes(found)
    assert failed == {}
    assert [name for name, _ in results] == ["weak signal", "smoke"]
    assert geodesic(results[0][1].best, HOME).distance_m < 10_000


def test_a_bearing_needs_a_subject():
    (unread,) = picture(("Team 1", "", "bearing 45 true from 47N 8E")).unread
    assert "needs what it points at as the subject" in unread.reason


def test_findings_quote_a_bearing_as_it_was_said():
    found = picture(
        ("A", "", "47.10N 8.00E"),
        ("B", "", "46.90N 8.00E"),
        ("C", "", "47.00N 8.15E"),
        ("D", "", "46.92N 8.12E"),
        ("A", "signal", "bearing 180 true ± 4"),
        ("B", "signal", "bearing 360 true ± 4"),
        ("C", "signal", "bearing 270 true ± 4"),
        ("D", "signal", "bearing 131 magnetic ± 4"),  # the opposite way
    )
    (name, fix), *_ = fixes(found)[0]
    assert name == "signal"
    assert any("D gave 131° magnetic (1" in finding for finding in fix.findings)


def test_what_may_have_been_meant_is_offered_with_the_question():
    found = picture(
        ("Team 1", "", "32T MT 24000 05000"),
        ("Team 1", "", "32T MT 84000 05100"),
        area=AREA,
    )
    asked = found.positions[1].questions
    assert any("Ask for the first figure of the easting." in q for q in asked)
    assert any("32T MT 24000 05100 (misheard figure: 2 was heard as 8" in q for q in asked)


def test_a_reciprocal_or_another_north_is_offered_for_a_distance_and_direction():
    area = Area(Position(-38.42, -22.35), 10_000)  # declination 21 west
    found = picture(
        ("Desk", "chapel", "place 38.50S 22.35W"),
        ("Team 1", "casualty", "5 km on 180 true from the chapel"),
        area=area,
    )
    asked = " ".join(found.positions[1].questions)
    assert (
        "Ask for the direction and its north. What would fit: 000° true (the reciprocal)." in asked
    )
