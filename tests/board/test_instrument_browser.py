"""The board's instruments: readout, finding, measuring, drawing; by mouse, by keyboard alone."""

import json
import re
import xml.etree.ElementTree as ET
from importlib.resources import files

import numpy as np
import pytest
from board_examples import DAY, STATIONS, TARGET
from board_pages import COUNT_INK, until_painted
from browser_support import open_page
from shapely.geometry import shape

from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs import format_mgrs
from plotter.formats.utm import format_utm
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Position

pytestmark = pytest.mark.browser
INK = COUNT_INK.replace('"sheet"', '"tools"')
SIZES = [(1280, 800), (800, 1280), (390, 844)]


def ink(page, lat, lon, name="computed", reach=4):
    return page.evaluate(INK, [lat, lon, reach, name])


def frame(page):
    return page.locator("#board_map").bounding_box()


def spot(page, across, down):
    """Where on the page a part of the map is, and the place that is there."""
    box = frame(page)
    x, y = round(box["x"] + across * box["width"]), round(box["y"] + down * box["height"])
    place = page.evaluate(
        "p => { const c = board_map.containerPointToLatLng(p); return [c.lat, c.lng]; }",
        [x - box["x"], y - box["y"]],
    )
    return (x, y), place


def settle(page):
    page.evaluate("() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")


def cells(page):
    settle(page)
    return {
        name: page.locator(f"#readout .{name}").text_content()
        for name in ("which", "latlon", "mgrs", "utm", "locator", "way")
    }


def tool(page, name):
    if page.locator("#tools").is_hidden():
        page.get_by_role("button", name="Tools", exact=True).click()
    choice = page.locator("#tools").get_by_role("button", name=name, exact=True)
    if choice.get_attribute("aria-expanded") == "false":
        choice.click()


def view(page, lat, lon, zoom):
    page.evaluate(f"board_map.setView([{lat}, {lon}], {zoom}, {{animate: false}})")
    settle(page)


def way(words):
    """Metres, and the bearings true, magnetic and grid, of a text of the board."""
    number, unit = re.match(r"([\d.]+) (k?m)\b", words).groups()
    bearings = [float(each) for each in re.findall(r"([\d.]+)°", words)]
    assert re.findall(r"° (\w+)", words) == ["true", "magnetic", "grid"][: len(bearings)]
    return float(number) * (1000.0 if unit == "km" else 1.0), bearings


def true_way(a, b):
    """By PROJ, the core's magnetic model and its convergence, at the first place."""
    metres, bearing, _ = inverse_arrays([a[0]], [a[1]], [b[0]], [b[1]])
    here = Position(a[0], (a[1] + 180) % 360 - 180)
    true = float(bearing[0]) % 360
    norths = (true, true - declination_deg(here, DAY), true - convergence_deg(here))
    return float(metres[0]), [each % 360 for each in norths]


def assert_way(words, a, b, unit_m, degrees=0.51):
    metres, bearings = way(words)
    true_m, true_bearings = true_way(a, b)
    assert abs(metres - true_m) <= 0.51 * unit_m
    assert len(bearings) == 3
    assert (
        max(abs((x - y + 180) % 360 - 180) for x, y in zip(bearings, true_bearings, strict=True))
        < degrees
    )


@pytest.mark.parametrize("zoom", [3, 7, 10, 13, 16, 19])
def test_the_readout_is_the_place_under_the_pointer_as_finely_as_a_pixel(
    opened, example_board, zoom
):
    page = opened(example_board)
    view(page, TARGET.lat_deg, TARGET.lon_deg, zoom)
    at, (lat, lon) = spot(page, 0.55, 0.45)
    page.mouse.move(*at)
    told = cells(page)
    assert told["which"] == "Pointer"
    # Web Mercator: the equator is 256 pixels at zoom 0.
    pixel = 2 * np.pi * 6378137 / 256 * np.cos(np.radians(lat)) / 2**zoom
    decimals = len(re.match(r"\d+\.?(\d*)° N", told["latlon"])[1])
    assert 1 / 3.5 < 111_320 * 10.0**-decimals / pixel < 3.5 or decimals == 7
    assert told["latlon"] == f"{lat:.{decimals}f}° N, {lon:.{decimals}f}° E"
    figures = len(re.search(r"(?:[A-Z]{2})(.*)$", told["mgrs"])[1].replace(" ", "")) // 2
    assert 1 / 3.5 < 10.0 ** (5 - figures) / pixel < 3.5 or figures in (0, 5)
    place = Position(lat, lon)
    assert told["mgrs"].replace(" ", "") == format_mgrs(place, figures)
    assert told["utm"] == format_utm(place, max(10.0 ** (5 - decimals), 1.0))
    assert told["locator"] == format_maidenhead(place, len(told["locator"]))


