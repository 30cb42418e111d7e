"""Heights on the readout, against rasterio's own sampling of a real elevation model.

The model is the Jacksboro Fault in Tennessee, 3 arc seconds, elevations of the U.S. Geological
Survey (public domain), as the matplotlib package carries it among its sample data.
"""

import json
from importlib.resources import files

import numpy as np
import pytest

from plotter.board.heights import heights_of
from plotter.errors import BoardError
from plotter.tiles import Box

rasterio = pytest.importorskip("rasterio", reason="the extra 'maps' is not installed")
# rasterio itself multiplies its transforms in a way that a newer affine warns of.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

AREA = Box(36.45, -84.40, 36.75, -84.10)
READ = """([block, places]) => {
  const coded = Uint8Array.from(atob(block.packed), (c) => c.charCodeAt(0));
  const stream = new Blob([coded]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(stream).arrayBuffer().then((planes) => {
    const net = unpackHeights(new Uint8Array(planes), block.rows * block.columns);
    return places.map((p) => heightOn(net, block, p[0], p[1])); }); }"""


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    from matplotlib import cbook

    with cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        heights = data["elevation"]
        # The file's "ymin" is its northern edge.
        west, north, step = float(data["xmin"]), float(data["ymin"]), float(data["dx"])
    path = tmp_path_factory.mktemp("heights") / "fault.tif"
    with rasterio.open(
        path, "w", driver="GTiff", count=1, dtype="int16", crs="EPSG:4326", nodata=-32768,
        height=heights.shape[0], width=heights.shape[1],
        transform=rasterio.transform.from_origin(west, north, step, step),
    ) as out:  # fmt: skip
        out.write(heights, 1)
    return path


def read(chromium, data, places):
    context = chromium.new_context(offline=True)
    page = context.new_page()
    text = files("plotter.board").joinpath("assets", "heights.js").read_text("utf-8")
    page.add_script_tag(content=f"function block() {{ return {json.dumps(data)}; }}{text}")
    found = page.evaluate(READ, [data, places])
    context.close()
    return found


@pytest.mark.browser
@pytest.mark.parametrize("budget", [500_000, 40_000, 8_000])
def test_heights_are_those_that_rasterio_samples(chromium, file, budget):
    made = heights_of(file, AREA, budget_bytes=budget)
    assert made.packed_bytes <= budget
    random = np.random.default_rng(5)
    lat, lon = random.uniform(36.46, 36.72, 400), random.uniform(-84.39, -84.11, 400)
    with rasterio.open(file) as model:
        # Middles of the model's cells: what it says there is no matter of interpolation.
        rows, columns = rasterio.transform.rowcol(model.transform, lon, lat)
        xs, ys = model.xy(rows, columns)
        truth = np.array([v[0] for v in model.sample(zip(xs, ys, strict=True))], dtype=float)
    ours = np.array(read(chromium, made.data, np.column_stack([ys, xs]).tolist()), dtype=float)
    apart = np.abs(ours - truth)
    # What is stated holds; three standard errors of a share of .95 among 400 are .033.
    assert (apart <= made.strays_m + 0.51).mean() > 0.95 - 0.033
    assert np.quantile(apart, 0.80) < made.strays_m + 0.51
    if budget == 500_000:
        assert made.strays_m < 10.0


@pytest.mark.browser
def test_beyond_the_model_nothing_is_known(chromium, file):
    wide = Box(36.0, -85.5, 37.2, -83.5)
    made = heights_of(file, wide)
    assert read(chromium, made.data, [[36.1, -85.2], [40.0, 0.0], [36.6, -84.25]])[:2] == [
        None,
        None,
    ]
    assert read(chromium, made.data, [[36.6, 275.75]])[0] > 100  # a whole turn on
    with pytest.raises(BoardError, match="has no heights of the area"):
        heights_of(file, Box(10.0, 10.0, 10.5, 10.5))


def test_what_is_no_model_is_refused(tmp_path):
    path = tmp_path / "words.tif"
    path.write_text("no heights", encoding="utf-8")
    with pytest.raises(BoardError, match="cannot read heights"):
        heights_of(path, AREA)


@pytest.mark.browser
def test_the_readout_says_the_height_and_where_it_is_from(opened, example_scene, file):
    from dataclasses import replace

    from plotter.board import build_board

    shown = replace(example_scene, view=AREA)
    page = opened(build_board(shown, heights=heights_of(file, AREA)))
    page.wait_for_selector("body.heights")
    assert page.locator("#readout .height").inner_text().endswith(" m up")
    page.get_by_role("button", name="Tools").click()
    words = page.locator("#tool-position").inner_text()
    assert "fault.tif" in words
    assert "in 95 of 100 places" in words


@pytest.mark.parametrize("dtype", ["int16", "uint16", "float32"])
def test_a_model_much_larger_than_the_area_is_cut_by_itself(tmp_path, dtype):
    """A whole country of 6 by 6 degrees for an area of 4 km: heights are a plane's, by hand."""
    side, step = 3_000, 0.002
    row, column = np.mgrid[0:side, 0:side]
    heights = 100.0 + 0.2 * column + 0.1 * row
    void = {"int16": -9999, "uint16": 65_535, "float32": np.nan}[dtype]
    heights[:400] = void  # not declared
    path = tmp_path / "country.tif"
    with rasterio.open(
        path, "w", driver="GTiff", count=1, dtype=dtype, crs="EPSG:4326", height=side, width=side,
        transform=rasterio.transform.from_origin(5.0, 50.0, step, step), compress="deflate",
    ) as out:  # fmt: skip
        out.write(heights.astype(dtype), 1)
    area = Box(47.00, 8.00, 47.04, 8.06)
    found = heights_of(path, area)
    assert found.strays_m <= 1.0
    assert "within" in found.in_words()
    words = json.dumps(found.data, allow_nan=False)
    assert "NaN" not in words
    # On the edge of what is known no mark for unknown is averaged into the heights.
    edge = heights_of(path, Box(49.18, 8.00, 49.22, 8.06))
    assert edge.strays_m <= 1.0
    with pytest.raises(BoardError, match="no heights of the area"):
        heights_of(path, Box(49.5, 8.0, 49.6, 8.1))
