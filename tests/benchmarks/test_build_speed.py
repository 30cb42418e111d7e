"""Building a map archive: its rate beside pyogrio reading the same features, and its memory."""

import json
import subprocess
import sys
import time

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
tiles = build_archive(features, area, range(10, last + 1), out, name="x", credit="invented")
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