def test_figures_change_and_nothing_moves(opened, example_board):
    page = opened(example_board)
    where = """[...document.querySelectorAll('#readout *, #board_map')]
        .map(n => [n.offsetLeft, n.offsetTop])"""
    page.mouse.move(*spot(page, 0.5, 0.5)[0])
    settle(page)
    before, texts = page.evaluate(where), set()
    for across, down in [(0.1, 0.1), (0.9, 0.9), (0.3, 0.8), (0.7, 0.2)]:
        page.mouse.move(*spot(page, across, down)[0])
        texts.add(cells(page)["mgrs"])
        assert page.evaluate(where) == before
    assert len(texts) == 4
    assert "tabular-nums" in page.evaluate("getComputedStyle(readout).fontVariantNumeric")


def test_by_keyboard_the_middle_counts(opened, example_board):
    page = opened(example_board)
    page.mouse.move(*spot(page, 0.2, 0.2)[0])
    assert cells(page)["which"] == "Pointer"
    page.locator("#board_map").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(500)
    told = cells(page)
    middle = page.evaluate("[board_map.getCenter().lat, board_map.getCenter().lng]")
    assert told["which"] == "Middle"
    assert told["mgrs"].replace(" ", "") == format_mgrs(Position(*middle), 4)
    assert ink(page, *middle, reach=10) > 10


def test_a_right_click_holds_a_place_and_escape_lets_it_go(opened, example_board):
    page = opened(example_board)
    at, place = spot(page, 0.4, 0.3)
    page.mouse.click(*at, button="right")
    held = cells(page)
    assert held["which"] == "Held"
    assert ink(page, *place, reach=12) > 20
    page.mouse.move(*spot(page, 0.7, 0.7)[0])
    assert cells(page) == held
    page.mouse.wheel(0, -300)  # no zoom makes it finer than it was pointed at
    page.wait_for_timeout(400)
    assert cells(page)["mgrs"] == held["mgrs"]
    page.locator("#board_map").focus()
    page.keyboard.press("Escape")
    assert cells(page)["which"] != "Held"


def test_a_finger_that_rests_holds_the_place_under_it(chromium, tmp_path, example_board):
    path = tmp_path / "board.html"
    path.write_bytes(example_board.html.encode())
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, offline=True
    )
    page = context.new_page()
    page.goto(path.as_uri())
    until_painted(page)
    (x, y), place = spot(page, 0.4, 0.4)
    touch = context.new_cdp_session(page)

    def finger(kind, *points):
        touch.send(
            "Input.dispatchTouchEvent",
            {"type": kind, "touchPoints": [{"x": a, "y": b} for a, b in points]},
        )

    finger("touchStart", (x, y))
    page.wait_for_timeout(900)
    finger("touchEnd")
    told = cells(page)
    assert told["which"] == "Held"
    figures = len(told["mgrs"].split()[-1])
    assert told["mgrs"].replace(" ", "") == format_mgrs(Position(*place), figures)
    assert page.locator("#chosen").is_hidden()
    page.touchscreen.tap(*spot(page, 0.9, 0.1)[0])
    page.wait_for_timeout(400)
    assert cells(page)["which"] == "Middle"
    finger("touchStart", (x, y))  # a finger that moves drags the map
    finger("touchMove", (x + 40, y + 40))
    page.wait_for_timeout(900)
    finger("touchEnd")
    assert cells(page)["which"] == "Middle"
    tool(page, "Measure")
    for part in ((0.5, 0.3), (0.7, 0.7), (0.8, 0.2)):
        page.touchscreen.tap(*spot(page, *part)[0])
        page.wait_for_timeout(400)
    assert page.locator("#tool-measure li").count() == 2
    context.close()


def test_across_180_degrees_after_a_turn_of_the_map(opened, example_board):
    page = opened(example_board)
    tool(page, "Measure")
    for lon in (179.5, 180.5, 541.0):
        view(page, -17.0, lon, 9)
        page.get_by_role("button", name="Add the middle").click()
    legs = page.locator("#tool-measure li").all_inner_texts()
    for words, a, b in zip(legs, (179.5, -179.5), (-179.5, -179.0), strict=True):
        assert_way(words, (-17.0, a), (-17.0, b), 300.0)
    view(page, -17.0, 180.2, 9)
    assert ink(page, -17.0, 180.35, reach=8) > 5
    told = cells(page)
    assert "179.800° W" in told["latlon"]
    assert told["mgrs"].startswith("01K ")


