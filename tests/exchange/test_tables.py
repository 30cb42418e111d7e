"""Tables in and out: all four kinds, odd files, no row lost, memory flat."""

import csv
import itertools
import json
import tracemalloc

import geopandas
import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
import shapely
from pyarrow import parquet

from plotter.errors import TableError
from plotter.exchange.tables import Counts, convert_table

KINDS = ("csv", "geojson", "gpkg", "parquet")
SAID = [
    "31UDQ4825111932",
    "48.8582, 2.2945",
    "up the hill",
    "18S 323483 4306479",
    "",
    "31U DQ 48251 11932",
    "33°51.492'S 151°17.670'E",
]
OURS = ["lat_deg", "lon_deg", "size_m", "format", "assumed", "latlon", "mgrs", "problem"]


def frame_of(path):
    """A table as its own library reads it, without geometry."""
    if path.suffix == ".csv":
        return pd.read_csv(path, dtype=str, keep_default_na=False)
    if path.suffix == ".parquet":
        return pd.read_parquet(path)
    return geopandas.read_file(path)


def write(path, said=SAID):
    """The same rows in each kind, by libraries and not by our own writer."""
    frame = pd.DataFrame({"id": range(len(said)), "said": said, "note": ['é, "q"\nx'] * len(said)})
    if path.suffix == ".csv":
        frame.to_csv(path, index=False)
    elif path.suffix == ".parquet":
        frame.to_parquet(path, index=False)
    else:
        points = geopandas.points_from_xy(np.arange(len(said)) / 4, np.ones(len(said)))
        geopandas.GeoDataFrame(frame, geometry=points, crs="EPSG:4326").to_file(path)
    return path


@pytest.mark.parametrize(("kind_in", "kind_out"), list(itertools.product(KINDS, KINDS)))
def test_every_kind_to_every_kind(tmp_path, kind_in, kind_out):
    source = write(tmp_path / f"in.{kind_in}")
    target = tmp_path / f"out.{kind_out}"
    counts = convert_table(source, "said", target, chunk_rows=3)
    assert counts == Counts(rows=7, unread=3, several=1, assumed=1)
    found = frame_of(target)
    geometry = ["geometry_wkt"] if kind_in in ("geojson", "gpkg") else []
    names = ["id", "said", "note", *geometry, *OURS]
    assert list(found.columns)[: len(names)] == names
    assert [int(each) for each in found["id"]] == list(range(7))
    assert found["said"].tolist() == SAID
    assert set(found["note"]) == {'é, "q"\nx'}
    lat = pd.to_numeric(found["lat_deg"])
    # The Eiffel tower as in `tests/cli`, said three times; and Sydney's minutes by hand.
    assert lat.tolist() == pytest.approx(
        [48.8582, 48.8582, np.nan, np.nan, np.nan, 48.8582, -(33 + 51.492 / 60)],
        abs=1e-5, nan_ok=True,
    )  # fmt: skip
    assert found["mgrs"][0] == found["mgrs"][5] == SAID[0]
    problems = found["problem"].fillna("").tolist()
    assert [bool(each) for each in problems] == [False, False, True, True, True, False, False]
    if geometry:
        assert shapely.from_wkt(found["geometry_wkt"][6]).equals(shapely.Point(1.5, 1))
    if kind_out in ("geojson", "gpkg"):
        assert found.crs == "EPSG:4326"
        read = lat.notna().to_numpy()
        assert found.geometry.notna().tolist() == read.tolist()
        assert found.geometry[read].y.tolist() == pytest.approx(lat[read].tolist(), abs=1e-8)
        lon = found["lon_deg"][read].tolist()
        assert found.geometry[read].x.tolist() == pytest.approx(lon, abs=1e-8)
    assert [each.name for each in tmp_path.iterdir() if "part" in each.name] == []


@pytest.mark.parametrize("chunk_rows", [1, 2, 3, 7, 100])
def test_chunks_make_no_difference(tmp_path, chunk_rows):
    source = write(tmp_path / "in.csv", SAID * 3)
    convert_table(source, "said", tmp_path / "whole.csv")
    convert_table(source, "said", tmp_path / "parts.csv", chunk_rows=chunk_rows)
    assert (tmp_path / "parts.csv").read_bytes() == (tmp_path / "whole.csv").read_bytes()


def rows_of(path, **options):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file, **options))


