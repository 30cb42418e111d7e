"""Extracts made here, with everything that cut and hand-made ones bring along."""

import io

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from made_extracts import Maker, square
from PIL import Image

from plotter.errors import TileError
from plotter.geodesy.position import Area, Position
from plotter.tiles import Box, open_archive, read_tiles, tile_at, tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build import build_archive, open_layers, read_layers
from plotter.tiles.build.index import indexed
from plotter.tiles.build.places import to_lon_lat
from plotter.tiles.build.repair import cut, repaired
from plotter.tiles.coverage import level_coverage

BOX = Box(47.0, 7.0, 48.0, 8.0)


def areas_of(features, kind):
    """Areas of a kind as one, in longitude and latitude."""
    shapes = [s for s, k in zip(features.geometries, features.kinds, strict=True) if k == kind]
    return shapely.transform(shapely.union_all(shapes), to_lon_lat)


def lone(path, box=BOX):
    return read_layers([path], box)


def test_an_area_that_lacks_a_node_is_not_filled_and_is_counted(tmp_path):
    maker = Maker()
    whole = maker.way(square(7.1, 47.1, 0.01), ring=True, landuse="forest")
    maker.way(square(7.2, 47.2, 0.01), ring=True, building="yes")
    lost = maker.way(square(7.3, 47.3, 0.01), ring=True, natural="water")
    maker.drop([maker.ways[-1][1][2]])
    path = maker.write(tmp_path / "x.osm.pbf")
    features = lone(path)
    assert whole != lost
    assert areas_of(features, "wood").area == pytest.approx(1e-4)
    assert areas_of(features, "water").is_empty
    # Of a water its known shore is drawn, as a line.
    assert areas_of(features, "shore").length == pytest.approx(0.02)
    index = indexed(path)
    assert index.areas_cut == 1
    assert "1 areas are cut off" in open_layers([path], BOX).reading.notes[0]


def test_a_line_keeps_its_known_runs(tmp_path):
    maker = Maker()
    maker.way([(7.0 + k / 100, 47.5) for k in range(10)], highway="residential", name="Long Lane")
    nodes = maker.ways[-1][1]
    maker.drop([nodes[0], nodes[4], nodes[6]])
    features = lone(maker.write(tmp_path / "x.osm.pbf"))
    # 1 to 3 and 7 to 9; the node between two gaps is no line.
    assert areas_of(features, "road").length == pytest.approx(0.04)
    assert set(features.names) == {"Long Lane"}


def test_holes_stay_open_and_what_lies_in_them_is_drawn(tmp_path):
    """The outer way repeats the tags, the inner one is a lake: both are common."""
    maker = Maker()
    outer = maker.way(square(7.1, 47.1, 0.04), ring=True, landuse="forest")
    inner = maker.way(square(7.11, 47.11, 0.01), ring=True, natural="water")
    maker.relation([(outer, "outer"), (inner, "inner")], landuse="forest")
    features = lone(maker.write(tmp_path / "x.osm.pbf"))
    assert areas_of(features, "wood").area == pytest.approx(16e-4 - 1e-4)
    assert areas_of(features, "water").area == pytest.approx(1e-4)
    assert indexed(tmp_path / "x.osm.pbf").areas_cut == 0


def test_a_relation_that_lacks_a_way_is_counted(tmp_path):
    maker = Maker()
    outer = maker.way(square(7.1, 47.1, 0.04), ring=True)
    maker.relation([(outer, "outer"), (999_999, "outer")], natural="water", name="Half Mere")
    maker.way(square(7.3, 47.3, 0.01), ring=True, building="yes")
    path = maker.write(tmp_path / "x.osm.pbf")
    assert areas_of(lone(path), "water").is_empty
    assert indexed(path).areas_cut == 1


def test_an_area_that_crosses_itself_is_mended_and_never_grows(tmp_path):
    maker = Maker()
    bow = [(7.1, 47.1), (7.2, 47.2), (7.2, 47.1), (7.1, 47.2)]
    maker.way(bow, ring=True, landuse="forest")
    path = maker.write(tmp_path / "x.osm.pbf")
    assert areas_of(lone(path), "wood").area == pytest.approx(0.005, rel=0.01)
    assert indexed(path).mended == 1


def test_an_extract_that_is_not_in_order_is_read(tmp_path):
    maker = Maker()
    for k in range(5):
        maker.way([(7.1, 47.1 + k / 50), (7.2, 47.1 + k / 50)], highway="primary", ref="B 7")
    features = lone(maker.write(tmp_path / "x.osm.pbf", in_order=False))
    assert features.kinds.count("major road") == 5
    assert set(features.numbers) == {"B 7"}


def test_a_corrected_extract_is_read_anew_and_the_same_one_is_not(tmp_path):
    maker = Maker()
    maker.way([(7.1, 47.1), (7.2, 47.1)], highway="primary", name="Old Road")
    path = maker.write(tmp_path / "x.osm.pbf")
    first = indexed(path)
    told = []
    assert indexed(path, told.append).source == first.source
    assert not told
    maker.ways[0][2]["name"] = "New Road"
    maker.write(path)
    assert "New Road" in lone(path).names
    assert indexed(path).source != first.source


