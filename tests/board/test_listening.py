import dataclasses

import pytest
from board_examples import (
    DAY,
    NOW,
    STATIONS,
    TARGET,
    example_fix,
    example_picture,
    formats_stand_in,
    offset,
)
from board_pages import COUNT_INK, until_painted
from browser_support import open_page
from geographiclib.geodesic import Geodesic
from mgrs import MGRS

from plotter.board import build_board, scene
from plotter.board.listening import listening_of, outcome_words, reference_of
from plotter.fix.next_place import Advice, NextPlace
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Position

HUT, GROUND = offset(TARGET, 135, 3300), offset(TARGET, 200, 2100)
HOSTILE = "Hut <img src=x onerror=alert(1)> \u202e"


def advice(reason=""):
    return Advice(
        3.4,
        (NextPlace(HUT, HOSTILE, 2.4, 1.0, 0.81, 0.5), NextPlace(GROUND, "", 2.1, 0.7, 0.94, 0.9)),
        reason,
    )


def listening(reason=""):
    origins = list(STATIONS.items())
    return listening_of("Whistle", advice(reason), origins, weighed="12 places", day=DAY)


@pytest.fixture(scope="module")
def shown():
    return scene(
        example_picture(),
        [("Whistle", example_fix())],
        date=DAY,
        now_utc=NOW,
        all_formats=formats_stand_in,
        listening=listening(),
    )


def test_the_way_is_that_of_the_nearest_station_by_another_hand():
    for each in listening().places:
        ways = {
            name: Geodesic.WGS84.Inverse(
                start.lat_deg, start.lon_deg, each.position.lat_deg, each.position.lon_deg
            )
            for name, start in STATIONS.items()
        }
        nearest = min(ways, key=lambda name: ways[name]["s12"])
        assert each.sight.name == nearest
        assert each.sight.distance_m == pytest.approx(ways[nearest]["s12"], abs=0.01)
        true = each.sight.bearing_true_deg
        assert true == pytest.approx(ways[nearest]["azi1"] % 360, abs=1e-6)
        turned = true - declination_deg(STATIONS[nearest], DAY)
        assert each.sight.bearing_magnetic_deg == pytest.approx(turned % 360, abs=1e-9)


def test_the_reference_is_the_square_of_ten_metres_by_another_package():
    for place in (HUT, GROUND):
        expected = MGRS().toMGRS(place.lat_deg, place.lon_deg, MGRSPrecision=4)
        assert reference_of(place).text == expected
        assert "".join(reference_of(place).groups) == expected


def test_words_say_area_and_hearing_and_the_reason_comes_first():
    first, second = listening().places
    assert first.outcome == (
        "95 % region from 3.4 km² to about 81 ha on average, every second time under 50 ha"
    )
    assert second.outcome.endswith("; heard there with 70 %")
    assert "heard" not in outcome_words(advice().places[0], 3.4)
    assert [each.rank for each in (first, second)] == [1, 2]
    hopeless = listening("too far away")
    assert hopeless.findings[0] == "One more bearing would help little: too far away."
    assert "12 places" in listening().findings[0]


def test_a_place_is_never_reached_from_itself():
    only = listening_of("Whistle", advice(), [(HOSTILE, HUT)], weighed="", day=DAY)
    assert only.places[0].sight is None
    assert only.places[1].sight.name == HOSTILE


def test_the_first_view_holds_every_place(shown):
    far = Advice(3.4, (NextPlace(offset(TARGET, 90, 60e3), "", 1.0, 1.0, 1.0, 1.0),), "")
    wide = scene(
        example_picture(), [("Whistle", example_fix())], date=DAY, now_utc=NOW,
        all_formats=formats_stand_in,
        listening=listening_of("Whistle", far, [], weighed="", day=DAY),
    )  # fmt: skip
    assert wide.view.east_deg >= far.places[0].position.lon_deg
    for place in (HUT, GROUND):
        assert shown.view.south_deg <= place.lat_deg <= shown.view.north_deg
        assert shown.view.west_deg <= place.lon_deg <= shown.view.east_deg


