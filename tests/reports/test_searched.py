"""What was searched, as said; who stands where."""

import datetime as dt

import numpy as np
import pytest
from fix_families import FAMILIES, fixed_truth

from plotter.errors import FormatError
from plotter.fix.posterior import posterior
from plotter.fix.result import Polygon
from plotter.fix.search_sectors import search_plan
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.reports.searched import search_said
from plotter.reports.stations import stations_of

LINES = (
    ("Desk", "", "area 40 km around 47.0N 8.0E"),
    ("Desk", "the old mill", "place 47.01N 8.02E"),
    ("Crane", "", "47.05N 8.00E"),
    ("Crane", "", "47.06N 8.01E"),
    ("Crane", "", "48.90N 8.01E"),
    ("Desk", "two walkers", "47.02N 8.03E"),
    ("Egret", "signal", "bearing 200 true from the old mill"),
)


@pytest.fixture(scope="module")
def picture():
    start = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
    said = [
        Said(line, start + dt.timedelta(minutes=10 * line), *words)
        for line, words in enumerate(LINES, start=1)
    ]
    return replay(said, title="", area=None, date=None)


@pytest.fixture(scope="module")
def plan():
    family = FAMILIES[0]
    return search_plan(posterior(fixed_truth(family, np.random.default_rng(1)), family.support), 4)


@pytest.mark.parametrize(
    "text", ["A2 70%", "a2: 70 %", "sector A2, 70 percent", " A2 70.0 per cent "]
)
def test_a_sector_and_its_chance(text, plan, picture):
    search, questions = search_said(text, plan, picture)
    assert (search.ground, search.p_detection) == (plan.sectors[1], pytest.approx(0.7))
    assert questions == ()


@pytest.mark.parametrize(
    ("text", "place", "radius_m"),
    [
        ("500 m around the old mill 60%", Position(47.01, 8.02), 500.0),
        ("0.5 km about Old Mill, 60 %", Position(47.01, 8.02), 500.0),
        ("1 nm around Crane 60%", Position(47.06, 8.01), 1852.0),
        ("300 m around 46.99N 7.98E 60%", Position(46.99, 7.98), 300.0),
    ],
)
def test_ground_around_a_place(text, place, radius_m, plan, picture):
    search, _ = search_said(text, plan, picture)
    assert isinstance(search.ground, Polygon)
    for corner in search.ground.outer[::12]:
        assert geodesic(place, corner).distance_m == pytest.approx(radius_m, rel=1e-3)
    assert text.startswith(search.name)


def test_a_sender_last_seen_out_of_place_is_asked_about(plan, picture):
    _, questions = search_said("1 nm around Crane 60%", plan, picture)
    assert any("Crane" in question for question in questions)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "say it like"),
        ("70%", "say it like"),
        ("A2", "say it like"),
        ("A2 120%", "no search is certain"),
        ("B7 20%", "the sectors are A1, A2, A3, A4"),
        ("500 m around the lighthouse 20%", "no place called 'the lighthouse'"),
    ],
)
def test_what_cannot_be_read(text, message, plan, picture):
    with pytest.raises(FormatError, match=message):
        search_said(text, plan, picture)


def test_stations_stand_at_their_last_sound_place_and_observers_follow(picture):
    found = dict(stations_of(picture))
    assert found["Crane"].lat_deg == pytest.approx(47.06, abs=1e-3)
    assert found["Egret"].lat_deg == pytest.approx(47.01, abs=1e-3)
    assert "two walkers" not in found
    assert "the old mill" not in found
