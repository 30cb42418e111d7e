"""Archives drawn from layers: a real OpenStreetMap extract, our invented island, hard cases.

The extract is the sample that the pyogrio package carries for its own tests (OpenStreetMap data,
ODbL): a few streets that none of us drew.
"""

import io
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from plotter.errors import TileError
from plotter.geodesy.position import Area, Position
from plotter.tiles import Box, TileId, open_archive, read_tiles, tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build import (
    MapSource,
    build_archive,
    estimate_archive,
    open_layers,
    read_layers,
)
from plotter.tiles.build.draw import block_of, draw_block
from plotter.tiles.build.features import MapFeatures
from plotter.tiles.build.kinds import KINDS, kind_of
from plotter.tiles.build.places import to_world
from plotter.tiles.build.style import LABELS, STYLES, width_px

pyogrio = pytest.importorskip("pyogrio", reason="the extra 'maps' is not installed")
SAMPLE = Path(pyogrio.__file__).parent / "tests" / "fixtures" / "sample.osm.pbf"
STREETS = Area(Position(51.7645, -0.2310), 400.0)


@pytest.fixture(scope="module")
def extract(tmp_path_factory):
    """A copy: its index is kept beside it."""
    return shutil.copy(SAMPLE, tmp_path_factory.mktemp("extract") / "sample.osm.pbf")


@pytest.fixture(scope="module")
def source(extract):
    return open_layers([extract], box_of_area(STREETS))


@pytest.fixture(scope="module")
def streets(extract):
    return read_layers([extract], box_of_area(STREETS))


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA").convert("RGB"), dtype=int)


def test_an_extract_has_streets_and_its_credit(streets):
    assert {"road", "path", "building"} <= set(streets.kinds)
    assert "nan" not in streets.names
    assert "Alban Way" in streets.names
    assert streets.credit == "© OpenStreetMap contributors, ODbL"


def test_an_archive_from_an_extract_opens_and_covers(source, tmp_path):
    path = tmp_path / "streets.mbtiles"
    levels = range(14, 17)
    built = build_archive(source, STREETS, levels, path, name="Streets", credit=source.credit)
    count = built.written
    archive = open_archive(path)
    assert archive.attribution == source.credit
    assert [level.zoom for level in archive.coverage] == [14, 15, 16]
    wanted = [t for z in levels for t in tiles_in(box_of_area(STREETS), z)]
    assert count == len(wanted)
    found = dict(read_tiles(archive, wanted))
    assert len(found) == count
    # Something is drawn: dark lines on pale ground.
    darkest = min(pixels(png).sum(axis=2).min() for png in found.values())
    assert darkest < 450


def test_roads_lie_where_the_projection_says(streets):
    """Where a road's own corner falls, by EPSG:3857 of PROJ, the tile is no longer plain ground."""
    from pyproj import Transformer

    zoom = 16
    road = next(i for i, kind in enumerate(streets.kinds) if kind == "road")
    world = shapely.get_coordinates(streets.geometries[road])
    mercator = Transformer.from_crs(4326, 3857, always_xy=True)
    half = np.pi * 6378137.0
    for x, y in world[1:-1]:
        lon, lat = (x - 0.5) * 360.0, np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * y))))
        east, north = mercator.transform(lon, lat)
        column, row = ((east + half) / (2 * half) * 2**zoom, (half - north) / (2 * half) * 2**zoom)
        tile = TileId(zoom, int(column), int(row))
        image = pixels(dict(draw_block(MapSource(streets), block_of(tile, 1)).tiles)[tile])
        px, py = int((column % 1) * 256), int((row % 1) * 256)
        near = image[max(py - 1, 0) : py + 2, max(px - 1, 0) : px + 2]
        ground = np.array([0xF6, 0xF3, 0xEA])
        assert np.abs(near - ground).sum(axis=2).max() > 20


def test_building_goes_on_where_it_stopped(streets, tmp_path):
    path = tmp_path / "streets.mbtiles"

    class StoppedError(Exception):
        pass

    def stop_early(done):
        if done > 0.3:
            raise StoppedError

    told = {"name": "Streets", "credit": streets.credit}
    with pytest.raises(StoppedError):
        build_archive(streets, STREETS, range(14, 18), path, progress=stop_early, **told)
    with closing(sqlite3.connect(path)) as base:
        (before,) = base.execute("SELECT COUNT(*) FROM tiles").fetchone()
    written = build_archive(streets, STREETS, range(14, 18), path, **told).written
    wanted = sum(1 for z in range(14, 18) for _ in tiles_in(box_of_area(STREETS), z))
    assert 0 < before < wanted
    assert before + written == wanted
    assert build_archive(streets, STREETS, range(14, 18), path, **told).written == 0
    with pytest.raises(TileError, match="holds the map 'Streets'"):
        build_archive(streets, STREETS, range(14, 15), path, name="Other", credit="x")


