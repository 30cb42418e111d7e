import datetime as dt
from dataclasses import replace

import pytest
from board_examples import (
    CENTRE,
    DAY,
    NOW,
    STATIONS,
    TARGET,
    bearing,
    example_fix,
    example_picture,
    formats_stand_in,
    offset,
    position,
    said,
)
from geographiclib.geodesic import Geodesic

from plotter.board import scene
from plotter.board.tracks import tracks_of
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Position
from plotter.reports.report import NoteReport, Picture, UnreadReport


def make(picture, fixes=(), **options):
    options = {"date": DAY, "now_utc": NOW, "all_formats": formats_stand_in} | options
    return scene(picture, fixes, **options)


def test_nothing_that_was_said_is_lost(example_scene):
    picture = example_picture()
    reports = picture.positions + picture.bearings + picture.notes + picture.unread
    heard = {(r.said.line, r.said.sender, r.said.text) for r in reports}
    assert {(int(e.called), e.sender, e.text) for e in example_scene.entries} == heard
    assert len(example_scene.entries) == len(reports)
    assert [e.called for e in example_scene.entries if e.kind == "unread"] == ["42", "41"]


def test_reports_of_a_log_go_by_the_name_that_the_log_gives_them():
    first, second = said(1, 30, "A", "one"), said(2, 10, "B", "two")
    notes = (NoteReport(replace(first, name="Base-7")), NoteReport(replace(second, name="Bay-1")))
    found = make(Picture("", notes=notes))
    assert found.entries.of_log
    assert [entry.called for entry in found.entries] == ["Bay-1", "Base-7"]
    assert not make(Picture("", notes=(NoteReport(first),))).entries.of_log


def test_reports_come_newest_first_and_a_line_without_time_stays_beside_its_neighbour():
    notes = (NoteReport(said(1, 30, "A", "one")), NoteReport(said(3, 10, "A", "three")))
    unread = (UnreadReport(said(2, None, "A", "two"), "no time"),)
    found = make(Picture("", notes=notes, unread=unread))
    assert [entry.called for entry in found.entries] == ["3", "2", "1"]


def test_marks_keep_the_true_square_and_know_the_latest(example_scene):
    picture = example_picture()
    for mark, report in zip(example_scene.marks, picture.positions, strict=True):
        corners = tuple((c.lat_deg, c.lon_deg) for c in report.reading.square.corners)
        assert mark.square == corners
        assert example_scene.entries[mark.entry].called == str(report.said.line)
    herons = [m for m in example_scene.marks if m.name == "Heron"]
    assert [m.latest for m in herons].count(True) == 1
    newest = next(m for m in herons if m.latest)
    assert example_scene.entries[newest.entry].called == "6"


def test_every_other_meaning_is_drawn_and_asked_about(example_scene):
    tent = next(m for m in example_scene.marks if m.name == "Red tent")
    assert tent.doubtful
    assert len(tent.others) == 1
    asked = {(q.sender, q.words) for q in example_scene.questions}
    assert ("Plover", "Two squares fit: ask for the second letter.") in asked
    assert ("Base Ivy", "North not stated: ask.") in asked


@pytest.mark.parametrize("sigma_deg", [1.0, 4.0, 20.0])
@pytest.mark.parametrize("true_deg", [0.0, 63.0, 180.0, 299.5])
def test_a_line_of_bearing_is_the_geodesic_with_its_error_on_both_sides(true_deg, sigma_deg):
    start = STATIONS["Kestrel"]
    report = bearing(1, 5, "Kestrel", start, true_deg, sigma_deg)
    mark = make(Picture("", bearings=(report,))).bearings[0]
    # Independent route: geographiclib. Where the line goes it lies on the stated bearing.
    for lat, lon in mark.line[1:]:
        way = Geodesic.WGS84.Inverse(start.lat_deg, start.lon_deg, lat, lon)
        assert (way["azi1"] - true_deg + 180) % 360 - 180 == pytest.approx(0.0, abs=1e-6)
    off = [
        (Geodesic.WGS84.Inverse(start.lat_deg, start.lon_deg, *p)["azi1"] - true_deg + 180) % 360
        - 180
        for p in mark.wedge
        if Geodesic.WGS84.Inverse(start.lat_deg, start.lon_deg, *p)["s12"] > 1.0
    ]
    assert max(off) == pytest.approx(sigma_deg, abs=1e-6)
    assert min(off) == pytest.approx(-sigma_deg, abs=1e-6)