def test_distance_and_bearings_from_a_station(opened, example_board):
    page = opened(example_board)
    tool(page, "Position")
    page.locator("#tool-position select").select_option(label="Heron")
    at, place = spot(page, 0.3, 0.7)
    page.mouse.move(*at)
    station = STATIONS["Heron"]
    # Its square is 100 m wide, so the distance is told to 100 m; the example lies in the square.
    told = cells(page)["way"]
    metres, bearings = way(told)
    true_m, true_bearings = true_way((station.lat_deg, station.lon_deg), place)
    assert abs(metres - true_m) < 150
    assert metres % 100 == 0
    assert np.abs(np.subtract(bearings, true_bearings)).max() < 1.5
    assert (
        page.locator("#tool-position .told").inner_text().split()
        == told.replace("m,", "m", 1).split()
    )
    names = page.locator("#tool-position option").all_text_contents()
    assert {*STATIONS, "Fox Spring", "Two walkers"} <= set(names)


def test_of_two_meanings_none_is_chosen_unasked(opened, example_board):
    page = opened(example_board)
    tool(page, "Go to")
    page.keyboard.type("18S 323483 4306479")
    page.keyboard.press("Enter")
    rows = page.locator("#tool-find .row")
    assert rows.count() == 2
    assert "2 meanings" in page.locator("#tool-find [role=status]").inner_text()
    assert page.locator("#tool-find [aria-current]").count() == 0
    assert cells(page)["which"] != "Held"
    for lat, lon in ((38.88947, -77.03524), (-51.36548, -77.53572)):
        assert ink(page, lat, lon, reach=9) > 10
    rows.nth(1).focus()
    page.keyboard.press("Enter")
    assert cells(page)["which"] == "Held"
    centre = page.evaluate("[board_map.getCenter().lat, board_map.getCenter().lng]")
    assert centre == pytest.approx([-51.36548, -77.53572], abs=1e-3)


def test_a_found_square_is_drawn_as_large_as_it_was_said(opened, example_board):
    page = opened(example_board)
    tool(page, "Go to")
    page.locator("#tool-find input").fill("32T KN 61 77")
    page.keyboard.press("Enter")
    assert page.locator("#tool-find .row").inner_text().startswith("MGRS, a square of 1 km")
    from plotter.formats.mgrs import parse_mgrs

    corners = parse_mgrs("32TKN6177").corners
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        assert ink(page, (2 * a.lat_deg + b.lat_deg) / 3, (2 * a.lon_deg + b.lon_deg) / 3) > 3
    assert cells(page)["mgrs"] == "32T KN 61 77"
    page.locator("#tool-find input").fill("<b>31U DQ 482")
    page.keyboard.press("Enter")
    assert "xpected" in page.locator("#tool-find [role=status]").inner_text()
    assert page.locator("#tool-find .row").count() == 0
    page.locator("#tool-find input").fill("31U DQ 482")
    page.keyboard.press("Enter")
    assert "equally many" in page.locator("#tool-find [role=status]").inner_text()


def test_a_path_is_measured_by_keyboard_alone(opened, example_board):
    page = opened(example_board)
    reach_by_tab(page, "Tools")
    page.keyboard.press("Enter")
    reach_by_tab(page, "Measure")
    page.keyboard.press("Enter")
    page.locator("#board_map").focus()
    places = [(43.1, 6.02), (43.2, 6.1), (43.15, 6.2), (43.1, 6.1)]
    for place in places:
        view(page, *place, 12)
        page.keyboard.press("Enter")
    legs = page.locator("#tool-measure li")
    assert legs.count() == 3
    page.keyboard.press("Backspace")
    assert legs.count() == 2
    total = 0.0
    for words, a, b in zip(legs.all_inner_texts(), places, places[1:], strict=False):
        # Zoom 12: a pixel is 28 m, so 10 m; the middle is on a half pixel at worst.
        assert_way(words, a, b, 50.0)
        total += true_way(a, b)[0]
    said = page.locator("#tool-measure [role=status]").inner_text()
    assert way(said.removeprefix("Total "))[0] == pytest.approx(total, abs=60)
    page.keyboard.press("Escape")
    page.keyboard.press("Enter")
    assert legs.count() == 2
    assert "Ended" in page.locator("#tool-measure").inner_text()