def test_a_corrected_extract_is_not_mixed_into_a_map_of_the_old_one(tmp_path):
    area = Area(Position(47.1, 7.15), 1_000.0)
    maker = Maker()
    maker.way([(7.1, 47.1), (7.2, 47.1)], highway="primary", name="Old Road")
    path, out = tmp_path / "x.osm.pbf", tmp_path / "x.mbtiles"

    def build(**more):
        source = open_layers([maker.write(path)], box_of_area(area))
        return build_archive(
            source, area, range(14, 16), out, name="x", credit=source.credit, **more
        ).written

    first = build()
    assert first > 0
    assert build() == 0
    maker.ways[0][2]["name"] = "New Road"
    with pytest.raises(TileError, match="--again"):
        build()
    assert build(again=True) == first


def test_both_sides_of_180_degrees_are_drawn(tmp_path):
    """A wood and a road on each side; the box runs over the line."""
    area = Area(Position(-17.0, 179.999), 3_000.0)
    maker = Maker()
    for west in (179.985, -179.995):
        maker.way(square(west, -17.01, 0.008), ring=True, landuse="forest")
        maker.way([(west, -16.99), (west + 0.008, -16.99)], highway="primary")
    source = open_layers([maker.write(tmp_path / "x.osm.pbf")], box_of_area(area))
    out = tmp_path / "x.mbtiles"
    build_archive(source, area, range(14, 15), out, name="x", credit="x")
    tiles = dict(read_tiles(open_archive(out), tiles_in(box_of_area(area), 14)))
    for west in (179.985, -179.995):
        for lat, colour in ((-17.006, (0xD5, 0xDF, 0xC3)), (-16.99, (0xEC, 0xCB, 0x84))):
            tile = tile_at(lat, west + 0.004, 14)
            image = np.asarray(Image.open(io.BytesIO(tiles[tile])).convert("RGBA"), dtype=int)
            x = ((west + 0.004 + 180.0) / 360.0 * 2**14 - tile.x) * 256
            y = (0.5 - np.arcsinh(np.tan(np.radians(lat))) / (2 * np.pi)) * 2**14 - tile.y
            found = image[int(y * 256), int(x)]
            assert np.abs(found[:3] - colour).max() < 12
            assert found[3] > 250


def country(maker, inside, step=0.01):
    """Short streets all over a country that is no rectangle."""
    for lon in np.arange(7.0, 8.0, step):
        for lat in np.arange(47.0, 48.0, step):
            if inside(lon, lat):
                maker.way([(lon, lat), (lon + 0.004, lat)], highway="residential")
    maker.box = (7.0, 47.0, 8.0, 48.0)


def test_what_was_cut_by_an_outline_is_not_known_in_its_whole_box(tmp_path):
    maker = Maker()
    country(maker, lambda lon, lat: lon + lat < 54.9)
    index = indexed(maker.write(tmp_path / "x.osm.pbf"))
    triangle = shapely.Polygon([(7, 47), (7.9, 47), (7, 47.9)])
    wrong = index.known.symmetric_difference(triangle).area
    assert wrong < 0.1 * triangle.area
    assert not index.known.intersects(shapely.Point(7.8, 47.8))


def test_a_filled_box_is_known_as_a_whole_with_its_empty_middle(tmp_path):
    maker = Maker()
    country(maker, lambda lon, lat: abs(lon - 7.5) + abs(lat - 47.5) > 0.2)
    index = indexed(maker.write(tmp_path / "x.osm.pbf"))
    assert index.known.equals(shapely.box(7.0, 47.0, 8.0, 48.0))


def test_no_tile_is_drawn_beyond_the_data_and_its_coverage_says_so(tmp_path):
    maker = Maker()
    maker.box = (7.1, 47.1, 7.15, 47.15)
    maker.way([(7.11, 47.11), (7.14, 47.14)], highway="primary")
    area = Area(Position(47.125, 7.15), 4_000.0)
    source = open_layers([maker.write(tmp_path / "x.osm.pbf")], box_of_area(area))
    out = tmp_path / "x.mbtiles"
    built = build_archive(source, area, range(13, 16), out, name="x", credit="x")
    wanted = [t for z in range(13, 16) for t in tiles_in(box_of_area(area), z)]
    assert 0 < built.written < 0.8 * len(wanted)
    (*_, finest) = level_coverage([open_archive(out)], area)
    circle = np.pi * 4_000.0**2
    # By hand: the western half of the circle, less what lies beyond north and south.
    assert 0.30 < finest.share < 0.40
    assert finest.share * circle > 0
    assert "east" in finest.missing
    assert "west" not in finest.missing


@given(
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=3, max_size=14),
    st.tuples(st.floats(0, 0.9), st.floats(0, 0.9), st.floats(0.01, 0.5)),
)
def test_what_is_cut_never_exceeds_its_source(places, window):
    """Any ring at all: mended it stays within its hull, and cut within itself and the window."""
    ring = shapely.Polygon(places)
    sound, _ = repaired(np.array([ring], dtype=object))
    assert shapely.is_valid(sound[0])
    assert sound[0].difference(ring.convex_hull.buffer(1e-9)).area < 1e-9
    west, south, size = window
    (part,) = cut(sound, (west, south, west + size, south + size))
    frame = shapely.box(west, south, west + size, south + size)
    assert part.area == pytest.approx(sound[0].intersection(frame).area, abs=1e-9)
