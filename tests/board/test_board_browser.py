from dataclasses import replace

import pytest
from archive_examples import ground_archive, png
from board_examples import (
    DAY,
    NOW,
    STATIONS,
    TARGET,
    example_fix,
    example_picture,
    formats_stand_in,
    said,
)
from board_pages import ink, until_painted
from browser_support import open_page

from plotter.board import build_board, scene
from plotter.reports.report import NoteReport
from plotter.tiles import open_archive

pytestmark = pytest.mark.browser

# The colour of the land sheet at a place, as one of its two names.
BASE_AT = """([lat, lon]) => {
  const canvas = board_map.getPane("land").querySelector("canvas");
  const frame = canvas.getBoundingClientRect();
  const home = board_map.getContainer().getBoundingClientRect();
  const at = board_map.latLngToContainerPoint([lat, lon]);
  const pixel = canvas.getContext("2d").getImageData(
    (at.x + home.left - frame.left) * canvas.width / frame.width,
    (at.y + home.top - frame.top) * canvas.height / frame.height, 1, 1).data;
  const style = getComputedStyle(document.documentElement);
  return ["land", "water"].filter((name) => {
    const hex = style.getPropertyValue("--" + name).trim();
    return [1, 3, 5].every((i, k) => parseInt(hex.slice(i, i + 2), 16) === pixel[k]);
  })[0] || "neither";
}"""


def test_the_board_opens_from_a_file_and_asks_for_nothing(opened, example_board):
    page = opened(example_board)
    assert page.title() == "Missing party above Fox Spring"
    assert page.evaluate("performance.getEntriesByType('resource').length") == 0
    page.mouse.wheel(0, -400)
    page.wait_for_timeout(400)


def test_what_is_planted_in_the_file_is_refused_by_the_browser(chromium, tmp_path, example_board):
    planted = (
        '<img id="image" src="https://example.org/a.png">'
        '<link rel="stylesheet" href="https://example.org/a.css">'
        "<script>window.planted = true</script>"
        '<script src="https://example.org/a.js"></script></body>'
    )
    path = tmp_path / "planted.html"
    path.write_text(example_board.html.replace("</body>", planted, 1), encoding="utf-8")
    with open_page(chromium, path) as (page, seen):
        until_painted(page)
        assert page.evaluate("window.planted") is None
        assert page.evaluate("document.getElementById('image').naturalWidth") == 0
        refused = [words for words in seen.complaints if "Content Security Policy" in words]
        assert len(refused) >= 4


def test_everything_is_drawn_where_it_is(opened, example_board, example_scene):
    page = opened(example_board)
    assert ink(page, TARGET, "computed", 16) > 40
    for name in ("Plover", "Dunlin", "Kestrel"):
        mark = next(m for m in example_scene.marks if m.name == name)
        lat = sum(c[0] for c in mark.square) / 4
        lon = sum(c[1] for c in mark.square) / 4
        place = replace(STATIONS[name], lat_deg=lat, lon_deg=lon)
        assert ink(page, place, "report", 3) > 5, name
        assert ink(page, place, "place", 16) > 20, name
    walkers = next(m for m in example_scene.marks if m.name == "Two walkers")
    for (lat1, lon1), (lat2, lon2) in zip(
        walkers.square, walkers.square[1:] + walkers.square[:1], strict=True
    ):
        side = replace(TARGET, lat_deg=(3 * lat1 + lat2) / 4, lon_deg=(3 * lon1 + lon2) / 4)
        assert ink(page, side, "report", 3) > 0
    heron = next(m for m in example_scene.bearings if m.label.startswith("Heron"))
    lat, lon = heron.line[5]
    assert ink(page, replace(TARGET, lat_deg=lat, lon_deg=lon), "bearing", 3) > 2


@pytest.mark.parametrize("zoom", [2, 4, 6, 8])
def test_the_land_is_land_and_the_sea_is_sea_at_every_zoom(opened, example_board, zoom):
    page = opened(example_board)
    # Common geography, from memory: the continent north of this coast, the sea south of it, and
    # further off the Sahara and the Atlantic.
    near = [(44.5, 5.0, "land"), (42.3, 5.5, "water"), (44.5, 7.0, "land"), (42.5, 8.0, "water")]
    far = [(23.0, 10.0, "land"), (45.0, -35.0, "water"), (25.0, 24.0, "land")]
    for lat, lon, wanted in far if zoom < 6 else near:
        page.evaluate(f"board_map.setView([{lat}, {lon}], {zoom}, {{animate: false}})")
        assert page.evaluate(BASE_AT, [lat, lon]) == wanted, (lat, lon)


def test_layers_switch_off_and_on(opened, example_board, example_scene):
    page = opened(example_board)
    heron = next(m for m in example_scene.bearings if m.label.startswith("Heron"))
    place = replace(TARGET, lat_deg=heron.line[5][0], lon_deg=heron.line[5][1])
    before = ink(page, place, "bearing", 3)
    switch = page.get_by_label("Lines of bearing")
    switch.uncheck()
    assert ink(page, place, "bearing", 3) == 0
    switch.check()
    assert ink(page, place, "bearing", 3) == before > 0


