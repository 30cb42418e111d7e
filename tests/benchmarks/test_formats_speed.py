"""Speed of reading and writing positions, as ratios to a peer measured in the same run.

python -m pytest -m slow -s tests/benchmarks/test_formats_speed.py
"""

import os
import subprocess
import sys
import time

import mgrs as mgrs_package
import numpy as np
import pytest

from plotter.formats.mgrs import FORMAT
from plotter.formats.mgrs_arrays import format_mgrs_array

pytestmark = pytest.mark.slow

POINTS = 100_000


def best_of(rounds, *calls):
    """Least seconds of each call, taken in turn so that both meet the same machine."""
    least = [float("inf")] * len(calls)
    for _ in range(rounds):
        for i, call in enumerate(calls):
            start = time.perf_counter()
            call()
            least[i] = min(least[i], time.perf_counter() - start)
    return least


@pytest.fixture
def one_core():
    """Both sides on the same single core: a second thread gains us nothing."""
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    yield
    os.sched_setaffinity(0, cores)


@pytest.fixture(scope="module")
def points():
    rng = np.random.default_rng(11)
    lat = np.degrees(np.arcsin(rng.uniform(-1, 1, POINTS)))
    return lat, rng.uniform(-180, 180, POINTS)


@pytest.mark.usefixtures("one_core")
def test_latlon_to_mgrs_text(points):
    lat, lon = points
    pairs = list(zip(lat.tolist(), lon.tolist(), strict=True))
    package = mgrs_package.MGRS()
    ours, as_list, theirs = best_of(
        7,
        lambda: format_mgrs_array(lat, lon),
        lambda: format_mgrs_array(lat, lon).tolist(),
        lambda: [package.toMGRS(a, o) for a, o in pairs],
    )
    print(
        f"\nlat/lon to 10-figure MGRS, {POINTS} points, one core: {ours * 1e3:.0f} ms, "
        f"{theirs / ours:.1f} times the mgrs loop ({theirs / as_list:.1f} with a list of str)"
    )
    assert theirs / ours >= 6


@pytest.mark.usefixtures("one_core")
def test_mgrs_text_to_latlon(points):
    texts = format_mgrs_array(*points)
    listed = texts.tolist()
    package = mgrs_package.MGRS()
    ours, from_list, theirs = best_of(
        7,
        lambda: FORMAT.read_array(texts),
        lambda: FORMAT.read_array(listed),
        lambda: [package.toLatLon(text) for text in listed],
    )
    print(
        f"\n10-figure MGRS to lat/lon, {POINTS} texts, one core: {ours * 1e3:.0f} ms, "
        f"{theirs / ours:.1f} times the mgrs loop ({theirs / from_list:.1f} from a list of str)"
    )
    assert theirs / ours >= 6


def test_convert_as_a_whole_process():
    """Against what it takes to import pyproj alone, each in a fresh interpreter."""

    def run(script):
        subprocess.run([sys.executable, "-c", script], check=True, capture_output=True)

    convert = "from plotter.cli import main; main(['convert', '31U DQ 48251 11932'])"
    ours, theirs = best_of(12, lambda: run(convert), lambda: run("import pyproj"))
    print(f"\nplotter convert: {ours * 1e3:.0f} ms, {ours / theirs:.2f} times `import pyproj`")
    assert ours / theirs <= 1.5
