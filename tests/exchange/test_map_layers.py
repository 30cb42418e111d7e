import json

import pytest

from plotter.errors import TableError
from plotter.exchange.map_layers import read_areas, read_lines
from plotter.geodesy.position import Position

RING = [[8.0, 47.0], [8.1, 47.0], [8.1, 47.1], [8.0, 47.1], [8.0, 47.0]]
HOLE = [[8.02, 47.02], [8.02, 47.04], [8.04, 47.04], [8.02, 47.02]]


def written(path, *geometries):
    features = [{"type": "Feature", "properties": None, "geometry": g} for g in geometries]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    return path


def corners(ring):
    return tuple(Position(lat, lon) for lon, lat in ring[:-1])


def test_areas_keep_their_holes_and_collections_are_taken_apart(tmp_path):
    polygon = {"type": "Polygon", "coordinates": [RING, HOLE]}
    line = {"type": "LineString", "coordinates": [[8, 47, 400.0], [9, 47, 410.0]]}
    collection = {"type": "GeometryCollection", "geometries": [
        {"type": "MultiPolygon", "coordinates": [[RING]]}, line,
    ]}  # fmt: skip
    path = written(tmp_path / "a.geojson", polygon, collection, None)
    first, second = read_areas(path)
    assert first.outer == corners(RING)
    assert first.holes == (corners(HOLE),)
    assert second.outer == corners(RING)
    # Heights are left out.
    assert read_lines(path) == ((Position(47, 8), Position(47, 9)),)


def test_every_line_of_a_multiline_is_one(tmp_path):
    many = {"type": "MultiLineString", "coordinates": [RING[:2], RING[2:4]]}
    assert len(read_lines(written(tmp_path / "roads.json", many))) == 2


@pytest.fixture
def frame():
    geopandas = pytest.importorskip("geopandas")
    shapely = pytest.importorskip("shapely")
    roads = geopandas.GeoDataFrame(geometry=[shapely.LineString(RING[:2])], crs=4326)
    return roads, geopandas


def test_a_geopackage_in_another_system_is_brought_to_degrees(tmp_path, frame):
    roads, geopandas = frame
    shapely = pytest.importorskip("shapely")
    path = tmp_path / "all.gpkg"
    roads.to_crs(32632).to_file(path, layer="roads")
    area = geopandas.GeoDataFrame(geometry=[shapely.Polygon(RING)], crs=4326)
    area.to_file(path, layer="area")
    ((start, end),) = read_lines(path)
    # PROJ there and back again, within a millimetre.
    assert (start.lat_deg, start.lon_deg) == pytest.approx((47.0, 8.0), abs=1e-8)
    assert (end.lat_deg, end.lon_deg) == pytest.approx((47.0, 8.1), abs=1e-8)
    assert len(read_areas(path)) == 1


def test_a_geopackage_without_a_system_is_refused(tmp_path, frame):
    roads, _ = frame
    path = tmp_path / "roads.gpkg"
    with pytest.warns(UserWarning, match="crs"):
        roads.set_crs(None, allow_override=True).to_file(path, layer="roads")
    with pytest.raises(TableError, match="does not say its system of coordinates"):
        read_lines(path)


@pytest.mark.parametrize("text", [b"", b"no database"])
def test_a_geopackage_that_is_none_is_refused(tmp_path, text):
    path = tmp_path / "roads.gpkg"
    path.write_bytes(text)
    with pytest.raises(TableError, match="cannot read"):
        read_lines(path)
    with pytest.raises(TableError, match="No such file"):
        read_lines(tmp_path / "absent.gpkg")