def test_a_report_in_the_list_centres_the_map_and_the_map_answers_back(opened, example_board):
    page = opened(example_board)
    page.locator("#reports .row", has_text="Plover in position").click()
    centre = page.evaluate("[board_map.getCenter().lat, board_map.getCenter().lng]")
    assert centre[0] == pytest.approx(STATIONS["Plover"].lat_deg, abs=0.003)
    assert centre[1] == pytest.approx(STATIONS["Plover"].lon_deg, abs=0.003)
    assert "Plover in position" in page.locator("#chosen").inner_text()
    spot = page.evaluate(
        """([lat, lon]) => { const p = board_map.latLngToContainerPoint([lat, lon]);
        const b = board_map.getContainer().getBoundingClientRect();
        return [p.x + b.left, p.y + b.top]; }""",
        [STATIONS["Base Ivy"].lat_deg, STATIONS["Base Ivy"].lon_deg],
    )
    page.mouse.click(*spot)
    page.wait_for_function("document.getElementById('chosen').innerText.includes('Base Ivy')")
    assert "Line 8" in page.locator("#chosen").inner_text()


def test_the_panel_says_it_in_the_order_of_need(opened, example_board):
    page = opened(example_board)
    heads = page.locator("#panel section:not([hidden]) h2").all_inner_texts()
    assert heads == [
        "Whistle",
        "Questions to ask",
        "Lines not read: 2",
        "Reports, newest first: 22",
        "Grid",
        "Layers",
        "What the shapes mean",
        "Cautions",
    ]
    answer = page.locator("#answer-0").inner_text()
    for words in (*example_fix().findings, "MGRS", "Maidenhead", "true", "magnetic"):
        assert words in answer
    unread = page.locator("#unread").inner_text()
    assert "Line 41 not read" in unread
    assert "no grid reference could be read: ask for it again" in unread


def test_entries_of_a_log_of_several_desks_are_named(opened):
    """A number alone would mean another report on each desk."""
    picture = example_picture()
    named = tuple(
        replace(report, said=replace(report.said, name=f"Bay-{report.said.line}"))
        for report in picture.unread
    )
    notes = (NoteReport(replace(said(7, 1, "Desk", "all well"), name="7")),)
    picture = replace(picture, unread=named, notes=notes)
    page = opened(build_board(scene(picture, date=DAY, now_utc=NOW, all_formats=formats_stand_in)))
    unread = page.locator("#unread").inner_text()
    assert "Entries not read: 2" in unread
    assert "Entry Bay-41 not read" in unread
    page.locator("#reports .row", has_text="all well").click()
    assert "Entry 7" in page.locator("#chosen").inner_text()


def test_a_reference_is_copied_without_its_gaps(opened, example_board, example_scene):
    page = opened(example_board)
    wanted = {f.label: f.text for f in example_scene.answers[0].formats}
    button = page.get_by_label("Copy MGRS")
    button.click()
    assert page.evaluate("getSelection().toString()") == wanted["MGRS"]
    gaps = page.evaluate(
        "[...document.querySelectorAll('dd:nth-of-type(3) .group')].map(g => "
        "g.getBoundingClientRect()).map((r, i, all) => i ? r.left - all[i - 1].right : 9)"
    )
    assert len(gaps) > 3
    assert min(gaps) > 2


def test_hostile_words_are_shown_and_do_nothing(opened):
    words = '<img src=x onerror="window.bad=1"> <script>window.bad=1</script> \u202e54321\x00 &lt;'
    long = "far " * 500
    picture = replace(
        example_picture(),
        title=words,
        notes=(NoteReport(said(98, 0, words, words)), NoteReport(said(99, 0, "Wren", long))),
    )
    fix = replace(example_fix(), findings=(words,))
    page = opened(
        build_board(
            scene(picture, [(words, fix)], date=DAY, now_utc=NOW, all_formats=formats_stand_in)
        )
    )
    shown = words.replace("\u202e", "[U+202E]").replace("\x00", "[U+0000]")
    assert page.locator("#strip h1").text_content() == shown
    assert page.locator(".headline").text_content() == shown
    rows = page.locator("#reports .row")
    rows.nth(1).click()
    assert page.locator("#chosen blockquote").text_content() == shown
    assert page.evaluate("window.bad") is None
    assert page.locator("img").count() == 0
    rows.nth(0).click()
    quote = page.locator("#chosen blockquote")
    assert len(quote.text_content()) < 400
    quote.get_by_role("button").click()
    assert quote.text_content().strip() == long.strip()


