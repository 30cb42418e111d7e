"""What is drawn of real extracts, tile by tile and kind by kind, beside a second way of reading."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from real_extracts import TOWNS, areas_by_gdal, copied, incomplete

from plotter.tiles import tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build import (
    MapSource,
    Rasters,
    build_archive,
    open_layers,
    read_layers,
    road_lines,
    write_roads,
)
from plotter.tiles.build.draw import Block, draw_picture
from plotter.tiles.build.kinds import AREA_KINDS
from plotter.tiles.build.places import placed
from plotter.tiles.build.style import STYLES

# Made by the coasts here, and by GDAL not at all; squares are ways that GDAL takes for lines.
NOT_BY_GDAL = {"sea", "square", "yard"}
ALLOWED = 0.02  # of a tile


@pytest.fixture(scope="module", params=sorted(TOWNS))
def town(request, tmp_path_factory):
    path = copied(request.param, tmp_path_factory.mktemp(request.param))
    return path, TOWNS[request.param]


@pytest.fixture(scope="module")
def features(town):
    path, area = town
    return read_layers([path], box_of_area(area))


def drawn_share(features, kind, tile):
    """Cover of a tile when it is drawn of one kind alone, without edges and names."""
    which = np.flatnonzero(np.array(features.kinds) == kind)
    which = [i for i in which if shapely.get_dimensions(features.geometries[i]) == 2]
    alone = replace(
        features,
        geometries=features.geometries[which],
        kinds=(kind,) * len(which),
        names=("",) * len(which),
        numbers=("",) * len(which),
        known=shapely.Polygon(),
        unsure=None,
    )
    picture, _ = draw_picture(MapSource(alone), Block(tile.zoom, tile.x, tile.y, 1), Rasters())
    return picture[..., 3].mean() / 255.0


def expected_share(shapes, tile):
    side = 2**tile.zoom
    square = shapely.box(tile.x / side, tile.y / side, (tile.x + 1) / side, (tile.y + 1) / side)
    shapes = shapes[shapely.intersects(shapes, square)]
    return shapely.union_all(shapes).intersection(square).area / square.area


def differences(features, expected, area, zooms):
    """Tile and kind to drawn share less expected share."""
    found = {}
    for kind in sorted(AREA_KINDS - NOT_BY_GDAL):
        if kind not in expected and kind not in features.kinds:
            continue
        shapes = placed(expected.get(kind, np.array([], dtype=object)))
        for zoom in zooms:
            if zoom < STYLES[kind].from_zoom:
                continue
            for tile in tiles_in(box_of_area(area), zoom):
                drawn = drawn_share(features, kind, tile)
                found[tile, kind] = drawn - expected_share(shapes, tile)
    return found


def test_no_tile_differs_from_a_second_way_of_reading(town, features, monkeypatch):
    for kind in AREA_KINDS:
        monkeypatch.setitem(STYLES, kind, replace(STYLES[kind], line=""))
    path, area = town
    found = differences(features, areas_by_gdal(path, whole=True), area, (14, 16))
    far = {key: off for key, off in found.items() if abs(off) > ALLOWED}
    assert not far
    assert any(abs(off) < 0.5 * ALLOWED for off in found.values())
    # The comparison would see areas that are closed over nodes that are not there.
    false = differences(features, areas_by_gdal(path, whole=False), area, (14,))
    assert min(false.values()) < -ALLOWED


def test_areas_that_are_not_whole_are_counted(town):
    path, area = town
    ways, relations = incomplete(path)
    notes = open_layers([path], box_of_area(area)).reading.notes
    (said,) = [note for note in notes if "cut off at the edge" in note]
    count = int(said.split()[0])
    assert 0 < count <= len(ways) + len(relations)


def test_it_is_drawn_at_every_level_and_names_its_streets(town, tmp_path):
    path, area = town
    source = open_layers([path], box_of_area(area))
    out = tmp_path / "town.mbtiles"
    built = build_archive(source, area, range(10, 17), out, name="t", credit=source.credit)
    assert built.written > 20
    assert not built.missing


def test_the_roads_of_an_extract_are_a_layer_and_lines(town, tmp_path):
    import pyogrio

    path, area = town
    count = write_roads(path, tmp_path / "roads.gpkg")
    frame = pyogrio.read_dataframe(tmp_path / "roads.gpkg")
    assert len(frame) == count
    # GDAL's own reading of the extract has the same named streets.
    lines = pyogrio.read_dataframe(path, layer="lines")
    streets = set(lines[lines.highway.isin(["residential", "primary", "secondary"])].name.dropna())
    assert streets
    assert streets <= set(frame.name)
    assert len(road_lines(path, area)) >= 0.9 * count
