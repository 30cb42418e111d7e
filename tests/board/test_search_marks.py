"""A search plan as what the board shows: words, weights, and longitudes that run on."""

import datetime as dt

import pytest

from plotter.board.search_data import search_data
from plotter.board.search_marks import Means, search_view
from plotter.errors import FormatError
from plotter.fix.result import Polygon
from plotter.fix.search_sectors import Search, Searched, SearchSector
from plotter.geodesy.position import Position
from plotter.tiles.grid import Box


def sector(name, probability, area_km2, west):
    ring = tuple(
        Position(lat, (lon + 180.0) % 360.0 - 180.0)
        for lat, lon in ((10.0, west), (10.0, west + 0.02), (10.02, west + 0.02), (10.02, west))
    )
    return SearchSector(name, (Polygon(ring),), probability, area_km2, ring[0])


NOW = Searched(
    (sector("A2", 0.6, 2.0, 179.99), sector("A1", 0.3, 2.0, 180.03)), 0.1, 0.25, (0.5,), (0.3,)
)


CRANE = Position(10.0, -179.9)


def view(means=None, stations=(("Crane", CRANE),)):
    return search_view(
        "signal",
        NOW,
        [Search(NOW.sectors[1], 0.6, "A1")],
        stations,
        equal="area",
        bearings=3,
        last_bearing_utc=dt.datetime(2026, 3, 14, 9, 5, tzinfo=dt.UTC),
        day=dt.date(2026, 3, 14),
        means=means,
    )


def test_words_say_what_to_do_first_and_who_decides():
    found = view()
    assert found.words[0].startswith("Search A2 first")
    text = " ".join(found.words)
    assert "A1 searched with 60 %, nothing found: 50 % there before any search, 30 % now." in text
    assert "would have found it: 25 %" in text
    assert "In no sector: 10 %." in text
    assert "2 sectors of equal area, cut from 3 bearings, the last at 09:05 UTC." in text
    assert "authority in charge decides" in found.cautions[0]
    assert [mark.weight for mark in found.sectors] == [1.0, pytest.approx(0.5)]


def test_two_sectors_by_hand():
    """Densities 2 : 1, as in the two cells by hand, with 2 km² for the unit of ground: effort of 2
    km² goes 0.847 and 0.153 parts."""
    means = Means(hours=2.0, teams=5.0, speed_kmh=4.0, sweep_width_m=50.0)
    hours = [mark.effort.team_hours for mark in view(means).sectors]
    assert hours == pytest.approx([8.466, 1.534], abs=1e-3)


def test_means_that_find_nothing_are_refused():
    with pytest.raises(FormatError, match="must be above 0"):
        Means(2.0, 5.0, 4.0, 0.0)


def test_longitudes_run_on_past_180():
    data = search_data(view(), Box(9.9, 179.8, 10.1, 180.2))
    for each in data["sectors"]:
        assert 179_900_000 < each["middle"][1] < 180_200_000
        for ring in each["rings"]:
            assert 179_900_000 < ring[1] < 180_200_000
            assert all(abs(step) < 100_000 for step in ring[3::2])
    (way, name) = data["sectors"][0]["way"]
    assert name == "Crane"
    # 0.11° of longitude at 10° north, where a degree is 109.6 km.
    assert way.startswith("12.1 km on 270° true (")


def test_without_a_station_there_is_no_way():
    assert [mark.near for mark in view(stations=()).sectors] == [None, None]
