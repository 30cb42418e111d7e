"""The map that the page draws from layers, against the layers themselves."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from plotter.board import build_board
from plotter.board.drawn_map import _FIRST, drawn_map
from plotter.errors import BoardError, TileError
from plotter.tiles import Box
from plotter.tiles.build.kinds import KINDS

pytest.importorskip("geopandas", reason="the extra 'maps' is not installed")
ISLAND = Path(__file__).parents[2] / "demo_scenario" / "island.geojson"
AREA = Box(-38.55, -22.60, -38.30, -22.10)
INK = """([lat, lon]) => {
  const canvas = board_map.getPane("base").querySelector("canvas");
  const frame = canvas.getBoundingClientRect(), ratio = canvas.width / frame.width;
  const home = board_map.getContainer().getBoundingClientRect();
  const at = board_map.latLngToContainerPoint([lat, lon]);
  const x = (at.x + home.left - frame.left) * ratio, y = (at.y + home.top - frame.top) * ratio;
  const found = canvas.getContext("2d").getImageData(x - 1, y - 1, 3, 3).data;
  return Math.max(...found.filter((value, i) => i % 4 === 3)); }"""


def features(kind):
    found = json.loads(ISLAND.read_text("utf-8"))["features"]
    return [
        shapely.geometry.shape(each["geometry"])
        for each in found
        if each["properties"]["kind"] == kind
    ]


def places(shape, units):
    """Longitude and latitude of a packed shape's corners, by the map's own formula."""
    for steps in shape[1]:
        points = np.cumsum(np.array(steps).reshape(-1, 2), axis=0) / units
        lat = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * points[:, 1]))))
        yield np.column_stack([points[:, 0] * 360 - 180, lat])


def test_roads_are_where_the_layer_has_them():
    made = drawn_map([ISLAND], AREA)
    kinds = {each["kind"]: each["shapes"] for each in made.data["kinds"]}
    roads = shapely.unary_union(features("road"))
    ours = shapely.unary_union(
        [
            shapely.LineString(path)
            for shape in kinds["road"]
            for path in places(shape, made.data["units"])
        ]
    )
    # Twenty units of the world's side, 2.7e-5 degrees of longitude, may be lost to save points.
    assert shapely.hausdorff_distance(ours, roads) < 3e-5
    assert made.left_out == ()


def test_what_does_not_fit_is_left_out_as_a_whole_and_said():
    whole = drawn_map([ISLAND], AREA)
    some = drawn_map([ISLAND], AREA, budget_bytes=whole.packed_bytes // 3)
    assert some.packed_bytes <= whole.packed_bytes // 3
    assert some.left_out
    assert all(words in some.in_words() for words in some.left_out)
    kept = {each["kind"] for each in some.data["kinds"]}
    assert kept
    assert not kept & {words.split(" (")[0] for words in some.left_out}


def test_an_area_without_features_is_an_error():
    with pytest.raises(TileError, match="nothing to draw"):
        drawn_map([ISLAND], Box(10.0, 10.0, 10.1, 10.1))


def test_a_budget_for_nothing_is_an_error():
    with pytest.raises(BoardError, match="100 bytes"):
        drawn_map([ISLAND], AREA, budget_bytes=100)


def test_every_kind_has_its_place_in_the_order():
    assert set(_FIRST) >= set(KINDS)


@pytest.mark.browser
def test_roads_are_drawn_where_they_are_and_can_be_switched_off(opened, example_scene):
    shown = replace(example_scene, view=AREA)
    page = opened(build_board(shown, drawn=drawn_map([ISLAND], AREA)))
    page.evaluate("board_map.setView([-38.42, -22.35], 13, {animate: false})")
    view = page.evaluate(
        "(() => { const b = board_map.getBounds();"
        "return [b.getWest(), b.getSouth(), b.getEast(), b.getNorth()]; })()"
    )
    seen = shapely.unary_union(features("road")).intersection(shapely.box(*view))
    spots = [seen.interpolate(share, normalized=True) for share in np.linspace(0.05, 0.95, 12)]
    assert min(page.evaluate(INK, [spot.y, spot.x]) for spot in spots) > 200
    page.get_by_label("Drawn map").uncheck()
    assert max(page.evaluate(INK, [spot.y, spot.x]) for spot in spots) == 0
