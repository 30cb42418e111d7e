"""Parquet with a geometry, in and out, as geopandas opens and writes it."""

import json
import tracemalloc

import geopandas
import pandas as pd
import pyarrow as pa
import pytest
import shapely
from pyarrow import parquet

from plotter.exchange.tables import convert_table

SAID = ["31UDQ4825111932", "up the hill", "33.5°S 151.2°E"]


@pytest.fixture
def plain(tmp_path):
    path = tmp_path / "in.csv"
    lines = "".join(f"{i},{text}\n" for i, text in enumerate(SAID))
    path.write_text(f"id,said\n{lines}", encoding="utf-8")
    return path


@pytest.fixture
def shapes():
    """A table of the same rows with geometries of its own, not on WGS 84 and not all points."""
    geometry = [shapely.Point(500_000, 5_400_000), None, shapely.box(0, 0, 10, 10)]
    return geopandas.GeoDataFrame({"said": SAID}, geometry=geometry, crs="EPSG:32631")


def test_geopandas_opens_it_with_points_on_wgs84(plain, tmp_path):
    target = tmp_path / "out.parquet"
    convert_table(plain, "said", target, chunk_rows=2)
    found = geopandas.read_parquet(target)
    assert found.geometry.name == "geometry"
    assert found.crs == "EPSG:4326"
    assert found["said"].tolist() == SAID
    assert found.geometry.isna().tolist() == [False, True, False]
    read = found[found.geometry.notna()]
    assert set(read.geom_type) == {"Point"}
    assert read.geometry.x.tolist() == read["lon_deg"].tolist()
    assert read.geometry.y.tolist() == read["lat_deg"].tolist()
    # Sydney's side of the world: latitude and longitude have not changed places.
    assert (read.geometry.x[2], read.geometry.y[2]) == pytest.approx((151.2, -33.5), abs=1e-9)


def test_the_file_says_what_the_standard_requires(plain, tmp_path):
    """OGC GeoParquet 1.0.0: the required fields of the file and of a geometry column, by hand."""
    target = tmp_path / "out.parquet"
    convert_table(plain, "said", target)
    file = parquet.ParquetFile(target)
    described = json.loads(file.metadata.metadata[b"geo"])
    assert set(described) == {"version", "primary_column", "columns"}
    assert (described["version"], described["primary_column"]) == ("1.0.0", "geometry")
    column = described["columns"]["geometry"]
    assert (column["encoding"], column["geometry_types"]) == ("WKB", ["Point"])
    assert column["crs"]["id"] == {"authority": "EPSG", "code": 4326}
    where = file.schema.names.index("geometry")
    assert file.schema.column(where).physical_type == "BYTE_ARRAY"


def test_a_table_without_a_row_opens_too(tmp_path):
    source, target = tmp_path / "in.csv", tmp_path / "out.parquet"
    source.write_text("id,said\n", encoding="utf-8")
    convert_table(source, "said", target)
    found = geopandas.read_parquet(target)
    assert (len(found), found.crs) == (0, "EPSG:4326")


@pytest.mark.parametrize(
    ("version", "encoding"), [("1.0.0", "WKB"), ("1.1.0", "WKB"), ("1.1.0", "geoarrow")]
)
def test_the_geometry_of_a_geoparquet_table_is_kept(shapes, tmp_path, version, encoding):
    if encoding == "geoarrow":
        shapes = shapes.iloc[:2]  # an encoding of one type of geometry
    source, target = tmp_path / "in.parquet", tmp_path / "out.parquet"
    shapes.to_parquet(source, geometry_encoding=encoding, schema_version=version)
    convert_table(source, "said", target, chunk_rows=1)
    found = geopandas.read_parquet(target)
    assert found.geometry.name == "geometry_2"
    assert found.crs == "EPSG:4326"
    assert found["geometry"].crs == "EPSG:32631"
    assert found["geometry"].to_wkt().tolist() == shapes.geometry.to_wkt().tolist()
    assert found.geometry[0].x == pytest.approx(2.2945, abs=1e-4)
    again = tmp_path / "again.parquet"
    convert_table(target, "said", again)
    assert list(geopandas.read_parquet(again).select_dtypes("geometry").columns) == [
        "geometry", "geometry_2", "geometry_3",
    ]  # fmt: skip


def test_a_geoparquet_table_to_the_other_kinds(shapes, tmp_path):
    source = tmp_path / "in.parquet"
    shapes.to_parquet(source)
    convert_table(source, "said", tmp_path / "out.csv")
    found = pd.read_csv(tmp_path / "out.csv", keep_default_na=False)
    assert shapely.from_wkb(found["geometry"][2]).equals(shapes.geometry[2])
    assert found["geometry"][1] == ""
    convert_table(source, "said", tmp_path / "out.gpkg")
    layer = geopandas.read_file(tmp_path / "out.gpkg")
    assert layer.geometry.x[0] == pytest.approx(2.2945, abs=1e-4)
    # Read with the geometry, the column of the same name would be hidden behind it.
    texts = geopandas.read_file(tmp_path / "out.gpkg", ignore_geometry=True)["geometry"]
    assert shapely.from_wkb(texts[2]).equals(shapes.geometry[2])


@pytest.mark.parametrize("geo", [b"nonsense", b"[]", b'{"version": "0.1.0", "columns": {"g": {}}}'])
def test_what_an_older_or_broken_description_says_is_not_passed_on(tmp_path, geo):
    source, target = tmp_path / "in.parquet", tmp_path / "out.parquet"
    table = pa.table({"said": SAID[:1], "g": [shapely.to_wkb(shapely.Point(1, 2))]})
    parquet.write_table(table.replace_schema_metadata({b"geo": geo, b"mine": b"kept"}), source)
    convert_table(source, "said", target)
    assert geopandas.read_parquet(target).geometry.name == "geometry"
    written = parquet.read_table(target)
    assert written.select(["said", "g"]).equals(table)
    assert written.schema.metadata[b"mine"] == b"kept"
    assert list(json.loads(written.schema.metadata[b"geo"])["columns"]) == ["geometry"]


def test_memory_is_flat_when_parquet_is_written(tmp_path):
    peaks, held = [], []
    for rows in (20_000, 200_000):
        source, arrow = tmp_path / "in.csv", []
        with source.open("w", encoding="utf-8") as file:
            file.write("said\n")
            file.writelines(f"31UDQ{i:010d}\n" for i in range(rows))
        if not peaks:
            convert_table(source, "said", tmp_path / "out.parquet")  # what stays is made once
        tracemalloc.start()
        convert_table(
            source, "said", tmp_path / "out.parquet", chunk_rows=4_000,
            progress=lambda _, arrow=arrow: arrow.append(pa.total_allocated_bytes()),
        )  # fmt: skip
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        held.append(max(arrow))
    assert peaks[1] < 1.5 * peaks[0]
    # The geometry alone of the rows that were added takes 21 bytes each.
    assert held[1] - held[0] < 180_000 * 21
