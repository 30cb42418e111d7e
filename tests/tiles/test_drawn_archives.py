"""Vector tiles and GeoTIFFs in the folder of archives: drawn when they are asked for.

The vector tiles are cut by GDAL from the real extract that pyogrio carries (OpenStreetMap
contributors, ODbL); places are checked with PROJ.
"""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pyproj import Transformer

from plotter.errors import TileError
from plotter.tiles import archives_in, open_archive, read_tiles, tile_at
from plotter.tiles.build.schemas import kind_in_layer
from plotter.tiles.grid import Box
from plotter.tiles.reading import tile_ids

rasterio = pytest.importorskip("rasterio", reason="the extra 'maps' is not installed")
pyogrio = pytest.importorskip("pyogrio", reason="the extra 'maps' is not installed")
# rasterio itself multiplies its transforms in a way that a newer affine warns of.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

UTM = 32727
CORNER = (380_000.0, 5_746_000.0)  # north-west, on invented ground in the sea
TO_DEGREES = Transformer.from_crs(UTM, 4326, always_xy=True)
DARK, BRIGHT = (40, 60, 160), (250, 240, 200)


@pytest.fixture(scope="module")
def roads():
    extract = Path(pyogrio.__file__).parent / "tests/fixtures/sample.osm.pbf"
    pyogrio.set_gdal_config_options({"OSM_USE_CUSTOM_INDEXING": "NO"})  # it is not in order
    lines = pyogrio.read_dataframe(extract, layer="lines", bbox=(-0.3, 51.7, -0.2, 51.8))
    pyogrio.set_gdal_config_options({"OSM_USE_CUSTOM_INDEXING": None})
    roads = lines[lines.highway.notna()][["name", "highway", "geometry"]]
    return roads.rename(columns={"highway": "class"})


@pytest.fixture(scope="module", params=["MBTiles", "PMTiles"])
def vectors(request, roads, tmp_path_factory):
    path = tmp_path_factory.mktemp("vector") / f"roads.{request.param.lower()}"
    pyogrio.write_dataframe(
        roads, path, driver=request.param, layer="transportation", MINZOOM=11, MAXZOOM=14
    )
    return path