def reach_by_tab(page, words):
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == words:
            return
    raise AssertionError(f"Tab does not reach {words}")


def test_clicks_go_to_the_tool_and_then_back_to_the_reports(opened, example_board):
    page = opened(example_board)
    tool(page, "Measure")
    ivy = STATIONS["Base Ivy"]
    point = page.evaluate(
        """([lat, lon]) => { const p = board_map.latLngToContainerPoint([lat, lon]);
        const b = board_map.getContainer().getBoundingClientRect();
        return [p.x + b.left, p.y + b.top]; }""",
        [ivy.lat_deg, ivy.lon_deg],
    )
    page.mouse.click(*point)
    page.mouse.click(*spot(page, 0.8, 0.2)[0])
    assert page.locator("#tool-measure li").count() == 1
    assert page.locator("#chosen").is_hidden()
    page.get_by_role("button", name="Tools", exact=True).click()
    page.mouse.click(*point)
    assert "Base Ivy" in page.locator("#chosen").inner_text()


def test_a_long_leg_is_drawn_as_a_curve(opened, example_board):
    page = opened(example_board)
    tool(page, "Measure")
    a, b = (50.0, -40.0), (50.0, 40.0)
    for place in (a, b):
        view(page, *place, 4)
        page.get_by_role("button", name="Add the middle").click()
    view(page, 50, 0, 2.5)
    metres, bearing, _ = inverse_arrays([a[0]], [a[1]], [b[0]], [b[1]])
    # A quarter of the way, away from the label.
    lat, lon, _ = direct_arrays([a[0]], [a[1]], bearing, metres / 4)
    assert float(lat[0]) > 55
    assert ink(page, float(lat[0]), float(lon[0]), reach=3) > 5
    assert ink(page, 50.0, float(lon[0]), reach=8) == 0


def test_range_and_bearing_from_a_point_to_the_pointer(opened, example_board):
    page = opened(example_board)
    tool(page, "Measure")
    page.get_by_role("button", name="From one point").click()
    at, start = spot(page, 0.3, 0.3)
    page.mouse.click(*at)
    for across, down in ((0.6, 0.8), (0.1, 0.5)):
        at, place = spot(page, across, down)
        page.mouse.move(*at)
        settle(page)
        assert_way(page.locator("#tool-measure [role=status]").inner_text(), start, place, 10.0)
        half = [(start[0] + place[0]) / 2, (start[1] + place[1]) / 2]
        third = [(3 * s + p) / 4 for s, p in zip(start, place, strict=True)]
        assert ink(page, *third) > 5, half


def click_places(page, *parts):
    places = []
    for part in parts:
        at, place = spot(page, *part)
        page.mouse.click(*at)
        places.append(place)
    return places


def test_an_area_that_is_none_is_refused(opened, example_board):
    page = opened(example_board)
    tool(page, "Draw")
    page.get_by_role("button", name="Area").click()
    keep, told = page.get_by_role("button", name="Keep"), page.locator("#tool-draw [role=status]")
    assert keep.is_disabled()
    click_places(page, (0.3, 0.3), (0.6, 0.4))
    keep.click()
    assert "three corners" in told.inner_text()
    click_places(page, (0.35, 0.25), (0.4, 0.7))
    keep.click()
    assert "crosses itself" in told.inner_text()
    assert page.locator("#tool-draw .kept").count() == 0
    page.get_by_role("button", name="Remove last").click()
    keep.click()
    assert page.locator("#tool-draw .kept").count() == 1


