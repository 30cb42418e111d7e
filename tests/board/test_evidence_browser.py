from dataclasses import replace

import pytest
from board_examples import (
    DAY,
    NOW,
    example_fix,
    example_picture,
    formats_stand_in,
    offset,
    square_at,
)
from board_pages import ink
from evidence_examples import evidence_picture
from geographiclib.geodesic import Geodesic

from plotter.board import build_board, scene
from plotter.fix.result import Fix, Piece, Polygon, Region
from plotter.fix.search_cells import circle
from plotter.formats.reading import in_all_formats
from plotter.formats.result import Reading
from plotter.geodesy.position import Position
from plotter.reports.evidence import fixes, fixes_before

pytestmark = pytest.mark.browser

PLOVER, KESTREL = Position(43.101, 6.1), Position(43.084, 5.989)
HERON, DUNLIN = Position(43.182, 6.061), Position(43.141, 5.95)
MILL, SPRING = Position(43.1, 6.045), Position(43.143, 6.01)
TIMES = ["09:10", "09:20", "09:30", "09:40", "09:50", "10:00", "10:10", "10:20", "10:30"]
# How many pixels of the report canvas within some pixels of a place are not clear.
MARKED = """([lat, lon, reach]) => {
  const canvas = board_map.getPane("sheet").querySelector("canvas");
  const frame = canvas.getBoundingClientRect();
  const home = board_map.getContainer().getBoundingClientRect();
  const at = board_map.latLngToContainerPoint([lat, lon]);
  const x = at.x + home.left - frame.left, y = at.y + home.top - frame.top;
  const data = canvas.getContext("2d")
    .getImageData(x - reach, y - reach, 2 * reach + 1, 2 * reach + 1).data;
  return data.filter((v, i) => i % 4 === 3 && v > 0).length;
}"""
CANVAS = 'board_map.getPane("sheet").querySelector("canvas").toDataURL()'


def marked(page, place, reach):
    return page.evaluate(MARKED, [place.lat_deg, place.lon_deg, reach])


def look_at(page, place, zoom):
    page.evaluate(
        f"board_map.setView([{place.lat_deg}, {place.lon_deg}], {zoom}, {{animate: false}})"
    )


def board_of(picture, found=(), over_time=None):
    return build_board(
        scene(picture, found, date=DAY, all_formats=in_all_formats, over_time=over_time)
    )


@pytest.fixture(scope="module")
def bare_board():
    """Everything that was said, nothing computed."""
    return board_of(evidence_picture())


@pytest.fixture(scope="module")
def moving():
    picture = evidence_picture()
    found, _ = fixes(picture)
    over = fixes_before(picture, found)
    return board_of(picture, found, over), over["Beacon"]


def drawn_texts(page):
    """Every text that the map draws when it is drawn anew."""
    return page.evaluate(
        """() => { const found = [], original = CanvasRenderingContext2D.prototype.fillText;
        CanvasRenderingContext2D.prototype.fillText = function (text) {
          found.push(text);
          return original.apply(this, arguments);
        };
        board_map.fire('moveend');
        CanvasRenderingContext2D.prototype.fillText = original;
        return found; }"""
    )


@pytest.mark.parametrize("bearing_deg", [10.0, 100.0, 190.0, 280.0])
def test_a_distance_is_drawn_where_it_is(opened, bare_board, bearing_deg):
    page = opened(bare_board)
    page.get_by_label("Shown on the map").select_option("none")
    for layer in ("Labels", "Lines of bearing", "Ground ruled out"):
        page.get_by_label(layer).uncheck()
    on = offset(PLOVER, bearing_deg, 3400.0)
    look_at(page, on, 15)
    assert ink(page, on, "bearing", 3) > 5
    # The shading reaches 200 m to both sides, and no farther.
    for distance_m, there in ((3250.0, True), (3550.0, True), (3000.0, False), (3800.0, False)):
        place = offset(PLOVER, bearing_deg, distance_m)
        assert (marked(page, place, 1) > 0) is there, distance_m


