"""A real elevation model that none of us made, as GeoTIFF, SRTM and DTED.

The model is the Jacksboro Fault in Tennessee, 3 arc seconds, elevations of the U.S. Geological
Survey (public domain), as the matplotlib package carries it among its sample data. Expected heights
are interpolated from its own numbers by scipy, at places by PROJ.
"""

import numpy as np
import pytest
import shapely
from pyproj import Transformer
from scipy.interpolate import RegularGridInterpolator

from plotter.geodesy.position import Area, Position
from plotter.tiles import open_archive, read_tiles, tile_at
from plotter.tiles.build import NO_FEATURES, build_archive, read_rasters
from plotter.tiles.build.rasters import Window
from plotter.tiles.build.relief import contours

rasterio = pytest.importorskip("rasterio", reason="the extra 'maps' is not installed")
# rasterio itself multiplies its transforms in a way that a newer affine warns of.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

PER_DEGREE = 1200
CENTRE = Position(36.59, -84.25)
ZOOM = 13


@pytest.fixture(scope="module")
def model():
    """Heights, and the longitude and latitude of the middle of the north-western cell."""
    from matplotlib import cbook

    with cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        heights = data["elevation"]
        # The file's "ymin" is its northern edge.
        west, north, step = float(data["xmin"]), float(data["ymin"]), float(data["dx"])
    assert step == pytest.approx(1 / PER_DEGREE, abs=1e-8)
    return heights, west + 0.5 / PER_DEGREE, north - 0.5 / PER_DEGREE


@pytest.fixture(scope="module")
def height_at(model):
    heights, west, north = model
    lat = north - np.arange(heights.shape[0]) / PER_DEGREE
    lon = west + np.arange(heights.shape[1]) / PER_DEGREE
    inside = RegularGridInterpolator((lat[::-1], lon), heights[::-1].astype(float))

    def at(lon_deg, lat_deg):
        return inside(np.column_stack((lat_deg, lon_deg)))

    return at


@pytest.fixture(scope="module", params=["tif", "hgt", "dt1"])
def file(request, model, tmp_path_factory):
    """The model by itself, or in its whole degree as SRTM and DTED cut them."""
    from rasterio.shutil import copy

    heights, west, north = model
    folder = tmp_path_factory.mktemp(request.param)
    if request.param == "tif":
        whole, corner = heights, (west - 0.5 / PER_DEGREE, north + 0.5 / PER_DEGREE)
    else:
        whole = np.full((PER_DEGREE + 1, PER_DEGREE + 1), -32768, dtype="int16")
        row, column = round((37.0 - north) * PER_DEGREE), round((west + 85.0) * PER_DEGREE)
        whole[row : row + heights.shape[0], column : column + heights.shape[1]] = heights
        corner = (-85.0 - 0.5 / PER_DEGREE, 37.0 + 0.5 / PER_DEGREE)
    plain = folder / "plain.tif"
    with rasterio.open(
        plain, "w", driver="GTiff", count=1, dtype="int16", crs="EPSG:4326", nodata=-32768,
        height=whole.shape[0], width=whole.shape[1],
        transform=rasterio.transform.from_origin(*corner, 1 / PER_DEGREE, 1 / PER_DEGREE),
    ) as out:  # fmt: skip
        out.write(whole, 1)
    if request.param == "tif":
        return plain
    path = folder / f"N36W085.{request.param}"
    copy(plain, path, driver={"hgt": "SRTMHGT", "dt1": "DTED"}[request.param])
    return path


def window_over(place, zoom, tiles=2):
    tile = tile_at(place.lat_deg, place.lon_deg, zoom)
    return Window(zoom, tile.x * 256, tile.y * 256, tiles * 256)


def middles(window, count):
    """Longitude and latitude of the middles of the window's cells, by PROJ."""
    a, _, x0, _, e, y0 = window.transform(count)
    steps = np.arange(count) + 0.5
    x, y = np.meshgrid(x0 + a * steps, y0 + e * steps)
    return Transformer.from_crs(3857, 4326, always_xy=True).transform(x.ravel(), y.ravel())


def test_heights_are_those_of_the_model(file, height_at):
    window, count = window_over(CENTRE, ZOOM), 256
    found = read_rasters([file]).heights_m(window, count).ravel()
    expected = height_at(*middles(window, count))
    assert not np.isnan(found).any()
    # Whole metres in the file; GDAL warps to an eighth of a pixel, and slopes here reach 1 in 2.
    assert np.abs(found - expected).max() < 3.0
    assert np.abs(found - expected).mean() < 0.6


def test_contours_run_at_their_heights(file, height_at):
    window = window_over(CENTRE, ZOOM)
    lines = contours(read_rasters([file]).heights_m(window, 256), window)
    index = [k for k, name in enumerate(lines.names) if name]
    assert len(index) > 5
    for k in index:
        xy = shapely.get_coordinates(lines.geometries[k])
        half = np.pi * 6378137.0
        lon, lat = Transformer.from_crs(3857, 4326, always_xy=True).transform(
            (2 * xy[:, 0] - 1) * half, (1 - 2 * xy[:, 1]) * half
        )
        assert np.abs(height_at(lon, lat) - float(lines.names[k])).max() < 4.0


def test_an_archive_of_real_hills_is_built_and_read(file, tmp_path):
    out = tmp_path / "hills.mbtiles"
    written = build_archive(
        NO_FEATURES, Area(CENTRE, 3_000.0), range(12, 14), out,
        name="Hills", credit="U.S. Geological Survey", under=read_rasters([file]),
    ).written  # fmt: skip
    assert written >= 6
    tile = tile_at(CENTRE.lat_deg, CENTRE.lon_deg, 13)
    [(_, png)] = list(read_tiles(open_archive(out), [tile]))
    assert len(png) > 3_000  # shading and contours, not one colour
