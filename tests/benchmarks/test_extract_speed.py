"""A large extract: its index beside one pass of the library alone, its memory, and a box out of it.

The extract is made by `large_extract.py`; PLOTTER_LARGE_EXTRACT names one that is there already.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

COPIES = 49
PASS = """
import json, resource, sys, tempfile, time
import osmium
begun = time.perf_counter()
with tempfile.TemporaryDirectory() as folder:
    shapes = osmium.geom.WKBFactory()
    stream = osmium.FileProcessor(sys.argv[1]).with_locations(f"sparse_file_array,{folder}/x")
    for found in stream.with_areas().with_filter(osmium.filter.KeyFilter(
            "highway", "building", "natural", "landuse", "waterway", "railway", "leisure")):
        try:
            if found.is_area():
                shapes.create_multipolygon(found)
            elif found.is_way():
                shapes.create_linestring(found)
        except (osmium.InvalidLocationError, RuntimeError):
            pass
print(json.dumps({"s": time.perf_counter() - begun,
    "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}))
"""
INDEX = """
import json, resource, sys, time
from pathlib import Path
from plotter.tiles.build.index import indexed
begun = time.perf_counter()
index = indexed(Path(sys.argv[1]))
made = time.perf_counter() - begun
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
begun = time.perf_counter()
west, south = index.known.bounds[:2]
found = index.read((west, south, west + 0.13, south + 0.09), 18)
print(json.dumps({"s": made, "mb": peak, "bytes": index.path.stat().st_size,
    "box_s": time.perf_counter() - begun, "box": len(found.kinds)}))
"""


def child(code, *arguments):
    call = [sys.executable, "-W", "ignore", "-c", code, *map(str, arguments)]
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    given = os.environ.get("PLOTTER_LARGE_EXTRACT")
    if given:
        return Path(given)
    path = tmp_path_factory.mktemp("large") / "large.osm.pbf"
    script = Path(__file__).parent / "large_extract.py"
    subprocess.run([sys.executable, script, str(COPIES), path], check=True)
    return path


def test_the_index_beside_one_pass_of_the_library(large):
    plain = child(PASS, large)
    index = child(INDEX, large)
    print(
        f"\n{large.stat().st_size / 1e6:.0f} MB: one pass {plain['s']:.1f} s, "
        f"{plain['mb']:.0f} MB; "
        f"index {index['s']:.1f} s ({index['s'] / plain['s']:.1f} times), {index['mb']:.0f} MB, "
        f"{index['bytes'] / 1e6:.0f} MB on disk; a box of 10 km: {index['box']} features in "
        f"{index['box_s']:.2f} s"
    )
    assert index["s"] < 6.0 * plain["s"]
    assert index["mb"] < 2_000.0
