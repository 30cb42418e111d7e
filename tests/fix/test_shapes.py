"""Every shape by its name: what is said rests on the geometry of what was reported."""

import datetime as dt
import math
import re
from dataclasses import replace

import pytest
from fix_families import TRUTH, ahead, azimuth, distance
from user_scenes import fix_of_file

from plotter.fix import Bearing, Listening, Range, Sighting, fix
from plotter.geodesy.position import Area

POSTS = [ahead(TRUTH, b, 3000.0) for b in (180.0, 270.0, 30.0)]
NAMES = ("Ash", "Birch", "Cedar")
NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)


def bearing(i, off_deg=0.0, sigma_deg=5.0, **kwargs):
    return Bearing(POSTS[i], azimuth(POSTS[i], TRUTH) + off_deg, sigma_deg, NAMES[i], **kwargs)


def meter(i, sigma_m=60.0):
    return Range(POSTS[i], distance(POSTS[i], TRUTH), sigma_m, sender=NAMES[i])


def ear(i, heard, range_m=None):
    return Listening(POSTS[i], heard, range_m, sender=NAMES[i])


SHAPES = {
    "ring": [[meter(0)], [meter(0), ear(1, heard=False)]],
    "disc": [[ear(0, heard=True)], [ear(0, heard=True, range_m=4e3)]],
    "wedge": [
        [bearing(0)],
        [bearing(0), bearing(0, 1.0)],
        [replace(bearing(0, 0.7 * (k % 5) - 1.4), sender=f"Post {k}") for k in range(20)],
    ],
    "several places": [[meter(0), meter(1)]],
    "point": [
        [meter(0), meter(1), meter(2)],
        [bearing(0), bearing(1), bearing(2)],
        [bearing(0), meter(0)],
        [bearing(0, 3.0), bearing(1, -4.0)],
        [bearing(0), bearing(1), bearing(2), Sighting(TRUTH, 200.0, "Walker")],
    ],
    "nothing": [[ear(0, heard=False)], [ear(0, heard=False), ear(1, heard=False)]],
}
CASES = [(kind, evidence) for kind, each in SHAPES.items() for evidence in each]


@pytest.mark.parametrize(("kind", "evidence"), CASES)
def test_a_shape_has_its_name(kind, evidence):
    answer = fix(evidence)
    assert answer.shape == kind
    assert answer.sector == (kind not in ("point", "several places"))
    headline = answer.findings[0].lower()
    word = {"ring": "ring", "disc": "area, not a point", "wedge": "direction", "nothing": "nothing"}
    assert word.get(kind, "") in headline
    assert ("best point" in headline) == (kind == "point")
    # Some sentence always says what to do next.
    assert any(s.startswith(("Ask", "Search")) for s in answer.findings)
    assert not any("no point to search" in s.lower() or "observers" in s for s in answer.findings)


def test_a_ring_has_the_radius_that_was_reported():
    said = fix([meter(0)]).findings[0]
    found = re.search(
        r"ring, not a point: ([\d.]+) km from Ash on any side, 90 % within ± (\d+) m", said
    )
    assert float(found[1]) == pytest.approx(3.0, abs=0.1)
    # 90 % of a normal error of 60 m lies within 1.645 of it.
    assert float(found[2]) == pytest.approx(1.645 * 60.0, rel=0.15)


def test_three_circles_make_a_fix():
    """Crossing angles of 90°, 60° and 30°: the bound of three distances of ± 60 m."""
    answer = fix([meter(i) for i in range(3)])
    assert distance(answer.best, TRUTH) < 5.0
    lines = [math.radians(azimuth(p, TRUTH)) for p in POSTS]
    a = sum(math.sin(t) ** 2 for t in lines) / 60.0**2
    b = sum(math.cos(t) ** 2 for t in lines) / 60.0**2
    c = sum(math.sin(t) * math.cos(t) for t in lines) / 60.0**2
    bound_km2 = math.pi * 5.991 / math.sqrt(a * b - c * c) / 1e6
    assert answer.regions[1].area_km2 == pytest.approx(bound_km2, rel=0.15)


def test_a_direction_has_its_error_its_start_and_the_time_it_was_taken():
    """One exact bearing of ± 5°: the half angle that holds 68 % is 5°."""
    said = fix([bearing(0, exact=True, time_utc=NOON)]).findings[0]
    found = re.search(r"(\d{3})° true ± (\d+)° from Ash \(at 12:00 UTC\)", said)
    assert int(found[1]) in (0, 1, 359)
    assert int(found[2]) == 5


def test_a_headline_that_is_likelier_wrong_than_right_is_not_given():
    """Two that point away from each other: what holds if both are right is nothing to lead by."""
    answer = fix([bearing(0, 150.0, 3.0), bearing(1, 200.0, 3.0)])
    assert answer.p_all_good < 0.5
    assert not any(s.startswith("If both bearings are right") for s in answer.findings)


def test_the_range_that_is_held_possible_is_said_where_it_matters():
    said = fix([bearing(0)]).findings
    assert any(re.match(r"How far it is heard is not known: [\d.]+ to 256 km", s) for s in said)
    compact = fix([bearing(0), bearing(1), bearing(2)]).findings
    assert not any("How far it is heard" in s for s in compact)


def test_the_area_of_operations_shortens_a_direction():
    from plotter.fix import Support

    area = Area(ahead(TRUTH, 0.0, 1000.0), 6000.0)
    plain, known = fix([bearing(0)]), fix([bearing(0)], Support(area=area))
    assert known.regions[0].area_km2 < plain.regions[0].area_km2


def test_a_sender_who_hardly_knows_where_he_is_spoils_no_good_cross(tmp_path):
    """Two bearings that cross well and a third from somewhere in a square of 100 km: the region is
    about that of the two, nobody is blamed, and his place is the first thing to ask for."""
    lines = [
        "time_utc,sender,subject,report",
        "2026-03-14T09:00Z,Alpha,,JN47", "09:00,Bravo,,47.1000N 8.1400E",
        "09:00,Cedar,,47.1300N 8.1200E",
        "09:05,Bravo,signal,bearing 320 true ± 5", "09:06,Cedar,signal,bearing 170 true ± 5",
    ]  # fmt: skip
    two = fix_of_file(tmp_path / "r.csv", "\n".join(lines) + "\n")
    lines.append("09:07,Alpha,signal,bearing 265 true ± 5")
    three = fix_of_file(tmp_path / "r.csv", "\n".join(lines) + "\n")
    assert three.regions[1].area_km2 < 1.5 * two.regions[1].area_km2
    assert min(verdict.p_good for verdict in three.bearings) > 0.5
    assert three.findings[0].startswith("First ask Alpha for a better place: it is known to about")
    assert not any("do not agree" in each for each in three.findings)


def test_two_that_contradict_each_other_are_no_point(tmp_path):
    text = (
        "time_utc,sender,subject,report\n2026-03-14T09:00Z,Alpha,,47.1000N 8.1000E\n"
        "09:00,Bravo,,47.1000N 8.1400E\n09:05,Alpha,signal,bearing 300 true ± 3\n"
        "09:05,Bravo,signal,bearing 60 true ± 3\n"
    )
    answer = fix_of_file(tmp_path / "r.csv", text)
    assert answer.shape == "disc"
    assert "contradict each other" in answer.findings[0]
    assert any("One of the two is wrong (chance over 99 %)" in each for each in answer.findings)
