"""Archives drawn from rasters that the test makes: a checker in UTM, a cone, tilted planes.

Places are checked with PROJ (pyproj), which the builder does not call itself.
"""

import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from pyproj import Transformer

from plotter.cli import main
from plotter.errors import TileError
from plotter.geodesy.position import Area, Position
from plotter.tiles import TileId, open_archive, read_tiles, tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build import (
    NO_FEATURES,
    build_archive,
    estimate_archive,
    is_raster,
    read_layers,
    read_rasters,
)
from plotter.tiles.build.rasters import Window
from plotter.tiles.build.relief import contour_interval_m, contours, shading

rasterio = pytest.importorskip("rasterio", reason="the extra 'maps' is not installed")
# rasterio itself multiplies its transforms in a way that a newer affine warns of.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

UTM = 32727
CORNER = (380_000.0, 5_746_000.0)  # north-west, on invented ground in the sea
SQUARE_M = 200.0
COUNT = 12
HALF = np.pi * 6378137.0
TO_MERCATOR = Transformer.from_crs(UTM, 3857, always_xy=True)
TO_DEGREES = Transformer.from_crs(UTM, 4326, always_xy=True)
DARK, BRIGHT = (40, 60, 160), (250, 240, 200)


def write_tif(path, bands, pixel_m=2.0, corner=CORNER, crs=UTM, **more):
    bands = np.asarray(bands)
    with rasterio.open(
        path, "w", driver="GTiff", count=len(bands), height=bands.shape[1], width=bands.shape[2],
        dtype=bands.dtype, crs=None if crs is None else f"EPSG:{crs}",
        transform=rasterio.transform.from_origin(*corner, pixel_m, pixel_m), **more,
    ) as file:  # fmt: skip
        file.write(bands)
    return path


def checker():
    """Squares of 200 m, the north-western one dark: 0 dark, 1 bright."""
    each = int(SQUARE_M / 2)
    return (np.indices((COUNT * each, COUNT * each)) // each).sum(axis=0) % 2


def coloured(numbers):
    return np.array([DARK, BRIGHT], dtype=np.uint8)[numbers].transpose(2, 0, 1)


def pixel_of(east, north, zoom):
    x, y = TO_MERCATOR.transform(east, north)
    return (x + HALF) / (2 * HALF) * 2**zoom * 256, (HALF - y) / (2 * HALF) * 2**zoom * 256


def area_of_checker(radius_m=900.0):
    middle = SQUARE_M * COUNT / 2
    lon, lat = TO_DEGREES.transform(CORNER[0] + middle, CORNER[1] - middle)
    return Area(Position(lat, lon), radius_m)


def mosaic_of(path, zoom):
    """All tiles of a level as one picture, and its first pixel."""
    archive = open_archive(path)
    level = next(level for level in archive.coverage if level.zoom == zoom)
    wide = (level.east_x - level.west_x + 1) * 256
    high = (level.south_y - level.north_y + 1) * 256
    whole = np.zeros((high, wide, 4), dtype=int)
    ids = [
        TileId(zoom, x, y)
        for x in range(level.west_x, level.east_x + 1)
        for y in range(level.north_y, level.south_y + 1)
    ]
    for tile, png in read_tiles(archive, ids):
        top, left = (tile.y - level.north_y) * 256, (tile.x - level.west_x) * 256
        image = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))
        whole[top : top + 256, left : left + 256] = image
    return whole, level.west_x * 256, level.north_y * 256


def close(colour, expected):
    return np.abs(np.asarray(colour)[:3] - expected).max() < 30


def as_colours(path):
    return write_tif(path, coloured(checker()))


def as_grey(path):
    return write_tif(path, np.array([60, 230], dtype=np.uint8)[checker()][None])


def as_palette(path):
    write_tif(path, (checker() + 3).astype(np.uint8)[None], photometric="palette")
    with rasterio.open(path, "r+") as file:
        file.write_colormap(1, {3: (*DARK, 255), 4: (*BRIGHT, 255)})
    return path


def as_blocks_with_overviews(path):
    write_tif(path, coloured(checker()), tiled=True, blockxsize=256, blockysize=256)
    with rasterio.open(path, "r+") as file:
        file.build_overviews([2, 4], rasterio.enums.Resampling.average)
    return path


