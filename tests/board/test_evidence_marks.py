import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from evidence_examples import LINES, NINE, evidence_picture
from geographiclib.geodesic import Geodesic

from plotter.board import scene
from plotter.board.evidence_marks import ground_marks, range_marks, watch_marks
from plotter.board.outlines import circle_outline, middle_of, outline_of, ring_outline
from plotter.fix.result import Fix, Polygon, ReportVerdict
from plotter.geodesy.position import Position
from plotter.reports.evidence import fixes_before
from plotter.reports.report import Picture

DAY = NINE.date()


def make(picture, fixes=(), **options):
    return scene(picture, fixes, date=DAY, all_formats=lambda _: {}, **options)


@pytest.fixture(scope="module")
def found():
    return make(evidence_picture())


def way(a, b):
    # Independent route: geographiclib.
    return Geodesic.WGS84.Inverse(*a, *b)["s12"]


def a_fix(best, others=()):
    return Fix(best, (), (), 0.9, 0.0, 0, 1.0, None, "point", ("Said.",), tuple(others))


def test_every_line_is_in_the_list_and_every_mark_points_to_its_own(found):
    said = {(n, sender, text) for n, (_, sender, _, text) in enumerate(LINES, start=1)}
    assert {(int(e.called), e.sender, e.text) for e in found.entries} == said
    marks = [*found.ranges, *found.watches, *found.ground]
    texts = [found.entries[mark.entry].text for mark in marks]
    assert texts == [
        "distance 3.4 km ± 200 m",
        "distance 6 km guessed",
        "not heard within 4 km",
        "heard within 5 km",
        "searched 700 m around Old Mill 70 %",
        "ruled out 1 km around Fox Spring",
        "likely inside 43.12N 6.05E; 43.13N 6.09E; 43.11N 6.09E 3 times",
    ]
    for mark in found.ground:
        assert found.entries[mark.entry].place == mark.middle


def test_a_measured_distance_is_a_ring_with_its_error_on_both_sides(found):
    ring = found.ranges[0]
    assert ring.label == "Plover 3.40 km ± 200 m"
    assert not ring.doubtful
    for outline, distance_m in zip((ring.line, *ring.band), (3400, 3600, 3200), strict=True):
        assert outline.path[0] == outline.path[-1]
        for point in outline.path:
            assert way(ring.observer, point) == pytest.approx(distance_m, abs=1e-3)
    # Between its corners the drawn line leaves the true one by less than a metre in 3.4 km.
    for (lat1, lon1), (lat2, lon2) in zip(ring.line.path, ring.line.path[1:], strict=False):
        middle = ((lat1 + lat2) / 2, (lon1 + lon2) / 2)
        assert way(ring.observer, middle) == pytest.approx(3400, abs=1.5)


def test_a_guessed_distance_is_doubtful_and_its_error_is_a_factor(found):
    ring = found.ranges[1]
    assert ring.label == "Kestrel 6.00 km guessed?"
    assert ring.doubtful
    farther, nearer = (way(ring.observer, outline.path[0]) for outline in ring.band)
    assert farther * nearer == pytest.approx(6000.0**2, rel=1e-6)
    assert math.log(farther / nearer) == pytest.approx(1.2, abs=1e-6)  # twice 0.6, assumed


def test_a_distance_that_the_fix_finds_wrong_is_doubtful():
    picture = evidence_picture()
    verdicts = (
        ReportVerdict("distance", "Plover", 0.2, 900.0),
        ReportVerdict("distance", "Kestrel", 0.9, 50.0),
    )
    fix = a_fix(picture.distances[0].observer, verdicts)
    rings = range_marks(picture.distances, (0, 1), {"whistle": fix}, 6.0)
    assert rings[0].doubtful
    assert rings[0].label.endswith("?")
    # A fix about something else, or of other numbers of reports, says nothing of it.
    for fixes in ({"Beacon": fix}, {"Whistle": replace(fix, others=verdicts[:1])}):
        assert not range_marks(picture.distances, (0, 1), fixes, 6.0)[0].doubtful


def test_an_error_wider_than_the_distance_leaves_no_inner_ring():
    report = replace(evidence_picture().distances[0], sigma_m=5000.0)
    (ring,) = range_marks((report,), (0,), {}, 6.0)
    assert len(ring.band) == 1


def test_watches_that_say_the_same_from_one_place_are_one_mark(found):
    assert [(w.label, w.heard) for w in found.watches] == [
        ("not heard, 2 times", False),
        ("heard", True),
    ]
    assert found.entries[found.watches[0].entry].called == "17"  # the later of the two


def test_watches_for_several_things_say_for_which():
    lines = [
        (0, "Heron", "", "43.182N 6.061E"),
        (1, "Heron", "Whistle", "heard"),
        (2, "Heron", "Beacon", "not heard"),
    ]
    picture = evidence_picture(lines)
    marks = watch_marks(picture.watches, (0, 1), 6.0)
    assert [mark.label for mark in marks] == ["Whistle heard", "Beacon not heard"]


def test_ground_says_what_it_is(found):
    assert [(g.label, g.kind) for g in found.ground] == [
        ("searched, 70 %", "searched"),
        ("ruled out", "ruled out"),
        ("likely, 3 times", "likely"),
    ]
    # A circle of 96 corners with the area of the true one reaches 0.07 % farther than it.
    for point in found.ground[0].outlines[0].path:
        assert way((43.1, 6.045), point) == pytest.approx(700.0, rel=2e-3)


def test_ground_with_an_open_question_is_doubtful():
    (report, *_) = evidence_picture().ground
    (mark,) = ground_marks((replace(report, questions=("Which mill?",)),), (0,), 6.0)
    assert mark.doubtful
    assert mark.label == "searched, 70 %?"