def test_a_folder_that_is_not_there_is_made_and_a_file_in_its_way_is_named(streets, tmp_path):
    told = {"name": "s", "credit": streets.credit}
    path = tmp_path / "new" / "maps" / "s.mbtiles"
    assert build_archive(streets, STREETS, range(13, 14), path, **told).written > 0
    assert path.is_file()
    with pytest.raises(TileError, match="cannot be written as a map archive"):
        build_archive(streets, STREETS, range(13, 14), path / "below.mbtiles", **told)


def test_the_estimate_is_about_right(streets, tmp_path):
    levels = range(14, 18)
    expected = estimate_archive(streets, STREETS, levels)
    path = tmp_path / "streets.mbtiles"
    count = build_archive(streets, STREETS, levels, path, name="s", credit="x").written
    assert expected.tiles == count
    archive = open_archive(path)
    wanted = [t for z in levels for t in tiles_in(box_of_area(STREETS), z)]
    size = sum(len(png) for _, png in read_tiles(archive, wanted))
    assert size / 2 < expected.size_bytes < size * 2


def test_the_island_is_land_in_a_sea(repository):
    area = Area(Position(-38.42, -22.35), 9_000.0)
    features = read_layers([repository / "demo_scenario" / "island.geojson"], box_of_area(area))
    assert "land" in features.kinds
    tile = TileId(15, *_column_row(-38.475, -22.535, 15))
    sea = pixels(dict(draw_block(MapSource(features), block_of(tile, 1)).tiles)[tile])
    assert np.abs(np.median(sea, axis=(0, 1)) - [0xBC, 0xD3, 0xE2]).max() < 3


def _column_row(lat, lon, zoom):
    x, y = to_world(np.array([[lon, lat]]))[0]
    return int(x * 2**zoom), int(y * 2**zoom)


def test_every_kind_has_a_look():
    assert set(STYLES) | set(LABELS) == KINDS
    for look in STYLES.values():
        assert look.fill or look.line
        assert width_px(look, 8) <= width_px(look, 16)


def test_kinds_can_be_told_apart_in_grey():
    """Areas by lightness (ITU-R BT.601 weights): at least 2 % apart from the land, or outlined."""

    def grey(colour):
        return float(np.dot([int(colour[i : i + 2], 16) for i in (1, 3, 5)], [0.299, 0.587, 0.114]))

    land = grey(STYLES["land"].fill)
    for name, look in STYLES.items():
        if look.fill and name != "land":
            assert abs(grey(look.fill) - land) > 5 or look.line
        if look.line:
            assert land - grey(look.line) > 50


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        ({"highway": "trunk_link"}, "major road"),
        ({"highway": "no"}, None),
        ({"kind": "Wood"}, "wood"),
        ({"building": "yes", "name": "Hall"}, "building"),
        ({"other_tags": '"natural"=>"peak","ele"=>"1012"'}, "summit"),
        ({"other_tags": '"name:x"=>"a \\"b\\"","railway"=>"rail"'}, "rail"),
        ({"highway": None, "natural": float("nan")}, None),
    ],
)
def test_tags(tags, kind):
    assert kind_of(tags) == kind


def test_what_cannot_be_drawn_says_so(extract, tmp_path):
    box = Box(0.0, 0.0, 1.0, 1.0)
    with pytest.raises(TileError, match="no map layer"):
        read_layers([tmp_path / "none.gpkg"], box)
    bad = tmp_path / "bad.osm.pbf"
    bad.write_bytes(b"no extract")
    with pytest.raises(TileError, match="cannot be read"):
        read_layers([bad], box)
    with pytest.raises(TileError, match="nothing to draw"):
        read_layers([extract], box)
    empty = MapFeatures(np.array([], dtype=object), (), (), "")
    with pytest.raises(TileError, match="needs a credit"):
        build_archive(empty, STREETS, range(1, 2), tmp_path / "x.mbtiles", name="x", credit=" ")


def test_two_processes_draw_the_same_as_one(source, tmp_path):
    paths = [tmp_path / "one.mbtiles", tmp_path / "two.mbtiles"]
    wanted = [t for z in range(12, 18) for t in tiles_in(box_of_area(STREETS), z)]
    for path, workers in zip(paths, (1, 2), strict=True):
        build_archive(source, STREETS, range(12, 18), path, name="s", credit="x", workers=workers)
    one, two = (dict(read_tiles(open_archive(path), wanted)) for path in paths)
    assert one == two
    assert len(one) > 40