@pytest.mark.parametrize(
    ("make", "dark", "bright"),
    [
        (as_colours, DARK, BRIGHT),
        (as_palette, DARK, BRIGHT),
        (as_blocks_with_overviews, DARK, BRIGHT),
        (as_grey, (60,) * 3, (230,) * 3),
    ],
)
def test_corners_of_a_checker_fall_on_their_pixels(make, dark, bright, tmp_path):
    """Two pixels to each side of every inner corner lies the square that PROJ says."""
    under = read_rasters([make(tmp_path / "map.tif")])
    path = tmp_path / "map.mbtiles"
    build_archive(
        NO_FEATURES, area_of_checker(), range(15, 17), path, name="m", credit="Own", under=under
    )
    for zoom in (15, 16):
        image, left, top = mosaic_of(path, zoom)
        for i in range(2, COUNT - 1):
            for j in range(2, COUNT - 1):
                x, y = pixel_of(CORNER[0] + i * SQUARE_M, CORNER[1] - j * SQUARE_M, zoom)
                for dx, dy in ((-2, -2), (2, -2), (-2, 2), (2, 2)):
                    seen = image[int(y + dy) - top, int(x + dx) - left]
                    odd = ((i - (dx < 0)) + (j - (dy < 0))) % 2
                    assert close(seen, bright if odd else dark), (zoom, i, j, dx, dy)


def test_beyond_the_edge_it_is_see_through_and_no_tile_is_empty(tmp_path):
    under = read_rasters([as_colours(tmp_path / "map.tif")])
    area = area_of_checker(3_000.0)
    path = tmp_path / "map.mbtiles"
    written = build_archive(
        NO_FEATURES, area, range(16, 17), path, name="m", credit="Own", under=under
    ).written
    wanted = list(tiles_in(box_of_area(area), 16))
    assert 0 < written < len(wanted)
    assert estimate_archive(NO_FEATURES, area, range(16, 17), under=under).tiles == len(wanted)
    for _, png in read_tiles(open_archive(path), wanted):
        assert np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[..., 3].any()
    image, left, top = mosaic_of(path, 16)
    x, y = pixel_of(*CORNER, 16)
    assert image[int(y) - top + 3, int(x) - left + 3, 3] == 255
    assert image[int(y) - top - 3, int(x) - left + 3, 3] == 0
    assert image[int(y) - top + 3, int(x) - left - 3, 3] == 0


def test_declared_empty_ground_is_see_through(tmp_path):
    bands = coloured(checker())
    bands[:, :600] = 255
    under = read_rasters([write_tif(tmp_path / "map.tif", bands, nodata=255)])
    zoom = 15
    left, top = (int(v) for v in pixel_of(*CORNER, zoom))
    image = under.image(Window(zoom, left, top, 512))
    x, y = pixel_of(CORNER[0] + 1100.0, CORNER[1] - 1100.0, zoom)
    assert image[int(y) - top, int(x) - left, 3] == 0
    x, y = pixel_of(CORNER[0] + 1100.0, CORNER[1] - 1300.0, zoom)
    assert image[int(y) - top, int(x) - left, 3] == 255


def test_drawing_goes_on_where_it_stopped(tmp_path):
    under = read_rasters([as_colours(tmp_path / "map.tif")])
    path = tmp_path / "map.mbtiles"
    told = {"name": "m", "credit": "Own", "under": under}

    class StoppedError(Exception):
        pass

    def stop(_):
        raise StoppedError

    levels = range(14, 17)
    with pytest.raises(StoppedError):
        build_archive(NO_FEATURES, area_of_checker(), levels, path, progress=stop, **told)
    with closing(sqlite3.connect(path)) as base:
        (before,) = base.execute("SELECT COUNT(*) FROM tiles").fetchone()
    written = build_archive(NO_FEATURES, area_of_checker(), levels, path, **told).written
    assert before > 0
    assert written > 0
    assert build_archive(NO_FEATURES, area_of_checker(), levels, path, **told).written == 0
    assert sum(level.tiles for level in open_archive(path).coverage) == before + written


def test_features_lie_over_a_scanned_map_and_areas_do_not_hide_it(tmp_path):
    under = read_rasters([as_colours(tmp_path / "map.tif")])
    middle = SQUARE_M * COUNT / 2
    ends = [
        TO_DEGREES.transform(CORNER[0] + x, CORNER[1] - middle - 100.0) for x in (400.0, 2000.0)
    ]
    box = box_of_area(area_of_checker())
    ring = [
        [box.west_deg, box.south_deg], [box.east_deg, box.south_deg],
        [box.east_deg, box.north_deg], [box.west_deg, box.south_deg],
    ]  # fmt: skip
    rows = [
        ("major road", {"type": "LineString", "coordinates": ends}),
        ("wood", {"type": "Polygon", "coordinates": [ring]}),
    ]
    layer = tmp_path / "lines.geojson"
    found = [{"type": "Feature", "properties": {"kind": k}, "geometry": g} for k, g in rows]
    layer.write_text(json.dumps({"type": "FeatureCollection", "features": found}))
    features = read_layers([layer], box)
    path = tmp_path / "map.mbtiles"
    area = area_of_checker()
    build_archive(features, area, range(16, 17), path, name="m", credit="Own", under=under)
    image, left, top = mosaic_of(path, 16)
    x, y = pixel_of(CORNER[0] + middle + 100.0, CORNER[1] - middle - 100.0, 16)
    road = image[int(y) - top, int(x) - left]
    assert not close(road, DARK)
    assert not close(road, BRIGHT)
    above = image[int(y) - top - 20, int(x) - left]
    assert close(above, DARK) or close(above, BRIGHT)