def test_a_guessed_distance_is_dashed_and_a_measured_one_is_not(opened, bare_board):
    page = opened(bare_board)
    page.get_by_label("Labels").uncheck()
    page.get_by_label("Lines of bearing").uncheck()

    def drawn_share(place, distance_m, bearings):
        seen = [ink(page, offset(place, b, distance_m), "bearing", 1) > 0 for b in bearings]
        return sum(seen) / len(seen)

    look_at(page, offset(KESTREL, 180.0, 6000.0), 14)
    assert 0.3 < drawn_share(KESTREL, 6000.0, [180 + i / 10 for i in range(-100, 100)]) < 0.9
    look_at(page, offset(PLOVER, 180.0, 3400.0), 14)
    assert drawn_share(PLOVER, 3400.0, [180 + i / 10 for i in range(-100, 100)]) == 1.0


def test_heard_and_not_heard_differ_in_shape(opened, bare_board):
    """Their outlines differ, not their ink: what survives a grey printer."""
    page = opened(bare_board)
    page.locator("#key").scroll_into_view_if_needed()
    page.wait_for_function(
        """[...document.querySelectorAll('#key canvas')].every(c =>
        c.getContext('2d').getImageData(0, 0, c.width, c.height).data.some(v => v > 0))"""
    )
    pictures = page.evaluate(
        """[...document.querySelectorAll("#key li")].map((li) => {
        const c = li.querySelector("canvas");
        const data = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
        return [li.textContent, [...data].filter((v, i) => i % 4 === 3).map(v => v > 60 ? 1 : 0)];
        })"""
    )
    by_words = dict(pictures)
    heard = by_words["Listened there and heard it"]
    not_heard = by_words["Listened there and did not hear it"]
    assert sum(a != b for a, b in zip(heard, not_heard, strict=True)) > 200
    for place, side in ((HERON, 1), (DUNLIN, -1)):
        spot = page.evaluate(
            "([lat, lon, side]) => { const p = board_map.latLngToContainerPoint([lat, lon]);"
            "const q = board_map.containerPointToLatLng([p.x + 17 * side, p.y - 16]);"
            "return [q.lat, q.lng]; }",
            [place.lat_deg, place.lon_deg, side],
        )
        assert ink(page, Position(*spot), "bearing", 7) > 10


def test_ground_is_hatched_by_what_it_is(opened, bare_board):
    page = opened(bare_board)
    page.get_by_label("Shown on the map").select_option("none")
    for layer in ("Labels", "Lines of bearing", "Distances"):
        page.get_by_label(layer).uncheck()

    def density(place):
        look_at(page, place, 15)
        return marked(page, place, 60) / 121**2

    ruled_out = density(offset(SPRING, 200.0, 500.0))
    searched = density(offset(MILL, 200.0, 400.0))
    likely = density(Position(43.12, 6.085))
    assert ruled_out > 2 * searched > 0.02
    assert likely == 0.0
    for place, bearing_deg, radius_m in ((SPRING, 80.0, 1000.0), (MILL, 300.0, 700.0)):
        edge = offset(place, bearing_deg, radius_m)
        look_at(page, edge, 15)
        assert ink(page, edge, "place", 3) > 5
    edge = Position(43.12, 6.09)
    look_at(page, edge, 15)
    assert ink(page, edge, "place", 3) > 5
    page.get_by_label("Ground ruled out").uncheck()
    assert ink(page, edge, "place", 3) == 0


def test_the_list_and_the_map_lead_to_each_other(opened, bare_board):
    page = opened(bare_board)
    page.locator("#reports .row", has_text="ruled out 1 km").click()
    centre = page.evaluate("[board_map.getCenter().lat, board_map.getCenter().lng]")
    assert centre == pytest.approx([SPRING.lat_deg, SPRING.lon_deg], abs=0.001)
    assert "for everything that is looked for" in page.locator("#chosen").inner_text()
    on = offset(PLOVER, 150.0, 3400.0)
    look_at(page, on, 15)
    box = page.locator("#board_map").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_function("document.getElementById('chosen').innerText.includes('3.4 km')")
    assert "Observer at" in page.locator("#chosen").inner_text()