@pytest.mark.parametrize(
    "raw",
    [
        "id,said,wo\n1,31UDQ4825111932,Höhe\n".encode(),
        "\ufeffid,said,wo\r\n1,31UDQ4825111932,Höhe\r\n".encode(),
        "id,said,wo\n1,31UDQ4825111932,Höhe\n".encode("cp1252"),
        "id,said,wo\n1,31UDQ4825111932,Höhe".encode("utf-16"),
        "id;said;wo\n1;31UDQ4825111932;Höhe\n".encode(),
        "id\tsaid\two\r1\t31UDQ4825111932\tHöhe\r".encode(),
        '\n"id","said","wo"\n"1","31UDQ4825111932","Höhe"\n\n'.encode(),
    ],
    ids=["utf-8", "bom", "cp1252", "utf-16", "semicolons", "tabs", "quotes"],
)
def test_encodings_and_separators(tmp_path, raw):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_bytes(raw)
    convert_table(source, "said", target)
    delimiter = next(mark for mark in ";\t," if mark in target.read_text(encoding="utf-8"))
    header, row = rows_of(target, delimiter=delimiter)
    assert header == ["id", "said", "wo", *OURS]
    assert row[:3] == ["1", "31UDQ4825111932", "Höhe"]
    assert row[-2] == "31UDQ4825111932"
    assert (delimiter == ";") == (b";" in raw)


def test_quotes_and_lines_within_values_across_chunks(tmp_path):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    values = ['a "b" c', "two\nlines", "a,b", "\r\n\r\n", "", " blank ", "=1+1", 'end"', "x\n\n\ny"]
    with source.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["note", "said"], *([each, SAID[0]] for each in values * 5)])
    for chunk_rows in (1, 2, 5, 1000):
        convert_table(source, "said", target, chunk_rows=chunk_rows)
        rows = rows_of(target)[1:]
        assert [row[0] for row in rows] == values * 5
        assert {row[-2] for row in rows} == {SAID[0]}


def test_rows_of_a_wrong_shape_are_kept_and_not_read(tmp_path):
    """A comma too many before the position would put another value into its column."""
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text(
        f"note,said,who\na,{SAID[0]},A\nb, c,{SAID[0]},B\nd,{SAID[0]}\n\ne,{SAID[0]},E\n",
        encoding="utf-8",
    )
    assert convert_table(source, "said", target) == Counts(4, 2, 0, 0)
    rows = rows_of(target)[1:]
    assert [row[:3] for row in rows] == [
        ["a", SAID[0], "A"], ["b", " c", f"{SAID[0]},B"], ["d", SAID[0], ""], ["e", SAID[0], "E"],
    ]  # fmt: skip
    assert "4 values under 3 names" in rows[1][-1]
    assert "2 values under 3 names" in rows[2][-1]
    assert [row[-2] for row in rows] == [SAID[0], "", "", SAID[0]]


def test_an_empty_table_keeps_its_header(tmp_path):
    source = tmp_path / "in.csv"
    source.write_text("id,said\n", encoding="utf-8")
    for kind in KINDS:
        target = tmp_path / f"out.{kind}"
        assert convert_table(source, "said", target) == Counts()
        assert len(frame_of(target)) == 0
    assert rows_of(tmp_path / "out.csv") == [["id", "said", *OURS]]


@pytest.mark.parametrize(
    ("name", "raw", "message"),
    [
        ("in.csv", b"", "is empty: expected a header"),
        ("in.csv", b"\n\n", "is empty: expected a header"),
        ("in.csv", b"id,where\n1,2\n", "no column named 'said': it has 'id', 'where'"),
        ("in.csv", b"said,said\n1,2\n", "2 columns named 'said'"),
        ("in.csv", b'id,said\n1,"' + b"x\n" * 90_000, "quotation mark that is opened"),
        ("in.parquet", b"PAR1", "as Parquet"),
        ("in.geojson", b"{", "as a map layer"),
        ("in.gpkg", b"nothing", "as a map layer"),
        ("in.xls", b"", "expected a name that ends in one of .csv"),
    ],
)
def test_tables_that_cannot_be_read(tmp_path, name, raw, message):
    source, target = tmp_path / name, tmp_path / "out.csv"
    source.write_bytes(raw)
    with pytest.raises(TableError, match=message):
        convert_table(source, "said", target)
    assert [each.name for each in tmp_path.iterdir()] == [name]