SQUARE = (Position(0.0, 0.0), Position(0.0, 1.0), Position(1.0, 1.0), Position(1.0, 0.0))
HORSESHOE = tuple(
    Position(lat, lon)
    for lat, lon in [(0, 0), (0, 3), (3, 3), (3, 2), (1, 2), (1, 1), (3, 1), (3, 0)]
)


@pytest.mark.parametrize("ring", [SQUARE, HORSESHOE])
@pytest.mark.parametrize("shift_deg", [0.0, 179.0, -178.5])
def test_the_middle_of_an_area_lies_on_it(ring, shift_deg):
    moved = tuple(
        Position(p.lat_deg, (p.lon_deg + shift_deg + 180.0) % 360.0 - 180.0) for p in ring
    )
    lat, lon = middle_of(Polygon(moved), shift_deg)
    area = shapely.Polygon([(p.lat_deg, p.lon_deg + shift_deg) for p in ring])
    assert area.buffer(-0.1).contains(shapely.Point(lat, lon))


def test_a_side_of_an_area_is_a_geodesic():
    # In 60 degrees north such a side bows north of the straight line by kilometres.
    ring = (Position(60.0, 0.0), Position(60.0, 10.0), Position(58.0, 5.0))
    path = ring_outline(ring, 0.0).path
    line = Geodesic.WGS84.InverseLine(60.0, 0.0, 60.0, 10.0)
    first = [p for p in path[:-1] if p[0] >= 60.0 - 1e-9]
    assert len(first) > 20
    for i, (lat, lon) in enumerate(first):
        on = line.Position(line.s13 * i / (len(first) - 1))
        assert (lat, lon) == pytest.approx((on["lat2"], on["lon2"]), abs=1e-7)


@pytest.mark.parametrize("reference_deg", [179.9, -179.9, 0.0])
def test_a_ring_across_180_degrees_is_in_one_piece(reference_deg):
    path = circle_outline(Position(-17.0, 179.95), 40_000.0, reference_deg).path
    lons = [lon for _, lon in path]
    assert max(lons) - min(lons) < 1.0
    assert abs(sum(lons) / len(lons) - reference_deg) < 181.0


@pytest.mark.parametrize(("lat_deg", "radius_m"), [(88.0, 600e3), (-84.0, 900e3), (90.0, 2000e3)])
@pytest.mark.parametrize("reference_deg", [0.0, 170.0])
def test_a_ring_round_a_pole_runs_once_round_the_map(lat_deg, radius_m, reference_deg):
    outline = circle_outline(Position(lat_deg, 20.0), radius_m, reference_deg)
    lats, lons = np.array(outline.path).T
    assert outline.pole == math.copysign(1, lat_deg)
    assert lons[-1] - lons[0] == pytest.approx(360.0)
    assert lats[-1] == lats[0]
    assert np.all(np.diff(lons) > -1e-9)
    assert reference_deg - 181.0 < lons[0] < reference_deg - 179.0
    for point in outline.path[::37]:
        assert way((lat_deg, 20.0), point) == pytest.approx(radius_m, abs=1e-3)


def test_a_ring_that_passes_a_pole_by_is_closed():
    outline = circle_outline(Position(84.0, 20.0), 600e3, 20.0)
    assert outline.pole == 0
    assert outline.path[0] == outline.path[-1]
    # Its corners stand close even where the meridians do.
    lats, lons = np.array(outline.path).T
    assert np.abs(np.diff(lons))[lats[1:] < 85.0].max() < 2.0


def test_a_line_round_a_pole_clockwise_is_turned():
    lats, lons = np.full(8, 70.0), np.arange(0.0, -360.0, -45.0)
    outline = outline_of(lats, lons, 0.0)
    assert outline.pole == 1
    assert outline.path[-1][1] - outline.path[0][1] == pytest.approx(360.0)


def test_a_far_distance_does_not_shrink_the_view():
    near = make(evidence_picture())
    far = [*LINES, (95, "Heron", "Whistle", "distance 300 km guessed")]
    assert make(evidence_picture(far)).view == near.view


def test_only_watches_make_a_scene_where_they_are():
    picture = Picture("", watches=evidence_picture().watches)
    view = make(picture).view.grown(0.01)
    for report in picture.watches:
        assert view.south_deg < report.observer.lat_deg < view.north_deg
        assert view.west_deg < report.observer.lon_deg < view.east_deg


def test_what_moves_has_an_answer_for_each_time_and_the_latest_comes_first():
    spots = [Position(43.14, 6.05), Position(43.15, 6.08), Position(43.16, 6.30)]
    times = [NINE + dt.timedelta(minutes=m) for m in (10, 50, 90)]
    over = tuple((time, a_fix(spot)) for time, spot in zip(times, spots, strict=True))
    found = make(evidence_picture(), [("Beacon", over[-1][1])], over_time={"Beacon": over})
    (answer,) = found.answers
    assert answer.at_utc == times[2]
    assert answer.best == (43.16, 6.30)
    assert [(each.at_utc, each.best) for each in answer.earlier] == [
        (times[0], (43.14, 6.05)),
        (times[1], (43.15, 6.08)),
    ]
    for place in (answer.best, *(each.best for each in answer.earlier)):
        assert found.view.west_deg <= place[1] <= found.view.east_deg
    (still,) = make(evidence_picture(), [("Whistle", over[0][1])]).answers
    assert (still.at_utc, still.earlier) == (None, ())


def test_a_picture_in_which_nothing_moves_asks_for_no_other_time():
    still = [line for line in LINES if "moving" not in line[3]]
    assert fixes_before(evidence_picture(still), [("Beacon", a_fix(Position(43.1, 6.0)))]) == {}