def test_drawings_are_kept_listed_removed_and_taken_away(chromium, tmp_path, example_board):
    path = tmp_path / "board.html"
    path.write_bytes(example_board.html.encode())
    with open_page(chromium, path) as (page, seen):
        until_painted(page)
        tool(page, "Draw")
        page.get_by_role("button", name="Area").click()
        corners = click_places(page, (0.3, 0.3), (0.6, 0.4), (0.4, 0.7))
        hostile = "<b>North & slope</b> ]]>"
        keep = page.get_by_role("button", name="Keep")
        page.get_by_label("Name").fill(hostile)
        keep.click()
        page.get_by_role("button", name="Point", exact=True).click()
        (point,) = click_places(page, (0.7, 0.7))
        keep.click()
        page.get_by_role("button", name="Line", exact=True).click()
        click_places(page, (0.2, 0.2), (0.2, 0.8))
        keep.click()
        listed = page.locator("#tool-draw .kept")
        assert listed.count() == 3
        assert hostile in listed.first.inner_text()
        page.get_by_role("button", name="Remove Line 3").click()
        assert listed.count() == 2
        taken = {}
        for kind in ("GeoJSON", "GPX"):
            with page.expect_download() as waiting:
                page.get_by_role("button", name=f"Save as {kind}").click()
            taken[waiting.value.suggested_filename] = waiting.value.path().read_text("utf-8")
        assert [r for r in seen.requests if not r.startswith("blob:")] == [path.as_uri()]
        assert seen.complaints == []
        # The drawing stays on the map when the tools are put away.
        page.get_by_role("button", name="Tools", exact=True).click()
        assert ink(page, *point, "place") > 5
    area, spot_ = json.loads(taken["drawings.geojson"])["features"]
    found = shape(area["geometry"])
    assert found.is_valid
    assert found.exterior.is_ccw
    assert area["properties"]["name"] == hostile
    outline = [(y, x) for x, y in found.exterior.coords]
    for corner in corners:
        assert (
            min(np.hypot(*np.subtract(corner, other)) for other in outline) < 2e-5
        )  # a tenth of a pixel
    assert spot_["geometry"]["coordinates"] == pytest.approx(point[::-1], abs=2e-5)
    root = ET.fromstring(taken["drawings.gpx"].encode())  # noqa: S314 - our own text
    names = [name.text for name in root.iter("{http://www.topografix.com/GPX/1/1}name")]
    assert names == ["Point 2", hostile]


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("name", ["Position", "Go to", "Measure", "Draw"])
def test_every_tool_is_reached_and_large_enough_and_leaves_room(
    opened, example_board, name, width, height
):
    page = opened(example_board, width=width, height=height)
    assert page.locator("#tools").is_hidden()
    tool(page, name)
    if name == "Draw":
        page.get_by_role("button", name="Area").click()
        for part in ((0.5, 0.3), (0.7, 0.4), (0.6, 0.7)):
            page.mouse.click(*spot(page, *part)[0])
        page.get_by_role("button", name="Keep").click()
    page.locator("#tools [aria-expanded=true]").focus()
    wanted = page.evaluate(
        """[...tools.querySelectorAll('button, input, select')]
        .filter(n => n.offsetParent && !n.disabled).length"""
    )
    small = page.evaluate(
        """[...document.querySelectorAll('#tools :is(button, input, select), #readout button')]
        .filter(n => n.offsetParent).map(n => [n.textContent || n.type, n.getBoundingClientRect()])
        .filter(([t, r]) => r.height < 43.9 || r.width < 43.9).map(([t]) => t)"""
    )
    assert small == []
    assert wanted >= 6
    page.locator("#readout button").focus()
    for _ in range(wanted):
        page.keyboard.press("Tab")
        state = page.evaluate(
            """(() => { const n = document.activeElement, s = getComputedStyle(n);
            const seen = s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;
            return [tools.contains(n), seen];
            })()"""
        )
        assert state == [True, True]
    cut = page.evaluate(
        """[...document.querySelectorAll('#tools *, #readout *')].filter(n => n.offsetParent
        && n.scrollWidth > n.clientWidth + 1 && getComputedStyle(n).display !== 'inline')
        .map(n => n.className + n.textContent.slice(0, 40))"""
    )
    assert cut == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert frame(page)["height"] > 200
    caution = page.locator("#caution").bounding_box()
    assert caution["y"] + caution["height"] <= height
    page.keyboard.press("Escape")
    assert page.locator("#tools").is_hidden()
    assert page.evaluate("document.activeElement.textContent") == "Tools"


def test_text_grows_in_the_column_and_on_the_map(opened, example_board):
    page = opened(example_board)
    size = "parseFloat(getComputedStyle(document.querySelector('#reports .row')).fontSize)"
    before = page.evaluate(size)
    page.get_by_role("button", name="Largest").click()
    assert page.evaluate(size) >= 1.3 * before
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    page.get_by_role("button", name="Normal").click()
    assert page.evaluate(size) == before


def test_no_two_scripts_share_a_name():
    """They share one scope, where the later of two functions would silently replace the earlier."""
    names = [
        name
        for asset in files("plotter.board").joinpath("assets").iterdir()
        if asset.name.endswith(".js")
        for name in re.findall(r"^(?:function|var) (\w+)", asset.read_text("utf-8"), re.MULTILINE)
    ]
    assert len(names) > 200
    assert sorted(names) == sorted(set(names))