def test_a_bearing_reaches_past_the_best_point(example_scene):
    for mark in example_scene.bearings:
        start, end = mark.line[0], mark.line[-1]
        length = Geodesic.WGS84.Inverse(*start, *end)["s12"]
        to_best = Geodesic.WGS84.Inverse(*start, TARGET.lat_deg, TARGET.lon_deg)["s12"]
        assert length > to_best


def test_a_north_that_was_not_stated_gives_two_doubtful_lines(example_scene):
    ivy = [m for m in example_scene.bearings if m.label.startswith("Base Ivy")]
    assert [m.doubtful for m in ivy] == [True, True]
    assert ivy[0].label.endswith("° true?")
    assert ivy[1].label.endswith("° magnetic?")
    turned = Geodesic.WGS84.Inverse(*ivy[1].line[0], *ivy[1].line[-1])["azi1"]
    plain = Geodesic.WGS84.Inverse(*ivy[0].line[0], *ivy[0].line[-1])["azi1"]
    assert turned - plain == pytest.approx(declination_deg(STATIONS["Base Ivy"], DAY), abs=1e-6)


def test_a_bearing_that_the_fix_doubts_is_drawn_as_doubtful(example_scene):
    doubt = {m.label: m.doubtful for m in example_scene.bearings}
    assert [doubtful for label, doubtful in doubt.items() if label.startswith("Dunlin")] == [True]
    assert [doubtful for label, doubtful in doubt.items() if label.startswith("Heron")] == [False]


def test_verdicts_are_not_pinned_on_the_wrong_bearing_when_numbers_differ():
    fix = example_fix()
    fewer = replace(fix, bearings=fix.bearings[2:4])  # Heron, and Dunlin in doubt
    found = make(example_picture(), [("Whistle", fewer)])
    certain = {m.label.split()[0] for m in found.bearings if not m.doubtful}
    assert certain == {"Kestrel", "Plover", "Heron"}


def test_the_way_from_each_station_to_the_best_point(example_scene):
    sights = example_scene.answers[0].sights
    assert [s.name for s in sights] == sorted(STATIONS, key=lambda n: distance(STATIONS[n]))
    for sight in sights:
        place = STATIONS[sight.name]
        way = Geodesic.WGS84.Inverse(place.lat_deg, place.lon_deg, TARGET.lat_deg, TARGET.lon_deg)
        assert sight.distance_m == pytest.approx(way["s12"], abs=150.0)  # centre of the square
        magnetic = sight.bearing_true_deg - declination_deg(place, DAY)
        assert sight.bearing_magnetic_deg == pytest.approx(magnetic % 360, abs=0.01)


def distance(place):
    return Geodesic.WGS84.Inverse(place.lat_deg, place.lon_deg, TARGET.lat_deg, TARGET.lon_deg)[
        "s12"
    ]


def test_regions_keep_every_piece_and_the_smaller_lies_on_top(example_scene):
    pieces = example_scene.answers[0].pieces
    assert [p.probability for p in pieces] == [0.95, 0.95, 0.5]
    assert [p.share for p in pieces] == [0.81, 0.14, 0.5]
    outer = example_fix().regions[1].pieces[0].polygon.outer
    assert pieces[0].rings[0] == tuple((p.lat_deg, p.lon_deg) for p in outer)


def test_the_norths_are_those_of_the_middle_and_the_day(example_scene):
    norths = example_scene.norths
    middle = Position(*norths.place)
    assert norths.day == DAY
    assert norths.declination_deg == pytest.approx(declination_deg(middle, DAY))