# --- heights

PEAK_M = 600.0
SLOPE = 0.4  # the cone falls 0.4 m for each metre
DEM_PIXEL_M = 10.0
DEM_SIDE = 400
SUMMIT = (CORNER[0] + DEM_PIXEL_M * DEM_SIDE / 2, CORNER[1] - DEM_PIXEL_M * DEM_SIDE / 2)


def cone(path, dtype="float32", **more):
    at = (np.arange(DEM_SIDE) + 0.5 - DEM_SIDE / 2) * DEM_PIXEL_M
    heights = PEAK_M - SLOPE * np.hypot(*np.meshgrid(at, at))
    return write_tif(path, heights.round(3).astype(dtype)[None], pixel_m=DEM_PIXEL_M, **more)


def window_about_summit(zoom, pixels):
    x, y = pixel_of(*SUMMIT, zoom)
    return Window(zoom, int(x) - pixels // 2, int(y) - pixels // 2, pixels)


def to_utm(world):
    x, y = world[:, 0] * 2 * HALF - HALF, HALF - world[:, 1] * 2 * HALF
    return np.column_stack(TO_MERCATOR.transform(x, y, direction="INVERSE"))


@pytest.mark.parametrize("dtype", ["float32", "int16"])
def test_contours_of_a_cone_are_circles_of_the_right_radius(dtype, tmp_path):
    """Radius = (summit − height) / slope, in UTM; half a pixel of the model is allowed."""
    under = read_rasters([cone(tmp_path / "dem.tif", dtype)])
    window = window_about_summit(14, 512)
    found = contours(under.heights_m(window, 256), window)
    named = {}
    for shape, kind, name in zip(found.geometries, found.kinds, found.names, strict=True):
        if kind == "index contour" and float(name) >= 0.0:  # below, the window cuts the circles
            named[float(name)] = shape
    assert sorted(named) == [0.0, 100.0, 200.0, 300.0, 400.0, 500.0]
    # Whole metres of int16, 2.5 m apart on this slope, add that much.
    allowed = DEM_PIXEL_M / 2 + (1.0 / SLOPE if dtype == "int16" else 0.0)
    for height, shape in named.items():
        places = to_utm(shapely.get_coordinates(shape))
        radius = np.hypot(*(places - SUMMIT).T)
        assert np.abs(radius - (PEAK_M - height) / SLOPE).max() < allowed
        assert shape.is_ring
    assert contour_interval_m(14) == 20.0
    assert found.kinds.count("contour") >= 4 * found.kinds.count("index contour")


def test_a_slope_to_the_north_west_is_brightest():
    """A plane of 45 degrees, by Lambert's law worked out by hand: 1, flat sin 45 degrees, 0."""
    window = Window(14, 256 * 7000, 256 * 10000, 64)
    y = np.pi * (1 - 2 * (window.top + 32) / (256 << 14))
    cell_m = 2 * HALF / (256 << 14) / np.cosh(y)
    column, row = np.meshgrid(np.arange(64), np.arange(64))
    rise = cell_m / np.sqrt(2.0)

    def middle(heights):
        return shading(heights, window)[32, 32]

    assert middle((column + row) * rise) == pytest.approx(1.0, abs=0.001)
    assert middle(0.0 * column) == pytest.approx(0.7 + 0.3 * np.sqrt(0.5), abs=1e-9)
    assert middle(-(column + row) * rise) == pytest.approx(0.7, abs=0.001)
    north_east, south_west = middle((row - column) * rise), middle((column - row) * rise)
    assert north_east == pytest.approx(south_west, abs=0.001)
    assert middle(np.full((64, 64), np.nan)) == middle(0.0 * column)


def test_relief_is_drawn_pale_with_contours_and_nothing_where_unknown(tmp_path):
    under = read_rasters([cone(tmp_path / "dem.tif")])
    lon, lat = TO_DEGREES.transform(*SUMMIT)
    path = tmp_path / "relief.mbtiles"
    area = Area(Position(lat, lon), 6_000.0)
    build_archive(NO_FEATURES, area, range(14, 15), path, name="r", credit="Own", under=under)
    image, left, top = mosaic_of(path, 14)

    def brightness(east_m, north_m):
        x, y = pixel_of(SUMMIT[0] + east_m, SUMMIT[1] + north_m, 14)
        x, y = int(x) - left, int(y) - top
        return np.median(image[y - 9 : y + 10, x - 9 : x + 10, :3].mean(axis=2))

    lit, shade = brightness(-500.0, 500.0), brightness(500.0, -500.0)
    assert lit > shade + 10
    assert shade > 0.65 * 255  # pale enough for ink on it
    x, y = pixel_of(SUMMIT[0] - 2_300.0, SUMMIT[1], 14)
    assert image[int(y) - top, int(x) - left, 3] == 0
    # On the 300 m contour, radius 750 m, it is darker than between the lines.
    on = [
        image[
            int(pixel_of(*place, 14)[1]) - top - 1 : int(pixel_of(*place, 14)[1]) - top + 2,
            int(pixel_of(*place, 14)[0]) - left - 1 : int(pixel_of(*place, 14)[0]) - left + 2,
            :3,
        ].mean(axis=2).min()
        for a in np.radians([10, 60, 100, 170, 190, 250, 280, 350])
        for place in [(SUMMIT[0] + 750 * np.cos(a), SUMMIT[1] + 750 * np.sin(a))]
    ]  # fmt: skip
    assert sum(value < shade - 20 for value in on) >= 6


def test_unknown_heights_and_feet(tmp_path):
    heights = np.full((1, 50, 50), 1000.0, dtype=np.float32)
    heights[0, :10] = -9999.0  # declared
    heights[0, 10:20] = -32768.0  # not declared, but no height on Earth
    path = write_tif(tmp_path / "dem.tif", heights, pixel_m=100.0, nodata=-9999.0)
    with rasterio.open(path, "r+") as file:
        file.units = ["ft"]
    under = read_rasters([path])
    window = Window(13, *(int(v) for v in pixel_of(*CORNER, 13)), 256)
    found = under.heights_m(window, 256)
    x, y = (
        int(v - w)
        for v, w in zip(
            pixel_of(CORNER[0] + 2500.0, CORNER[1] - 3500.0, 13),
            (window.left, window.top),
            strict=True,
        )
    )
    assert found[y, x] == pytest.approx(304.8)
    x, y = pixel_of(CORNER[0] + 2500.0, CORNER[1] - 500.0, 13)
    assert np.isnan(found[int(y) - window.top, int(x) - window.left])
    with rasterio.open(path, "r+") as file:
        file.units = ["furlong"]
    with pytest.raises(TileError, match="furlong"):
        read_rasters([path])


def test_what_cannot_be_used_says_so(tmp_path):
    flat = np.zeros((1, 8, 8), dtype=np.uint8)
    with pytest.raises(TileError, match="no map at"):
        read_rasters([tmp_path / "none.tif"])
    (tmp_path / "words.tif").write_text("no picture")
    with pytest.raises(TileError, match="cannot be read as a map"):
        read_rasters([tmp_path / "words.tif"])
    # A text that would lead to another file, or to a network, is not followed.
    (tmp_path / "leads.tif").write_text(
        "<VRTDataset rasterXSize='1' rasterYSize='1'><VRTRasterBand dataType='Byte' band='1'/>"
        "</VRTDataset>"
    )
    with pytest.raises(TileError, match="cannot be read as a map"):
        read_rasters([tmp_path / "leads.tif"])
    with pytest.raises(TileError, match="where on Earth"):
        read_rasters([write_tif(tmp_path / "nowhere.tif", flat, crs=None)])
    many = np.zeros((5, 8, 8), dtype=np.uint16)
    with pytest.raises(TileError, match="5 bands of uint16"):
        read_rasters([write_tif(tmp_path / "many.tif", many)])
    whole = as_colours(tmp_path / "cut.tif")
    whole.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    with pytest.raises(TileError, match=r"cut\.tif"):
        build_archive(
            NO_FEATURES, area_of_checker(), range(14, 15), tmp_path / "x.mbtiles",
            name="x", credit="x", under=read_rasters([whole]),
        )  # fmt: skip


def test_the_command_draws_a_scanned_map(tmp_path, capsys):
    map_file = as_colours(tmp_path / "map.tif")
    with rasterio.open(map_file, "r+") as file:
        file.update_tags(TIFFTAG_COPYRIGHT="Invented Survey")
    output = tmp_path / "out.mbtiles"
    centre = area_of_checker().centre
    place = f"{-centre.lat_deg:.5f}S,{-centre.lon_deg:.5f}W,1"
    with pytest.raises(SystemExit, match=r"^0$"):
        main(["tiles", "build", place, "--from", str(map_file), "-o", str(output), "--zooms", "14"])
    assert "1 scanned map" in capsys.readouterr().err
    assert open_archive(output).attribution == "Invented Survey"


def test_endings():
    assert is_raster(Path("A.TIF"))
    assert not is_raster(Path("a.gpkg"))