def test_every_kind_has_its_words_in_the_key_and_the_layers(opened, bare_board):
    page = opened(bare_board)
    key, layers = page.locator("#key").inner_text(), page.locator("#layers").inner_text()
    for words in (
        "Distance; shading one standard error",
        "Guessed or doubtful distance",
        "Ground ruled out",
        "Ground searched",
        "Ground more likely",
    ):
        assert words in key
    for words in ("Distances", "Who heard it, who did not", "Ground ruled out, searched or likely"):
        assert words in layers


def test_a_board_without_them_says_nothing_of_them(opened, example_board):
    page = opened(example_board)
    words = page.locator("#panel").inner_text()
    for absent in ("Distances", "Who heard it", "Ground ruled out", "It moves"):
        assert absent not in words
    assert page.locator("#panel input[type=range]").count() == 0


def answer_text(page):
    return page.locator("section", has=page.locator("input[type=range]")).inner_text()


def test_the_slider_shows_each_time(opened, moving):
    board, over = moving
    page = opened(board)
    slider = page.get_by_label("It moves. Shown for")
    assert page.locator("#panel input[type=range]").count() == 1
    assert slider.bounding_box()["height"] >= 44
    assert "the latest time:\n10:30 UTC\n" in answer_text(page)
    first = page.evaluate(CANVAS)
    assert slider.get_attribute("aria-valuetext") == "10:30 UTC, the latest"
    slider.focus()
    height = slider.bounding_box()["y"]
    drawn = {first}
    for step, (key, number) in enumerate([("ArrowLeft", 7), ("ArrowLeft", 6), ("Home", 0)]):
        page.keyboard.press(key)
        time, fix = over[number]
        assert f"an earlier time:\n{TIMES[number]} UTC\n" in answer_text(page)
        assert slider.get_attribute("aria-valuetext") == f"{TIMES[number]} UTC"
        assert slider.bounding_box()["y"] == pytest.approx(height, abs=0.5)
        for words in (*fix.findings, in_all_formats(fix.best)["utm"].split()[-1]):
            assert words in answer_text(page)
        assert f"{time:%H:%M}" == TIMES[number]
        assert ink(page, fix.best, "computed", 16) > 40
        drawn.add(page.evaluate(CANVAS))
        assert len(drawn) == step + 2
    page.keyboard.press("End")
    assert "the latest time:\n10:30 UTC\n" in answer_text(page)
    assert page.evaluate(CANVAS) == first


def test_the_region_on_the_map_is_that_of_the_shown_time(opened, moving):
    """The 50 % region's fill covers the first best point at the first time and not at the last."""
    board, over = moving
    page = opened(board)
    for layer in ("Labels", "Lines of bearing", "Distances",
                  "Ground ruled out", "Latest positions"):  # fmt: skip
        page.get_by_label(layer).uncheck()
    spot = offset(over[0][1].best, 30.0, 120.0)
    look_at(page, spot, 16)

    def filled():
        return marked(page, spot, 2)

    assert filled() < 25
    page.get_by_label("It moves. Shown for").focus()
    page.keyboard.press("Home")
    assert filled() == 25
    # What stands still is drawn the same at every time.
    page.keyboard.press("End")
    assert filled() < 25


def test_the_map_says_the_time_of_the_point(opened, moving):
    board, _ = moving
    page = opened(board)
    texts = drawn_texts(page)
    (beacon,) = [text for text in texts if "Beacon" in text and "best point" in text]
    assert beacon.endswith("best point, 10:30 UTC")
    (whistle,) = [text for text in texts if "Whistle" in text and "best point" in text]
    assert "UTC" not in whistle
    for words in ("ruled out", "searched, 70 %", "likely, 3 times", "not heard, 2 times", "heard"):
        assert any(words in text for text in texts), words