def test_names_that_are_taken_get_a_number(tmp_path):
    source = tmp_path / "in.csv"
    source.write_text(f"FORMAT,said,fid,geometry\nmine,{SAID[0]},7,x\n", encoding="utf-8")
    first, second = tmp_path / "one.gpkg", tmp_path / "two.csv"
    convert_table(source, "said", first)
    convert_table(first, "said", second)
    header, row = rows_of(second)
    assert header[:4] == ["FORMAT", "said", "fid", "geometry"]
    assert row[:4] == ["mine", SAID[0], "7", "x"]
    assert "format_2" in header
    assert "format_3" in header
    assert row[header.index("format_3")] == "mgrs"


def test_types_of_a_table_are_kept(tmp_path):
    source = tmp_path / "in.parquet"
    table = pa.table(
        {
            "said": pa.array([SAID[0], None]),
            "n": pa.array([2**40, None], pa.int64()),
            "tags": pa.array([["a", "b"], None]),
            "raw": pa.array([b"\x00\xff", None], pa.binary()),
            "kind": pa.array(["x", "x"]).dictionary_encode(),
        }
    )
    parquet.write_table(table, source)
    convert_table(source, "said", tmp_path / "out.parquet")
    found = parquet.read_table(tmp_path / "out.parquet")
    assert found.select(table.column_names).equals(table)
    assert "no position given" in found["problem"][1].as_py()
    convert_table(source, "said", tmp_path / "out.csv")
    first, second = rows_of(tmp_path / "out.csv")[1:]
    assert first[:5] == [SAID[0], str(2**40), '["a", "b"]', "00ff", "x"]
    assert second[:5] == ["", "", "", "", "x"]
    convert_table(source, "said", tmp_path / "out.geojson")
    features = json.loads((tmp_path / "out.geojson").read_text(encoding="utf-8"))["features"]
    assert features[0]["properties"]["tags"] in ('["a", "b"]', ["a", "b"])
    assert features[1]["geometry"] is None


def test_a_date_in_geojson_stays_as_it_was_written(tmp_path):
    source, target = tmp_path / "in.geojson", tmp_path / "out.csv"
    properties = {"said": SAID[0], "day": "2026/03/14", "number": 12}
    feature = {"type": "Feature", "properties": properties, "geometry": None}
    source.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    convert_table(source, "said", target)
    header, row = rows_of(target)
    assert dict(zip(header, row, strict=True))["day"] == "2026/03/14"


def test_an_older_result_stays_until_the_new_one_is_complete(tmp_path):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    target.write_text("old")
    source.write_text('id,said\n1,x\n2,"' + "x\n" * 90_000, encoding="utf-8")
    with pytest.raises(TableError):
        convert_table(source, "said", target, chunk_rows=1)
    assert target.read_text() == "old"


def test_progress_rises_to_the_end(tmp_path):
    for kind in KINDS:
        source, told = write(tmp_path / f"in.{kind}", SAID * 2), []
        convert_table(source, "said", tmp_path / "out.csv", chunk_rows=5, progress=told.append)
        assert len(told) >= 3, kind
        assert told == sorted(told)
        assert 0 < told[0] <= told[-1] == 1


def test_memory_is_flat_in_the_number_of_rows(tmp_path):
    peaks, held, sizes = [], [], []
    for rows in (20_000, 200_000):
        source = tmp_path / "in.csv"
        with source.open("w", encoding="utf-8") as file:
            file.write("id,said\n")
            file.writelines(
                f"{i},{48 + i % 997 / 1000:.4f}N 2.2945E\n" if i % 3 else f"{i},31UDQ{i:010d}\n"
                for i in range(rows)
            )
        arrow = []
        if not peaks:
            convert_table(source, "said", tmp_path / "out.csv")  # tables that stay are made once
        tracemalloc.start()
        convert_table(
            source, "said", tmp_path / "out.csv", chunk_rows=4_000,
            progress=lambda _, arrow=arrow: arrow.append(pa.total_allocated_bytes()),
        )  # fmt: skip
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        held.append(max(arrow))
        sizes.append(source.stat().st_size)
    assert peaks[1] < 1.5 * peaks[0]
    # What Arrow holds is sampled, with one batch in flight or two, some hundreds of kilobytes
    # (measured: as much at 800 000 rows as at 200 000); whoever kept the rows would hold several
    # times what the file grew by.
    grown = sizes[1] - sizes[0]
    assert grown > 3_000_000
    assert held[1] - held[0] < grown / 4
