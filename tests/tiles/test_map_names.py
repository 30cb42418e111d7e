"""Names on the map of two real towns: how many streets have theirs, and that none is cut."""

import io
from collections import Counter

import numpy as np
import pytest
import shapely
from PIL import Image
from real_extracts import TOWNS, copied

from plotter.tiles import open_archive, read_tiles, tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build import build_archive, open_layers
from plotter.tiles.build.archive import _blocks, _wanted
from plotter.tiles.build.draw import draw_block
from plotter.tiles.build.features import MapSource
from plotter.tiles.build.kinds import ROADS
from plotter.tiles.build.lettering import lettered
from plotter.tiles.build.places import to_world

SMALL = 10.5
# Of the streets whose longest joined piece is longer than their name: the least that is asked.
DEMANDED = {14: 0.70, 15: 0.88, 16: 0.94}


@pytest.fixture(scope="module", params=sorted(TOWNS))
def town(request, tmp_path_factory):
    path = copied(request.param, tmp_path_factory.mktemp(request.param))
    area = TOWNS[request.param]
    return open_layers([path], box_of_area(area)), area


def everything(source, area):
    box = box_of_area(area)
    corners = np.array([[box.west_deg, box.north_deg], [box.east_deg, box.south_deg]])
    return source.within(to_world(corners).ravel().tolist(), 30)


def long_enough(source, area, zoom):
    """Names of streets whose longest joined piece within the data has room for the letters."""
    features = everything(source, area)
    lines = {}
    for shape, kind, name in zip(features.geometries, features.kinds, features.names, strict=True):
        if kind in ROADS and name and shapely.get_dimensions(shape) == 1:
            lines.setdefault(name, []).append(shape.intersection(source.held.known))
    found = set()
    for name, parts in lines.items():
        merged = shapely.line_merge(shapely.union_all(parts))
        longest = max(shapely.length(shapely.get_parts(merged)), default=0.0)
        if longest * 256 * 2**zoom >= lettered(name, SMALL).width:
            found.add(name)
    return found


def drawn(source, area, zoom):
    blocks = _blocks(_wanted(source, box_of_area(area), zoom, None))
    return [draw_block(source, block) for block in blocks]


@pytest.mark.parametrize("zoom", sorted(DEMANDED))
def test_streets_have_their_names(town, zoom):
    source, area = town
    wanted = long_enough(source, area, zoom)
    written = {
        name
        for each in drawn(source, area, zoom)
        for kind, name in each.names.written
        if kind in ROADS
    }
    named = wanted & written
    print(f"\nz{zoom}: {len(wanted)} streets long enough, {len(named) / len(wanted):.0%} named")
    assert len(wanted) > 15
    assert len(named) >= DEMANDED[zoom] * len(wanted)


def test_hospitals_stations_bridges_and_waters_have_their_names(town):
    source, area = town
    features = everything(source, area)
    known = source.held.known
    wanted = {
        (kind, name)
        for shape, kind, name in zip(
            features.geometries, features.kinds, features.names, strict=True
        )
        if kind in {"hospital", "station", "bridge", "fire station", "police", "water"}
        and name
        and known.contains(shapely.centroid(shape))
    }
    written = {pair for each in drawn(source, area, 17) for pair in each.names.written}
    assert wanted <= written


def test_no_name_is_cut_by_a_tile(town, tmp_path):
    """A tile drawn with its block is the same as the one beside it goes on: letters run through."""
    source, area = town
    out = tmp_path / "x.mbtiles"
    build_archive(source, area, range(15, 16), out, name="x", credit="x")
    tiles = dict(read_tiles(open_archive(out), tiles_in(box_of_area(area), 15)))
    seams = Counter()
    for tile, png in tiles.items():
        beside = [other for other in tiles if (other.x, other.y) == (tile.x + 1, tile.y)]
        if beside:
            left = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"), dtype=int)[:, -1]
            right = np.asarray(Image.open(io.BytesIO(tiles[beside[0]])).convert("RGBA"), dtype=int)
            seams["rows"] += 256
            seams["torn"] += int((np.abs(left - right[:, 0]).max(axis=1) > 120).sum())
    assert seams["rows"] > 0
    assert seams["torn"] < 0.12 * seams["rows"]


def test_a_script_that_no_font_has_is_said_and_not_drawn(town):
    source, area = town
    held = everything(source, area)
    names = tuple("ᐃᓄᒃᑎᑐᑦ" if name else "" for name in held.names)
    from dataclasses import replace

    other = MapSource(replace(held, names=names, numbers=("",) * len(names)))
    found = drawn(other, area, 16)
    missing = sum((each.names.missing for each in found), Counter())
    assert set(missing) == {"CANADIAN"}
    assert not any(kind in ROADS for each in found for kind, _ in each.names.written)