def test_the_hole_of_a_region_is_not_part_of_it(opened):
    middle = Position(43.12, 6.03)
    outer, hole = circle(middle, 3000.0).outer, circle(middle, 1500.0).outer
    piece = Piece(0.95, middle, Polygon(outer, (hole,)), 21.0)
    fix = Fix(
        offset(middle, 90.0, 2200.0), (Region(0.95, 21.0, (piece,)),), (), 0.9, 0.0, 0, 1.0, None,
        "point", ("Said.",),
    )  # fmt: skip
    made = scene(
        evidence_picture([(0, "Desk", "", "note nothing else")]),
        [("Whistle", fix)], date=DAY, all_formats=formats_stand_in,
    )  # fmt: skip
    page = opened(build_board(made))
    page.get_by_label("Shown on the map").select_option("none")
    assert marked(page, offset(middle, 270.0, 2200.0), 15) > 20
    assert marked(page, offset(middle, 270.0, 700.0), 10) == 0
    edge = offset(middle, 270.0, 1500.0)
    assert ink(page, edge, "computed", 3) > 3


def test_every_other_meaning_is_drawn_not_only_the_first(opened):
    picture = example_picture()
    (tent,) = [report for report in picture.positions if report.name == "Red tent"]
    away = offset(Position(43.12, 6.03), 250.0, 3900.0)
    two = replace(tent, others=(*tent.others, Reading("mgrs", square_at(away, 100.0))))
    picture = replace(
        picture, positions=tuple(two if report is tent else report for report in picture.positions)
    )
    made = scene(
        picture, [("Whistle", example_fix())], date=DAY, now_utc=NOW, all_formats=formats_stand_in
    )
    page = opened(build_board(made))
    for other in two.others:
        assert ink(page, other.square.centre, "report", 8) > 10


POLAR = [
    (0, "Kestrel", "", "83.0N 179.0W"),
    (1, "Plover", "", "82.0N 150.0E"),
    (2, "Plover", "Whistle", "distance 1000 km ± 20 km"),
    (3, "Desk", "", "searched 1500 km around 85.0N 170E 40 %"),
]


@pytest.mark.parametrize("lon_deg", [0.5, 60.0, 140.0, 185.0, 260.0, -9.5])
def test_round_a_pole_the_ground_inside_is_hatched_up_to_the_edge_of_the_map(opened, lon_deg):
    page = opened(board_of(evidence_picture(POLAR, Position(84.0, 175.0))))
    page.get_by_label("Shown on the map").select_option("none")
    for layer in ("Labels", "Distances", "Latest positions"):
        page.get_by_label(layer).uncheck()
    sides = set()
    for lat_deg in (84.5, 83.0, 79.0, 75.0, 70.0, 66.0):
        # Independent route: geographiclib.
        away_m = Geodesic.WGS84.Inverse(85.0, 170.0, lat_deg, lon_deg)["s12"]
        if abs(away_m - 1500e3) < 80e3:
            continue
        page.evaluate(f"board_map.setView([{lat_deg}, {lon_deg}], 5, {{animate: false}})")
        inside = page.evaluate(MARKED, [lat_deg, lon_deg, 20]) > 10
        assert inside is (away_m < 1500e3), lat_deg
        sides.add(inside)
    assert sides == {True, False}


@pytest.mark.parametrize(
    ("shape", "called"), [("ring", "a ring, no point"), ("point", "best point")]
)
def test_what_no_point_describes_has_no_mark_to_aim_at(opened, shape, called):
    middle = Position(43.12, 6.03)
    at = offset(middle, 90.0, 2200.0)
    outer, hole = circle(middle, 3000.0).outer, circle(middle, 1500.0).outer
    piece = Piece(0.95, at, Polygon(outer, (hole,)), 21.0)
    fix = Fix(at, (Region(0.95, 21.0, (piece,)),), (), 0.9, 0.0, 0, 1.0, None, shape, ("Said.",))
    made = scene(
        evidence_picture([(0, "Desk", "", "note nothing else")]),
        [("Whistle", fix)], date=DAY, all_formats=formats_stand_in,
    )  # fmt: skip
    page = opened(build_board(made))
    page.get_by_label("Shown on the map").select_option("none")
    texts = drawn_texts(page)
    assert any(called in text for text in texts), texts
    # The mark is a cross in rings some 14 pixels wide, in the ink of what is computed.
    assert (ink(page, at, "computed", 12) > 40) == (shape == "point")
