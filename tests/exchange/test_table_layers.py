"""A GeoPackage of several layers: one is the table, and nobody guesses which."""

import geopandas
import pandas as pd
import pyogrio
import pytest

from plotter.errors import TableError
from plotter.exchange.tables import convert_table

SAID = ["31UDQ4825111932", "up the hill", "33.5°S 151.2°E"]


@pytest.fixture
def package(tmp_path):
    """Two layers of points, and a table without geometry."""
    path = tmp_path / "in.gpkg"
    points = geopandas.points_from_xy(range(3), range(3))
    teams = geopandas.GeoDataFrame({"said": SAID}, geometry=points, crs="EPSG:4326")
    teams.to_file(path, layer="teams")
    teams.iloc[:1].to_file(path, layer="camps")
    pyogrio.write_dataframe(pd.DataFrame({"said": SAID[1:]}), path, layer="heard")
    return path


@pytest.mark.parametrize(
    ("layer", "said", "shapes"),
    [("teams", SAID, True), ("camps", SAID[:1], True), ("heard", SAID[1:], False)],
)
def test_the_layer_that_is_named_is_the_table(package, tmp_path, layer, said, shapes):
    target = tmp_path / "out.gpkg"
    counts = convert_table(package, "said", target, layer=layer)
    assert counts.rows == len(said)
    assert pyogrio.list_layers(target)[:, 0].tolist() == ["out"]
    found = geopandas.read_file(target)
    assert found["said"].tolist() == said
    assert ("geometry_wkt" in found.columns) == shapes


def test_several_layers_are_listed_and_none_is_taken(package, tmp_path):
    with pytest.raises(TableError, match=r"3 layers: .*--layer.*'teams', 'camps', 'heard'"):
        convert_table(package, "said", tmp_path / "out.csv")
    with pytest.raises(TableError, match=r"none named 'Teams': .*'teams', 'camps', 'heard'"):
        convert_table(package, "said", tmp_path / "out.csv", layer="Teams")
    assert [each.name for each in tmp_path.iterdir()] == [package.name]


def test_the_only_layer_may_be_named_and_no_other(tmp_path):
    source = tmp_path / "in.geojson"
    points = geopandas.points_from_xy(range(3), range(3))
    geopandas.GeoDataFrame({"said": SAID}, geometry=points, crs="EPSG:4326").to_file(source)
    assert convert_table(source, "said", tmp_path / "out.csv", layer="in").rows == 3
    with pytest.raises(TableError, match="1 layer, none named 'out'"):
        convert_table(source, "said", tmp_path / "out.csv", layer="out")


@pytest.mark.parametrize("name", ["in.csv", "in.parquet"])
def test_other_kinds_have_no_layers(tmp_path, name):
    source = tmp_path / name
    frame = pd.DataFrame({"said": SAID})
    if source.suffix == ".csv":
        frame.to_csv(source)
    else:
        frame.to_parquet(source)
    with pytest.raises(TableError, match="no layers: leave out the layer 'teams'"):
        convert_table(source, "said", tmp_path / "out.csv", layer="teams")