def test_everything_can_be_reached_by_keyboard_and_shows_it(opened, example_board):
    page = opened(example_board)
    wanted = page.evaluate(
        "[...document.querySelectorAll('button, input, a')].filter(n => n.offsetParent).length"
    )
    reached = set()
    for _ in range(wanted + 5):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate(
                "(() => { const n = document.activeElement; if (n === document.body) { return ''; }"
                "const s = getComputedStyle(n), all = [...document.querySelectorAll('*')];"
                "const seen = s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;"
                "return all.indexOf(n) + ' ' + seen; })()"
            )
        )
    reached.discard("")
    assert len(reached) >= wanted
    assert all(entry.endswith("true") for entry in reached), reached


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (800, 1280), (1024, 600), (390, 780)])
def test_targets_are_large_and_nothing_is_cut(opened, example_board, width, height):
    page = opened(example_board, width=width, height=height)
    if page.locator(".handle").is_visible():
        closed = page.locator("#panel").bounding_box()["height"]
        assert closed < 80
        page.locator(".handle").click()
        assert page.locator("#panel").bounding_box()["height"] == pytest.approx(height / 2, abs=2)
    small = page.evaluate(
        """[...document.querySelectorAll(
        'button, input[type=search], label.switch, .leaflet-bar a')]
        .filter(n => n.offsetParent).map(n => [n.textContent, n.getBoundingClientRect()])
        .filter(([t, r]) => r.height < 43.9 || r.width < 43.9).map(([t]) => t)"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    wide = page.evaluate(
        """[...document.querySelectorAll('#panel *, #strip *')].filter(n => n.offsetParent
        && n.scrollWidth > n.clientWidth + 1 && getComputedStyle(n).display !== 'inline')
        .map(n => n.className + n.textContent.slice(0, 40))"""
    )
    assert wide == []
    caution = page.locator("#caution").bounding_box()
    assert caution["y"] + caution["height"] <= height
    map_box = page.locator("#board_map").bounding_box()
    assert map_box["height"] > 150


def test_night_is_dark_and_can_be_left_again(opened, example_board):
    page = opened(example_board)
    night = page.get_by_role("button", name="Night")

    def light():
        return page.evaluate(
            "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number)"
        )

    day = light()
    night.click()
    tiles = page.evaluate("getComputedStyle(board_map.getPane('tilePane')).filter")
    assert tiles.startswith("invert")
    assert night.get_attribute("aria-pressed") == "true"
    assert max(light()) < 60
    night.click()
    assert light() == day


def test_the_key_is_drawn_when_it_is_looked_at(opened, example_board):
    page = opened(example_board)
    page.locator("#key").scroll_into_view_if_needed()
    page.wait_for_function(
        """[...document.querySelectorAll('#key canvas')].every(c =>
        c.getContext('2d').getImageData(0, 0, c.width, c.height).data.some(v => v > 0))"""
    )
    assert page.locator("#key li").count() == 11


def test_map_tiles_are_drawn_and_a_coarser_one_stands_in(opened, tmp_path, example_scene):
    path = ground_archive(tmp_path / "ground.mbtiles", [9], image=lambda _: png((10, 200, 30)))
    page = opened(build_board(example_scene, archives=[open_archive(path)]))
    page.wait_for_selector(".leaflet-tile-loaded")
    colours = page.evaluate(
        """[...document.querySelectorAll('.leaflet-tile-loaded')].map(c =>
        [...c.getContext('2d').getImageData(128, 128, 1, 1).data].join())"""
    )
    assert "10,200,30,255" in colours
    assert page.evaluate("board_map.getZoom()") > 10


def test_labels_never_lie_on_each_other(opened, example_board):
    page = opened(example_board)
    # The canvas tells where it wrote: record every text it is given on the next drawing.
    boxes = page.evaluate(
        """() => {
        const found = [], original = CanvasRenderingContext2D.prototype.fillText;
        CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
          const wide = this.measureText(text).width;
          const high = parseFloat(this.font.match(/(\\d+)px/)[1]);
          found.push([x, y - high / 2, x + wide, y + high / 2, text]);
          return original.apply(this, arguments);
        };
        board_map.fire('moveend');
        CanvasRenderingContext2D.prototype.fillText = original;
        return found; }"""
    )
    assert len(boxes) > 25
    texts = " ".join(box[4] for box in boxes)
    for name in (*STATIONS, "Two walkers", "Red tent", "Fox Spring", "best point"):
        assert name in texts
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            apart = a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
            assert apart, (a[4], b[4])


def test_beyond_its_finest_level_the_board_says_so(opened, tmp_path):
    shown = scene(example_picture(), (), date=DAY, now_utc=NOW)
    archive = open_archive(ground_archive(tmp_path / "ground.mbtiles", range(9, 13)))
    page = opened(build_board(shown, archives=(archive,)))
    note = page.get_by_text("Beyond the map's detail")
    for zoom, seen in ((11, False), (12, False), (13, True), (16, True), (10, False)):
        page.evaluate(f"board_map.setZoom({zoom}, {{animate: false}})")
        assert note.is_visible() == seen