def pixel_of(place, zoom):
    """Tile and pixel of longitude and latitude, by PROJ's web mercator."""
    x, y = Transformer.from_crs(4326, 3857, always_xy=True).transform(*place)
    side = 256 * 2**zoom / (2 * np.pi * 6378137.0)
    column, row = x * side + 128 * 2**zoom, 128 * 2**zoom - y * side
    tile = tile_at(place[1], place[0], zoom)
    assert (tile.x, tile.y) == (int(column // 256), int(row // 256))
    return tile, int(column % 256), int(row % 256)


def drawn(archive, tile):
    [(found, png)] = list(read_tiles(archive, [tile]))
    assert found == tile
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA").convert("RGB")).astype(int)


@pytest.mark.parametrize("zoom", [13, 14, 16])
def test_a_major_road_of_vector_tiles_is_dark_where_it_lies(vectors, roads, zoom):
    archive = open_archive(vectors)
    assert archive.kind == "vector"
    assert [level.zoom for level in archive.coverage] == [11, 12, 13, 14, 15, 16]
    main = roads[roads["class"].isin(["secondary", "motorway"])].geometry.iloc[0]
    for share in (0.3, 0.5, 0.7):
        place = main.interpolate(share, normalized=True)
        tile, x, y = pixel_of((place.x, place.y), zoom)
        near = drawn(archive, tile)[max(y - 4, 0) : y + 5, max(x - 4, 0) : x + 5]
        assert near.min() < 120, "no dark line within four pixels of the road"


def test_vector_tiles_are_only_where_there_are_some(vectors):
    archive = open_archive(vectors)
    here = Box(51.76, -0.242, 51.77, -0.226)
    for zoom in (14, 16):
        ids = tile_ids(archive, here, zoom)
        assert ids
        assert [tile for tile, _ in read_tiles(archive, ids)] == list(ids)
    assert tile_ids(archive, Box(40.0, 0.0, 40.1, 0.1), 14) == ()
    assert tile_ids(archive, here, 17) == ()
    assert list(read_tiles(archive, [tile_at(40.0, 0.0, 15)])) == []


def test_layers_of_other_names_and_features_without_a_look_are_left_out():
    assert kind_in_layer("water", {}) == "water"
    assert kind_in_layer("streets", {"kind": "motorway_link"}) == "major road"
    assert kind_in_layer("landcover", {"class": "wood", "subclass": "forest"}) == "wood"
    assert kind_in_layer("anything", {"highway": "track"}) == "track"
    assert kind_in_layer("boundary", {"class": "national"}) is None
    assert kind_in_layer("transportation", {"class": "ferry"}) is None


@pytest.fixture(params=["GTiff", "COG"])
def scan(request, tmp_path):
    """Squares of 200 m, the north-western one dark."""
    squares = np.indices((12, 12)).sum(axis=0) % 2
    fine = np.kron(squares, np.ones((100, 100), dtype=int))
    bands = np.where(fine, np.array(BRIGHT)[:, None, None], np.array(DARK)[:, None, None])
    path = tmp_path / f"{request.param}.tif"
    with rasterio.open(
        tmp_path / "plain.tmp", "w", driver="GTiff", count=3, height=1200, width=1200,
        dtype="uint8", crs=f"EPSG:{UTM}", photometric="RGB",
        transform=rasterio.transform.from_origin(*CORNER, 2.0, 2.0),
    ) as file:  # fmt: skip
        file.write(bands.astype("uint8"))
        file.update_tags(TIFFTAG_COPYRIGHT="Own survey")
    from rasterio.shutil import copy

    copy(tmp_path / "plain.tmp", path, driver=request.param)
    return path


def test_a_scanned_map_is_used_as_it_lies(scan):
    archive = open_archive(scan)
    assert (archive.kind, archive.name, archive.attribution) == ("geotiff", scan.stem, "Own survey")
    finest = archive.coverage[-1].zoom
    # Web-mercator pixels of 2 m on the ground at 38.4° S: 2 / cos(38.4°) = 2.55 m, level 16.
    assert finest == 16
    for column, row in ((0, 0), (5, 2), (11, 11), (7, 4)):
        place = TO_DEGREES.transform(
            CORNER[0] + 200 * (column + 0.5), CORNER[1] - 200 * (row + 0.5)
        )
        tile, x, y = pixel_of(place, finest)
        assert tile in tile_ids(archive, tile.box(), finest)
        colour = DARK if (column + row) % 2 == 0 else BRIGHT
        assert np.abs(drawn(archive, tile)[y, x] - colour).max() <= 12
    assert list(read_tiles(archive, [tile_at(10.0, 10.0, finest)])) == []


def test_heights_in_the_folder_become_relief(tmp_path):
    y, x = np.mgrid[0:300, 0:300]
    cone = np.maximum(600.0 - np.hypot(x - 150, y - 150) * 4.0, 0.0).astype("float32")
    with rasterio.open(
        tmp_path / "cone.tif", "w", driver="GTiff", count=1, height=300, width=300,
        dtype="float32", crs=f"EPSG:{UTM}",
        transform=rasterio.transform.from_origin(*CORNER, 20.0, 20.0),
    ) as file:  # fmt: skip
        file.write(cone, 1)
    archive = open_archive(tmp_path / "cone.tif")
    place = TO_DEGREES.transform(CORNER[0] + 3000, CORNER[1] - 3000)
    tile, _, _ = pixel_of(place, archive.coverage[-1].zoom)
    assert np.ptp(drawn(archive, tile).sum(axis=2)) > 100


def test_a_picture_without_a_place_is_refused_and_stops_nothing(scan, tmp_path):
    Image.new("RGB", (8, 8)).save(tmp_path / "holiday.tif")
    (tmp_path / "torn.tif").write_bytes(scan.read_bytes()[:300])
    found = archives_in(tmp_path)
    assert [archive.path for archive in found.archives] == [scan]
    reasons = {refused.path.name: refused.reason for refused in found.refused}
    assert "does not say where on Earth it lies" in reasons["holiday.tif"]
    assert "torn.tif" in reasons["torn.tif"]
    with pytest.raises(TileError, match="no map at"):
        open_archive(tmp_path / "gone.tif")
