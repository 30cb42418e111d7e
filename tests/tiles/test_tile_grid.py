import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS, Transformer

from plotter.errors import FormatError
from plotter.tiles import (
    WEB_MERCATOR_MAX_LAT_DEG,
    WEB_MERCATOR_RADIUS_M,
    Box,
    TileId,
    tile_at,
    tiles_in,
)

# Independent route: PROJ's own EPSG:3857, whose half side is pi times the radius.
TO_MERCATOR = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
LATS = st.floats(-85.0, 85.0)
LONS = st.floats(-179.999, 179.999)


def test_the_web_mercator_radius_is_the_one_of_epsg_3857():
    assert CRS("EPSG:3857").ellipsoid.semi_major_metre == WEB_MERCATOR_RADIUS_M
    x, y = TO_MERCATOR.transform(180.0, WEB_MERCATOR_MAX_LAT_DEG)
    assert x == pytest.approx(math.pi * WEB_MERCATOR_RADIUS_M, abs=1e-6)
    assert y == pytest.approx(x, abs=1e-6)


@given(LATS, LONS, st.integers(0, 20))
def test_a_tile_holds_the_place_by_projs_reckoning(lat, lon, zoom):
    tile = tile_at(lat, lon, zoom)
    x, y = TO_MERCATOR.transform(lon, lat)
    half = math.pi * WEB_MERCATOR_RADIUS_M
    side = 2 * half / 2**zoom
    slack = 1e-6
    assert tile.x * side - half - slack <= x <= (tile.x + 1) * side - half + slack
    assert half - (tile.y + 1) * side - slack <= y <= half - tile.y * side + slack


@given(LATS, LONS, st.integers(0, 20))
def test_the_box_of_a_tile_goes_back_to_the_tile(lat, lon, zoom):
    tile = tile_at(lat, lon, zoom)
    box = tile.box()
    middle = (box.south_deg + box.north_deg) / 2, (box.west_deg + box.east_deg) / 2
    assert tile_at(*middle, zoom) == tile


def test_rows_are_flipped_as_mbtiles_counts_them():
    # MBTiles 1.3 follows the OSGeo Tile Map Service: row 0 is the southernmost.
    assert TileId(3, 0, 0).flipped_row == 7
    assert TileId(3, 0, 7).flipped_row == 0


def test_tiles_of_a_box_across_180_degrees_come_west_to_east():
    tiles = list(tiles_in(Box(-18.0, 177.0, -16.0, 183.0), 5))
    assert [tile.x for tile in tiles] == [31, 0]


def test_tiles_of_the_whole_world_come_once_each():
    tiles = list(tiles_in(Box(-90.0, -180.0, 90.0, 180.0), 3))
    assert len(tiles) == len(set(tiles)) == 64


def test_the_poles_fall_to_the_edge_rows():
    assert tile_at(90.0, 0.0, 4).y == 0
    assert tile_at(-90.0, 0.0, 4).y == 15


@pytest.mark.parametrize(
    ("edges", "words"),
    [
        ((10.0, 0.0, 5.0, 1.0), "south <= north"),
        ((0.0, 5.0, 1.0, 4.0), "west <= east"),
        ((0.0, -200.0, 1.0, 200.0), "360"),
        ((math.nan, 0.0, 1.0, 1.0), "finite"),
    ],
)
def test_a_box_with_wrong_edges_is_refused(edges, words):
    with pytest.raises(FormatError, match=words):
        Box(*edges)


@pytest.mark.parametrize("numbers", [(31, 0, 0), (-1, 0, 0), (2, 4, 0), (2, 0, -1)])
def test_a_tile_outside_the_world_is_refused(numbers):
    with pytest.raises(FormatError):
        TileId(*numbers)


def test_a_grown_box_never_goes_round_the_world_twice():
    box = Box(-80.0, -170.0, 80.0, 170.0).grown(1.0)
    assert (box.south_deg, box.north_deg) == (-90.0, 90.0)
    assert box.east_deg - box.west_deg == 360.0
