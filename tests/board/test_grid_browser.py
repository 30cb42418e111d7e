"""The grid on the open board: ink where the core says a line is, its figures, its choice."""

import numpy as np
import pytest
from board_examples import CENTRE

from plotter.geodesy.grid import latlon_from_utm, utm_from_latlon
from plotter.geodesy.position import Position

pytestmark = pytest.mark.browser
# What the map writes on the next drawing, with its place on the canvas.
WRITTEN = """() => {
  const found = [], original = CanvasRenderingContext2D.prototype.fillText;
  CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
    found.push([text, x, y]);
    return original.apply(this, arguments);
  };
  board_map.fire('moveend');
  CanvasRenderingContext2D.prototype.fillText = original;
  return found.map((each) => each[0]); }"""
# How much stands within so many pixels of a place on the sheet of the reports.
INKED = """([lat, lon, reach]) => {
  const canvas = board_map.getPane("sheet").querySelector("canvas");
  const frame = canvas.getBoundingClientRect();
  const home = board_map.getContainer().getBoundingClientRect();
  // Not latLngToContainerPoint: that rounds.
  const at = board_map.project([lat, lon]).subtract(board_map.getPixelOrigin())
    .add(board_map.layerPointToContainerPoint([0, 0]));
  const x = Math.round(at.x + home.left - frame.left), y = Math.round(at.y + home.top - frame.top);
  const data = canvas.getContext("2d")
    .getImageData(x - reach, y - reach, 2 * reach + 1, 2 * reach + 1).data;
  return data.filter((value, i) => i % 4 === 3).reduce((sum, value) => sum + value, 0); }"""


def go(page, place, zoom):
    page.evaluate(
        "([lat, lon, zoom]) => board_map.setView([lat, lon], zoom, {animate: false})",
        [place.lat_deg, place.lon_deg, zoom],
    )


@pytest.mark.parametrize(("zoom", "spacing"), [(10, 10_000.0), (13, 1_000.0), (17, 100.0)])
def test_there_is_ink_where_the_core_says_a_line_is(opened, example_board, zoom, spacing):
    page = opened(example_board)
    page.locator("#layers input").evaluate_all("all => all.forEach(i => i.checked && i.click())")
    middle = Position(CENTRE.lat_deg, 6.3)  # zone 32 all over the view when close
    go(page, middle, zoom)
    east, north = utm_from_latlon([middle.lat_deg], [middle.lon_deg], 32)
    easting, northing = (np.round(v / spacing) * spacing for v in (east, north))
    for e, n in ((easting, north + 0.3 * spacing), (east + 0.3 * spacing, northing)):
        lat, lon = latlon_from_utm(e, n, 32, south=False)
        assert page.evaluate(INKED, [float(lat[0]), float(lon[0]), 1]) > 100
    lat, lon = latlon_from_utm(easting + 0.4 * spacing, northing + 0.4 * spacing, 32, south=False)
    assert page.evaluate(INKED, [float(lat[0]), float(lon[0]), 3]) == 0


def test_figures_and_names_stand_on_the_map(opened, example_board):
    page = opened(example_board)
    go(page, CENTRE, 13)
    written = page.evaluate(WRITTEN)
    # Both zones have their own lines, squares and northings here.
    east, north = utm_from_latlon([CENTRE.lat_deg], [CENTRE.lon_deg], 32)
    raised = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
    for metres in (float(east[0]), float(north[0])):
        km = str(int(metres // 1000) + 1)
        assert km[:-2].translate(raised) + km[-2:] in written
    assert any(text.startswith("31T ") for text in written)
    assert any(text.startswith("32T ") for text in written)


def test_the_grid_is_chosen_with_the_keyboard(opened, example_board):
    page = opened(example_board)
    choice = page.get_by_label("Shown on the map")
    assert choice.locator("option").all_inner_texts() == [
        "No grid",
        "UTM and MGRS",
        "Maidenhead",
        "Latitude and longitude",
    ]
    go(page, CENTRE, 9)
    choice.focus()
    page.keyboard.press("ArrowDown")
    assert choice.input_value() == "maidenhead"
    assert "JN33" in page.evaluate(WRITTEN)
    page.keyboard.press("ArrowDown")
    assert any("′N" in text for text in page.evaluate(WRITTEN))
    page.keyboard.press("Home")
    assert choice.input_value() == "none"
    assert not any("′N" in text or "JN33" in text for text in page.evaluate(WRITTEN))