def test_one_wrong_square_far_away_does_not_shrink_the_view(example_scene):
    picture = example_picture()
    lost = position(90, 1, "Wren", "station", Position(-33.0, 151.0))
    found = make(
        replace(picture, positions=(*picture.positions, lost)), [("Whistle", example_fix())]
    )
    assert found.outside == 1
    assert found.view == example_scene.view
    assert any(mark.name == "Wren" for mark in found.marks)


def test_the_best_point_is_in_view_however_far():
    far = offset(TARGET, 90, 300_000)
    found = make(example_picture(), [("Whistle", replace(example_fix(), best=far, regions=()))])
    assert found.view.east_deg >= far.lon_deg


def test_a_mere_direction_does_not_widen_the_view(example_scene):
    far = offset(TARGET, 90, 300_000)
    smoke = replace(example_fix(), best=far, shape="wedge")
    found = make(example_picture(), [("Whistle", example_fix()), ("Smoke", smoke)])
    assert found.view == example_scene.view


def test_an_area_across_180_degrees_is_in_one_piece():
    west, east = Position(-17.0, 179.9), Position(-17.05, -179.9)
    picture = Picture(
        "",
        positions=(
            position(1, 9, "Kestrel", "station", west),
            position(2, 5, "Heron", "station", east),
        ),
        bearings=(bearing(3, 1, "Kestrel", west, 100.0, 5.0),),
    )
    found = make(picture)
    assert found.view.east_deg - found.view.west_deg < 1.0
    for path in [m.square for m in found.marks] + [m.line for m in found.bearings]:
        assert all(abs(lon - path[0][1]) < 1.0 for _, lon in path)
        assert abs(path[0][1] - found.view.west_deg) < 1.0


@pytest.mark.parametrize("lat_deg", [-90.0, 90.0, -89.9, 0.0])
def test_hard_places_are_drawn(lat_deg):
    place = Position(lat_deg, -180.0)
    report = bearing(1, 1, "Kestrel", place, 200.0, 10.0)
    found = make(Picture("", bearings=(report,)), all_formats=lambda _: {})
    assert len(found.bearings) == 1


def test_an_empty_picture_is_a_scene():
    found = make(Picture(""), now_utc=None)
    assert len(found.entries) == 0
    assert found.last_report_utc is None


def test_a_day_beyond_the_magnetic_model_is_warned_about():
    found = make(example_picture(), date=dt.date(1900, 1, 1))
    assert "1900-01-01" in found.norths.warnings[0]
    assert make(example_picture()).norths.warnings == ()


def test_a_long_track_is_thinned_but_keeps_its_ends():
    reports = tuple(
        position(i + 1, 500 - i, "Heron", "station", offset(CENTRE, 90, 40.0 * i))
        for i in range(300)
    )
    track = tracks_of(make(Picture("", positions=reports)))[0]
    assert len(track.points) <= 12
    ends = reports[0].reading.square.centre, reports[-1].reading.square.centre
    assert track.points[0] == (ends[0].lat_deg, ends[0].lon_deg)
    assert track.points[-1] == (ends[1].lat_deg, ends[1].lon_deg)
    assert track.ages[0] == "8 h 20"


def test_nothing_builds_on_a_position_that_is_out_of_place():
    """It is drawn as said, but no track leads there and no distance is given from there."""
    home, away = offset(CENTRE, 90, 500.0), Position(-CENTRE.lat_deg, CENTRE.lon_deg)
    sound = [position(i, 9 - i, "Heron", "station", home) for i in (1, 2)]
    strange = replace(position(3, 1, "Heron", "station", away), out_of_place=True)
    found = make(Picture("", positions=(*sound, strange)), [("signal", example_fix())])
    assert len(found.marks) == 3
    assert all(abs(lat - CENTRE.lat_deg) < 1 for t in tracks_of(found) for lat, _ in t.points)
    assert all(sight.distance_m < 1e6 for sight in found.answers[0].sights)