def test_without_advice_the_board_speaks_of_none(example_scene):
    assert example_scene.listening is None
    assert '"listening":null' in build_board(example_scene).html


@pytest.mark.browser
def test_the_board_draws_ranks_and_lists_them(chromium, tmp_path, shown):
    path = tmp_path / "board.html"
    path.write_text(build_board(shown).html, encoding="utf-8")
    with open_page(chromium, path) as (page, seen):
        until_painted(page)
        rows = page.locator("#listening .proposals li")
        assert rows.count() == 2
        first = rows.nth(0).inner_text()
        assert "Hut <img src=x onerror=alert(1)> [U+202E]" in first
        assert "95 % region from 3.4 km² to about 81 ha" in first
        assert "° magnetic) from " in first
        assert "Place without a name" in rows.nth(1).inner_text()
        assert "authority on site" in page.locator("#listening").inner_text()
        assert page.locator("#listening img").count() == 0
        titles = page.locator("#panel section > h2").all_inner_texts()
        assert titles.index("Where to listen next") == titles.index("Whistle") + 1
        copies = page.locator("#listening .reference").all_inner_texts()
        assert "".join(copies[0].split()) == reference_of(HUT).text
        for place in (HUT, GROUND):
            assert drawn(page, place) > 60
        page.get_by_label("Places to listen from").uncheck()
        for place in (HUT, GROUND):
            assert drawn(page, place) < 10
        page.get_by_label("Places to listen from").check()
        rows.nth(1).get_by_role("button", name="Show on the map").click()
        page.wait_for_function(
            "([lat, lon]) => board_map.getCenter().distanceTo([lat, lon]) < 20",
            arg=[GROUND.lat_deg, GROUND.lon_deg],
        )
        assert page.locator("#key").inner_text().count("Place to listen from next") == 1
        for button in page.locator("#listening button").all():
            assert button.bounding_box()["height"] >= 44
        assert seen.requests == [path.as_uri()]
        assert [c for c in seen.complaints if not c.startswith("Canvas2D: Multiple")] == []


def drawn(page, place):
    return page.evaluate(COUNT_INK, [place.lat_deg, place.lon_deg, 20, "computed"])


@pytest.mark.browser
def test_without_advice_there_is_no_section_and_no_key(chromium, tmp_path, example_board):
    path = tmp_path / "board.html"
    path.write_text(example_board.html, encoding="utf-8")
    with open_page(chromium, path) as (page, _):
        until_painted(page)
        assert page.locator("#listening").count() == 0
        assert "listen" not in page.locator("#panel").inner_text().lower()


@pytest.mark.browser
def test_across_180_degrees_the_markers_stand_beside_the_rest(chromium, tmp_path):
    place = Position(-17.0, -179.95)
    east = listening_of(
        "Boat", Advice(9.0, (NextPlace(place, "Reef", 2.0, 1.0, 3.0, 2.0),), ""),
        [("Base", Position(-17.0, 179.9))], weighed="1 place", day=DAY,
    )  # fmt: skip
    assert east.places[0].sight.bearing_true_deg == pytest.approx(90.0, abs=0.1)
    picture = example_picture()
    moved = scene(
        type(picture)(""), [("Boat", _at(Position(-17.0, 179.95)))], date=DAY, now_utc=NOW,
        all_formats=formats_stand_in, listening=east,
    )  # fmt: skip
    path = tmp_path / "board.html"
    path.write_text(build_board(moved).html, encoding="utf-8")
    with open_page(chromium, path) as (page, _):
        until_painted(page)
        found = page.evaluate(COUNT_INK, [place.lat_deg, 180.05, 20, "computed"])
        assert found > 60


def _at(best):
    return dataclasses.replace(example_fix(), best=best, regions=())
